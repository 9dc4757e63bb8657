package ledger

import (
	"errors"
	"slices"
	"sort"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/honey"
	"pullbook/domain/message"
)

// Complete works out what an entry leaves to the book: the moisture at 20 C of
// what a refractometer showed, the mass of what a dip says, the containers that
// a seed draws, what a withdrawn correction leaves standing. It must be called before Check.
func (b *Book) Complete(e *Entry) error {
	if w, is := e.Body.(*Withdrawal); is {
		return b.bringBack(e, w)
	}
	if b.fact(e.ID) != nil {
		return nil // sent again: what was worked out then stands
	}
	switch x := e.Body.(type) {
	case *Reading:
		b.completeOwn(x)
		if x.Moisture != nil {
			return b.completeMoisture(x)
		}
	case *Stocktake:
		if x.MassFromDip {
			return b.completeDip(e, x)
		}
	case *Sample:
		return b.completeSample(e, x)
	case *Acceptance:
		x.With = b.settledWith(x)
	case *Settlement:
		if terms, _ := b.RuleSetVersion(x.RuleSet.RuleSetID, x.RuleSet.Version); terms != nil {
			x.TermsEntry = terms.ID
		}
	}
	return nil
}

// The scales of a refractometer.
const (
	ScaleMoisture        = "moisture"
	ScaleRefractiveIndex = "refractive_index"
	ScaleBrix            = "brix"
)

// usualSampleC is the temperature that the published tables are for.
const usualSampleC = 20

// UnsaidSampleSDC is how far a sample may be from 20 C where nobody says how warm it was,
// as a standard deviation: honey houses are at 15 to 35 C, and samples cool on the prism
// (common practice). It costs half a point of moisture.
const UnsaidSampleSDC = 5

func (b *Book) completeMoisture(r *Reading) error {
	m := r.Moisture
	with := honey.Refractometer{Compensated: m.Scale == ScaleMoisture}
	if i := body[Instrument](b, r.InstrumentID); i != nil {
		with.Compensated = i.Compensates
		if i.Scale == m.Scale {
			with.ScaleStdUncertainty = i.ScaleStdUncertainty()
		}
	}
	if m.CompensatedAsSent != nil {
		with.Compensated = *m.CompensatedAsSent
	}
	sampleC := float64(usualSampleC)
	if m.SampleC != nil {
		sampleC = *m.SampleC
	} else if !with.Compensated {
		with.ThermometerStdUncertaintyC = UnsaidSampleSDC
	}
	convert := map[string]func(float64, float64, honey.Refractometer) (honey.Moisture, error){
		ScaleMoisture: honey.FromHoneyScale, ScaleRefractiveIndex: honey.FromRefractiveIndex, ScaleBrix: honey.FromBrix,
	}[m.Scale]
	got, err := convert(m.AsRead, sampleC, with)
	if err != nil {
		return &fault.Error{Code: fault.Invalid, Message: message.F(NothingStored), Fields: []fault.Field{moistureFault(m, err)}}
	}
	if m.StdUncertaintyAsSent != nil {
		got.StdUncertaintyPct = *m.StdUncertaintyAsSent
	}
	m.Compensated, m.Pct, m.StdUncertaintyPct, m.Formula = with.Compensated, got.Pct, got.StdUncertaintyPct, got.Formula
	return nil
}

// usualMoisturePct stands in where a tank's honey was never read; common
// practice.
const usualMoisturePct = 17.5

