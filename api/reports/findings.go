package reports

import (
	"slices"

	"pullbook/api/wire"
	"pullbook/domain/chance"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// mostListed is how many of the entries that a flag is also about are listed: a check
// of an instrument may put every reading of a book in doubt.
const mostListed = 100

// FlagOut returns a finding in the contract's form, said by a voice.
func FlagOut(v message.Voice, f ledger.Flag, sentence message.Text, why []message.Text) openapi.Flag {
	out := openapi.Flag{Code: string(f.Code), EntryID: f.Entry, Sentence: sentence.In(v)}
	if f.On.Kind != "" {
		out.Place = &openapi.Place{Kind: openapi.PlaceKind(f.On.Kind), ID: &f.On.ID}
	}
	if f.Unit != "" {
		out.Unit, out.Expected, out.Found = &f.Unit, &f.Expected, &f.Found
	}
	if f.MassG != 0 {
		out.MassKg = new(wire.Kg(f.MassG))
	}
	out.Probability, out.Chance = wire.OrNil(f.Unlikely), wire.OrNil(chance.InWords(f.Unlikely).In(v))
	if listed := slices.Clone(f.Entries[:min(len(f.Entries), mostListed)]); len(listed) > 0 {
		out.Entries, out.MoreEntries = &listed, wire.OrNil(len(f.Entries)-len(listed))
	}
	if len(f.Likely) > 0 {
		out.Explanations = new(explanationsOut(v, f.Likely, why))
	}
	return out
}

func explanationsOut(v message.Voice, likely []ledger.Explanation, why []message.Text) []openapi.Explanation {
	out := make([]openapi.Explanation, len(likely))
	for i, e := range likely {
		out[i] = openapi.Explanation{Code: string(e.Why), Sentence: why[i].In(v), Value: wire.OrNil(e.Value), EntryID: wire.OrNil(e.Entry)}
		if e.Place.Kind != "" {
			out[i].Place = &openapi.Place{Kind: openapi.PlaceKind(e.Place.Kind), ID: &e.Place.ID}
		}
	}
	return out
}

// ExpectedOut is what the book expects of honey: an estimate beside what was
// measured.
func ExpectedOut(b *ledger.Belief) *openapi.Expected {
	if b == nil {
		return nil
	}
	hmf, diastase := b.HMF(), b.Diastase()
	return &openapi.Expected{
		MoisturePct: b.Moisture.Mean, MoistureStdUncertaintyPct: b.Moisture.StandardDeviation(),
		HmfMgPerKg: hmf.Mean, HmfStdUncertaintyMgPerKg: hmf.StandardDeviation(),
		DiastaseGothe: diastase.Mean, DiastaseStdUncertaintyGothe: diastase.StandardDeviation(),
	}
}

// MoistureOut returns a reading of moisture in the contract's form.
func MoistureOut(m *ledger.MoistureReading) *openapi.MoistureAt20C {
	if m == nil {
		return nil
	}
	return &openapi.MoistureAt20C{MoisturePct: m.Pct, StdUncertaintyPct: m.StdUncertaintyPct, Formula: m.Formula}
}

// Percent returns a part of a whole in percent, rounded down to a tenth.
func Percent(part, whole int64) float64 {
	return float64(part*1000/whole) / 10
}

func measuredOut(m ledger.Measured) openapi.Measured {
	return openapi.Measured{
		Quantity: openapi.MeasuredQuantity(m.Quantity), Value: m.Value, StdUncertainty: m.StdUncertainty,
		LessThan: wire.OrNil(m.LessThan), LimitOfQuantification: m.LimitOfQuantification, Method: wire.OrNil(m.Method),
	}
}
