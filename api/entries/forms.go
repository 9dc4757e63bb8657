package entries

import (
	"cmp"
	"encoding/json"
	"fmt"
	"time"

	"pullbook/api/wire"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// sent is what a client sends to record an entry: one of the contract's New types.
type sent interface{ Shared() *openapi.NewEntry }

// forms has what a client sends of each kind of entry, and what the book keeps of it.
var forms = func() map[ledger.Kind]func() (sent, ledger.Body) {
	all := map[ledger.Kind]func() (sent, ledger.Body){}
	for _, f := range []func() (sent, ledger.Body){
		func() (sent, ledger.Body) { return new(openapi.NewSeason), new(ledger.Season) },
		func() (sent, ledger.Body) { return new(openapi.NewYard), new(ledger.Yard) },
		func() (sent, ledger.Body) { return new(openapi.NewSuperKind), new(ledger.SuperKind) },
		func() (sent, ledger.Body) { return new(openapi.NewContainerKind), new(ledger.ContainerKind) },
		func() (sent, ledger.Body) { return new(openapi.NewRoom), new(ledger.Room) },
		func() (sent, ledger.Body) { return new(openapi.NewTank), new(ledger.Tank) },
		func() (sent, ledger.Body) { return new(openapi.NewInstrument), new(ledger.Instrument) },
		func() (sent, ledger.Body) { return new(openapi.NewBuyer), new(ledger.Buyer) },
		func() (sent, ledger.Body) { return new(openapi.NewHiveCount), new(ledger.HiveCount) },
		func() (sent, ledger.Body) { return new(openapi.NewPull), new(ledger.Pull) },
		func() (sent, ledger.Body) { return new(openapi.NewRun), new(ledger.Run) },
		func() (sent, ledger.Body) { return new(openapi.NewRunSupers), new(ledger.RunSupers) },
		func() (sent, ledger.Body) { return new(openapi.NewLoad), new(ledger.Load) },
		func() (sent, ledger.Body) { return new(openapi.NewRunEnd), new(ledger.RunEnd) },
		func() (sent, ledger.Body) { return new(openapi.NewMovement), new(ledger.Movement) },
		func() (sent, ledger.Body) { return new(openapi.NewStocktake), new(ledger.Stocktake) },
		func() (sent, ledger.Body) { return new(openapi.NewWash), new(ledger.Wash) },
		func() (sent, ledger.Body) { return new(openapi.NewLot), new(ledger.Lot) },
		func() (sent, ledger.Body) { return new(openapi.NewFill), new(ledger.Fill) },
		func() (sent, ledger.Body) { return new(openapi.NewReading), new(ledger.Reading) },
		func() (sent, ledger.Body) { return new(openapi.NewCalibration), new(ledger.Calibration) },
		func() (sent, ledger.Body) { return new(openapi.NewTemperatureLog), new(ledger.TemperatureLog) },
		func() (sent, ledger.Body) { return new(openapi.NewPreparedBlend), new(ledger.PreparedBlend) },
		func() (sent, ledger.Body) { return new(openapi.NewAdoptedPlan), new(ledger.AdoptedPlan) },
		func() (sent, ledger.Body) { return new(openapi.NewContract), new(ledger.Contract) },
		func() (sent, ledger.Body) { return new(openapi.NewPreparedDispatch), new(ledger.PreparedDispatch) },
		func() (sent, ledger.Body) { return new(openapi.NewDispatch), new(ledger.Dispatch) },
		func() (sent, ledger.Body) { return new(openapi.NewAcceptance), new(ledger.Acceptance) },
		func() (sent, ledger.Body) { return new(openapi.NewWithdrawal), new(ledger.Withdrawal) },
		func() (sent, ledger.Body) { return new(openapi.NewRuleSet), new(ledger.RuleSet) },
		func() (sent, ledger.Body) { return new(openapi.NewSample), new(ledger.Sample) },
		func() (sent, ledger.Body) { return new(openapi.NewCheck), new(ledger.Check) },
		func() (sent, ledger.Body) { return new(openapi.NewLotStatus), new(ledger.LotStatus) },
		func() (sent, ledger.Body) { return new(openapi.NewSettlement), new(ledger.Settlement) },
	} {
		_, body := f()
		all[body.Kind()] = f
	}
	return all
}()

// The usual sixty-frame line: ten frames to a box, thirty a side. Defaults,
// not constants.
const (
	usualFramesPerSuper = 10
	usualFramesPerSide  = 30
)

// takeIn turns what was sent into what the book keeps of it.
func takeIn(body ledger.Body, in sent) error {
	if out, is := body.(*ledger.RuleSet); is {
		if err := byJSON(out, in); err != nil {
			return fault.New(fault.Invalid, "The rule set could not be read: %s.", err)
		}
		return nil
	}
	convert(body, in)
	switch out := body.(type) {
	case *ledger.SuperKind:
		out.FramesPerSuper = cmp.Or(out.FramesPerSuper, usualFramesPerSuper)
	case *ledger.Run:
		out.FramesPerSide = cmp.Or(out.FramesPerSide, usualFramesPerSide)
	case *ledger.Stocktake:
		out.MassFromDip = in.(*openapi.NewStocktake).MassKg == nil
	case *ledger.Reading:
		out.Moisture = shownIn(in.(*openapi.NewReading))
	case *ledger.TemperatureLog:
		for i := range out.Points {
			out.Points[i].At = out.Points[i].At.UTC()
		}
	}
	return nil
}

// Request is an entry in the form in which the contract takes it: what a client
// would send to record the same. It is a pointer to one of the contract's New
// types.
func Request(e *ledger.Entry) (any, error) {
	form, known := forms[e.Kind]
	if !known {
		return nil, fmt.Errorf("a %s has no form in the contract", e.Kind)
	}
	out, _ := form()
	if x, is := e.Body.(*ledger.RuleSet); is {
		if err := ruleSetOut(out.(*openapi.NewRuleSet), x); err != nil {
			return nil, err
		}
	} else {
		convert(out, e.Body)
	}
	switch x := e.Body.(type) {
	case *ledger.Stocktake:
		stocktake := out.(*openapi.NewStocktake)
		stocktake.MassKg = new(wire.Kg(x.MassG)) // a tank may hold nothing
		if x.MassFromDip {
			stocktake.MassKg, stocktake.UncertaintyKg = nil, nil
		}
	case *ledger.Reading:
		if x.Moisture != nil {
			shownOut(out.(*openapi.NewReading), x.Moisture)
		}
	}
	*out.Shared() = sharedOut(e)
	return out, nil
}

// Value returns an entry as the contract's JSON has it, as what encoding/json reads: what
// Request returns, in another form.
func Value(e *ledger.Entry) (map[string]any, error) {
	if e.Kind == ledger.KindUnreadable { // nothing of it is known but when it happened
		return map[string]any{"occurred_at": e.OccurredAt.Format(time.RFC3339Nano)}, nil
	}
	content, err := Request(e)
	if err != nil {
		return nil, err
	}
	out := map[string]any{}
	if reading, is := content.(*openapi.NewReading); is {
		unlabelled(reading)
	}
	return out, byJSON(&out, content)
}

// unlabelled leaves out what the book writes down of the outfit's own parameters.
func unlabelled(out *openapi.NewReading) {
	if out.Measured != nil {
		for i := range *out.Measured {
			(*out.Measured)[i].Label = nil
		}
	}
	if out.Observed != nil {
		for i := range *out.Observed {
			(*out.Observed)[i].Label = nil
		}
	}
}

// shownIn is what the refractometer showed; the book works out the rest.
func shownIn(in *openapi.NewReading) *ledger.MoistureReading {
	m := &ledger.MoistureReading{SampleC: in.SampleTemperatureC, CompensatedAsSent: in.Compensated, StdUncertaintyAsSent: in.MoistureStdUncertaintyPct}
	switch {
	case in.MoisturePct != nil:
		m.Scale, m.AsRead = ledger.ScaleMoisture, *in.MoisturePct
	case in.RefractiveIndex != nil:
		m.Scale, m.AsRead = ledger.ScaleRefractiveIndex, *in.RefractiveIndex
	case in.BrixDeg != nil:
		m.Scale, m.AsRead = ledger.ScaleBrix, *in.BrixDeg
	default:
		return nil
	}
	return m
}

func shownOut(out *openapi.NewReading, m *ledger.MoistureReading) {
	out.SampleTemperatureC, out.Compensated, out.MoistureStdUncertaintyPct = m.SampleC, m.CompensatedAsSent, m.StdUncertaintyAsSent
	switch m.Scale {
	case ledger.ScaleMoisture:
		out.MoisturePct = &m.AsRead
	case ledger.ScaleRefractiveIndex:
		out.RefractiveIndex = &m.AsRead
	case ledger.ScaleBrix:
		out.BrixDeg = &m.AsRead
	}
}

// ruleSetOut is a rule set as it was sent: where its lines come from is the
// book's to say.
func ruleSetOut(out *openapi.NewRuleSet, x *ledger.RuleSet) error {
	if err := byJSON(out, x); err != nil {
		return err
	}
	for i := range out.Limits {
		out.Limits[i].Source = nil
	}
	if out.Rounding != nil {
		out.Rounding.Source = nil
	}
	if d := out.Decision; d != nil {
		*d = openapi.DecisionRule{AcceptR: wire.OrNil(*d.AcceptR), RejectR: wire.OrNil(*d.RejectR), CoverageFactor: wire.OrNil(*d.CoverageFactor)}
	}
	return nil
}

// byJSON copies between types that have the same form in JSON, as the contract and the book
// have it for the lines of a rule set.
func byJSON(to, from any) error {
	text, err := json.Marshal(from)
	if err != nil {
		return err
	}
	return json.Unmarshal(text, to)
}