func (b *Book) completeDip(e *Entry, t *Stocktake) error {
	tank := body[Tank](b, t.TankID)
	if tank == nil {
		return nil // Check says so
	}
	wrong := func(pointer string, sent any, says message.Text) error {
		return &fault.Error{Code: fault.Invalid, Message: message.F(NothingStored), Fields: []fault.Field{{Pointer: pointer, Sent: sent, Message: says}}}
	}
	switch {
	case t.DepthCM == nil:
		return wrong("/depth_cm", nil, message.F("A stocktake needs mass_kg, or the dip in depth_cm."))
	case tank.Shape == nil:
		return wrong("/mass_kg", nil, message.F("The book does not know this tank's shape, so it cannot turn a dip into kilograms: send mass_kg, or give the tank a shape."))
	case t.TemperatureC == nil:
		return wrong("/temperature_c", nil, message.F("A dip needs the honey's temperature: warm honey is lighter."))
	}
	shape, err := tank.Shape.Gauge()
	if err != nil {
		return wrong("/tank_id", t.TankID, message.F("This tank's shape cannot be used: %s.", Refusal(err)))
	}
	got, err := honey.Gauge(shape, *t.DepthCM, dipStdUncertaintyCM, b.lastMoisture(e, t.TankID), *t.TemperatureC)
	if err != nil {
		pointer, sent := "/depth_cm", *t.DepthCM
		if r := new(honey.RangeError); errors.As(err, &r) && r.Quantity == "temperature" {
			pointer, sent = "/temperature_c", *t.TemperatureC
		}
		return wrong(pointer, sent, message.F("%s.", Refusal(err)))
	}
	t.MassG = int64(got.Kilograms*1000 + 0.5)
	if t.UncertaintyG == 0 {
		t.UncertaintyG = int64(got.StdUncertaintyKg*1000 + 0.5)
	}
	return nil
}

// dipStdUncertaintyCM is how well a stick is read in a tank; common practice.
const dipStdUncertaintyCM = 0.5

// lastMoisture is the last moisture read on a tank before an entry happened.
func (b *Book) lastMoisture(e *Entry, tank ID) float64 {
	if m := b.LastMoisture(tank, e.OccurredAt); m != nil {
		return m.Pct
	}
	return usualMoisturePct
}

// LastMoisture is the last moisture read on a tank, lot or container up to an
// instant; nil where none was.
func (b *Book) LastMoisture(on ID, until time.Time) *MoistureReading {
	last := b.LastReading(on, until, func(r *Reading) bool { return r.Moisture != nil })
	if last == nil {
		return nil
	}
	return last.Body.(*Reading).Moisture
}

// LastReading is the last reading on a tank, lot or container up to an instant of
// those that are asked for; nil where none is.
func (b *Book) LastReading(on ID, until time.Time, asked func(*Reading) bool) *Entry {
	readings := b.readings[b.rootID(on)] // in order of occurrence
	past := sort.Search(len(readings), func(i int) bool { return readings[i].at > until.UnixMicro() })
	for _, f := range slices.Backward(readings[:past]) {
		if asked(f.Body.(*Reading)) {
			return f.Entry
		}
	}
	return nil
}

// Gauge is the tank's shape as something that can be dipped.
func (s *TankShape) Gauge() (honey.Tank, error) {
	switch s.Form {
	case "upright_cylinder":
		return honey.UprightCylinder(s.DiameterCM, s.HeightCM)
	case "cone_bottom":
		return honey.ConeBottom(s.DiameterCM, s.HeightCM, s.ConeDepthCM)
	case "lying_cylinder":
		return honey.LyingCylinder(s.DiameterCM, s.LengthCM, s.DishDepthCM)
	case "box":
		return honey.Box(s.LengthCM, s.WidthCM, s.HeightCM)
	}
	rows := make([]honey.DipPoint, len(s.DipTable))
	for i, r := range s.DipTable {
		rows[i] = honey.DipPoint{DipCm: r.DepthCM, Litres: r.Litres}
	}
	return honey.DipTable(rows)
}

// asSent is a body without what Complete works out, so that an entry sent again
// is known for the same though an instrument was corrected in between.
func asSent(x Body) Body {
	switch x := x.(type) {
	case *Reading:
		x = x.withoutLabels()
		if x.Moisture == nil {
			return x
		}
		r, m := *x, *x.Moisture
		m.Compensated, m.Pct, m.StdUncertaintyPct, m.Formula = false, 0, 0, ""
		r.Moisture = &m
		return &r
	case *Stocktake:
		if x.MassFromDip {
			t := *x
			t.MassG, t.UncertaintyG = 0, 0
			return &t
		}
	case *Sample:
		return &Sample{LotID: x.LotID, RuleSet: x.RuleSet, Seed: x.Seed}
	case *Check:
		c := *x
		c.Found = nil
		return &c
	case *Acceptance:
		return &Acceptance{EntryID: x.EntryID, Flag: x.Flag}
	case *Dispatch:
		d := *x
		d.Judged = nil
		return &d
	case *Settlement:
		s := *x
		s.TermsEntry = ID{}
		return &s
	}
	return x
}
