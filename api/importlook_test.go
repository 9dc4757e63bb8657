package api_test

import (
	"net/http"
	"reflect"
	"strings"
	"testing"
)

// Whoever looks at a sheet is told which columns are not read, and what would be odd in the
// book with it; the book then has just those findings.
func TestALookAtASheetTellsWhatIsNotReadAndWhatWouldBeOdd(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	type answer struct {
		NotRead []struct {
			Column, Heading, Sent string
			Row                   int
		} `json:"not_read"`
		Looked   bool `json:"findings_looked_for"`
		Findings []struct {
			Code  string
			Count int
			First []struct {
				Row      int
				Sentence string
			}
		}
	}
	findings := func() (heavy int) {
		for _, f := range read[[]struct{ Flag struct{ Code string } }](t, o, "reports/findings?limit=1000") {
			if f.Flag.Code == "pull_too_heavy" {
				heavy++
			}
		}
		return heavy
	}
	before := findings()
	const text = "Date,Yard,Supers,Kind,Gross kg,Weather\n2026-07-06,Alder Bend,12,deep,9000,windy\n"
	looked := as[answer](t, o.bringIn(t, o.manager, "pulls", "false", text, nil))
	if len(looked.NotRead) != 1 || looked.NotRead[0].Column != "F" || looked.NotRead[0].Heading != "Weather" || looked.NotRead[0].Sent != "windy" || looked.NotRead[0].Row != 2 {
		t.Errorf("not read: %+v", looked.NotRead)
	}
	told := 0
	for _, f := range looked.Findings {
		if f.Code == "pull_too_heavy" {
			told = f.Count
			if len(f.First) != 1 || f.First[0].Row != 2 || !strings.Contains(f.First[0].Sentence, "Alder Bend") {
				t.Errorf("%+v", f)
			}
		}
	}
	if !looked.Looked || told != 1 || findings() != before {
		t.Fatalf("%+v", looked)
	}
	stored := as[answer](t, o.bringIn(t, o.manager, "pulls", "true", text, nil))
	if stored.Looked || !reflect.DeepEqual(stored.NotRead, looked.NotRead) {
		t.Errorf("once it is stored: %+v", stored)
	}
	if findings() != before+told {
		t.Errorf("%d pulls too heavy, before %d, told %d", findings(), before, told)
	}
}

// A thing that a sheet sets up keeps to the bounds of the contract, and comes with the sheet or
// not at all.
func TestWhatASheetSetsUpComesWithItOrNotAtAll(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	const text = "Date,Tank,Moisture,Instrument\n2026-07-06,Nowhere,17.4,new glass\n"
	mapping := func(instrument map[string]any, tank map[string]any) map[string]any {
		return map[string]any{"names": map[string]any{"instrument": map[string]any{"new glass": map[string]any{"create": instrument}}, "tank": map[string]any{"Nowhere": map[string]any{"create": tank}}}}
	}
	glass, settling := map[string]any{"scale": "moisture", "compensates_temperature": true}, map[string]any{"use": "settling", "capacity_kg": 900}
	before := o.head(t)
	for _, refused := range []map[string]any{
		mapping(map[string]any{"scale": "moisture"}, settling),
		mapping(glass, map[string]any{"use": "settling"}),
		mapping(glass, map[string]any{"use": "settling", "capacity_kg": 0}),
		mapping(glass, map[string]any{"use": "settling", "capacity_kg": 1_000_001}),
		mapping(map[string]any{"scale": "cows", "compensates_temperature": true}, settling),
	} {
		if r := o.bringIn(t, o.manager, "readings", "true", text, refused); r.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d %s", refused, r.status, r.raw)
		}
	}
	if o.head(t) != before {
		t.Fatal("something was stored")
	}
	if r := o.bringIn(t, o.manager, "readings", "true", text, mapping(glass, settling)); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	if after := o.head(t); after.LastEntry != before.LastEntry+4 {
		t.Errorf("%d entries came, not 4", after.LastEntry-before.LastEntry)
	}
}
