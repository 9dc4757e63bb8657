package warm

import (
	"testing"
	"time"

	"pullbook/domain/ledger"
)

// What is expected of a tank that somebody warms: its temperature at the end of each step, in a band that is a thermostat's where it
// is held and wider where it depends on what the tank loses; and HMF and diastase when it is done.
func TestAPlanExpectsTemperaturesWithTheirBands(t *testing.T) {
	t.Parallel()
	a := &Asked{Spec: *spec(aTank(t, nil), Liquid, 60), From: noon, HeatedID: ledger.ID{1}, HoneyID: ledger.ID{1}}
	w := solve(t, &a.Spec).Hottest
	if w == nil || len(w.Steps) != 2 {
		t.Fatalf("%+v", w)
	}
	p := a.Adopted(w, "warm it")
	if len(p.Steps) != 2 || *p.Steps[0].SetC != 50 || p.Steps[1].SetC != nil || !p.Steps[1].At.Equal(noon.Add(time.Duration(w.Steps[1].FromHour)*time.Hour)) {
		t.Errorf("steps: %+v", p.Steps)
	}
	if len(p.Expects) != 4 || p.Expects[2].Figure != ledger.PlanHMF || p.Expects[3].Figure != ledger.PlanDiastase {
		t.Fatalf("expects %+v", p.Expects)
	}
	held, cooled := p.Expects[0], p.Expects[1]
	if *held.Low > 49.01 || *held.Low < 48.5 || *held.High > 51.01 || held.Value != 50 {
		t.Errorf("held at 50: %g from %g to %g", held.Value, *held.Low, *held.High)
	}
	if cooled.Value >= 45 || *cooled.High-*cooled.Low < 3 || *cooled.Low >= cooled.Value || *cooled.High <= cooled.Value {
		t.Errorf("cooled: %g from %g to %g", cooled.Value, *cooled.Low, *cooled.High)
	}
}
