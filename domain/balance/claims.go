package balance

import (
	"bytes"
	"cmp"
	"math"
	"slices"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/reconcile"
)

// Claim is one of the weights that claim to be the honey that came out of the
// period's runs.
type Claim struct {
	// Name is "boxes", "tanks" or "containers".
	Name string
	// Complete is false where part of it was not weighed or counted; the figures
	// are then nil.
	Complete   bool
	MeasuredKg *float64
	// UncertaintyKg is of the weight as measured.
	UncertaintyKg *float64
	// AdjustedKg is the same sum over the flows that agree, nil where one of them
	// cannot be told.
	AdjustedKg *float64
	Sentence   message.Text
}

// YardLine is the boxes of one yard.
type YardLine struct {
	YardID ledger.ID
	Name   string
	// WeighedShare is the part of MeasuredKg that was weighed, the rest counted.
	WeighedShare              float64
	MeasuredKg, UncertaintyKg float64
	AdjustedKg                float64
	AdjustedUncertaintyKg     float64
	// Factor is adjusted over measured; far from one it is an alarm in itself.
	Factor *float64
	// Standardised is the adjustment in its own standard deviations: a standard
	// normal value without a mistake. Zero where nothing checks the yard.
	Standardised float64
	// Flagged is true where it exceeds Critical.
	Critical float64
	Flagged  bool
	Sentence message.Text
}

// claims adds up the three weights.
func claims(w *writer) []Claim {
	sign := func(boxes, tanks, containers func(*flow) float64) []Claim {
		out := []Claim{
			addUp("boxes", w.flows, boxes),
			addUp("tanks", w.flows, tanks),
			addUp("containers", w.flows, containers),
		}
		return out
	}
	return sign(func(f *flow) float64 {
		switch f.kind {
		case Boxes, Unbooked:
			return 1
		case Wax, Loss, OnTheLine:
			return -1
		}
		return 0
	}, func(f *flow) float64 {
		if f.kind == IntoTank && f.from != reconcile.Outside {
			return 1
		}
		return 0
	}, func(f *flow) float64 {
		switch {
		case f.kind == Level || f.kind == Between || f.kind == Pump || f.kind == Wax || f.kind == Loss || f.kind == OnTheLine:
			return 0
		case f.to == reconcile.Outside && f.kind != IntoTank:
			return 1
		case f.from == reconcile.Outside && (f.kind == Start || f.kind == PouredBack || f.kind == IntoTank):
			return -1
		}
		return 0
	})
}

// addUp adds flows up by their signs.
func addUp(name string, flows []*flow, sign func(*flow) float64) Claim {
	c := Claim{Name: name, Complete: true}
	measured, adjusted, known := 0.0, 0.0, true
	var counted []*flow
	for _, f := range flows {
		s := sign(f)
		if s == 0 {
			continue
		}
		r := &f.solved
		known = known && r.Known()
		adjusted += s * r.ReconciledKg
		if f.basis == Unseen {
			c.Complete = false
			continue
		}
		measured += s * f.kg
		counted = append(counted, f)
	}
	if c.Complete {
		sd := math.Sqrt(varianceOfSum(counted, sign))
		c.MeasuredKg, c.UncertaintyKg = &measured, &sd
	}
	if known {
		c.AdjustedKg = &adjusted
	}
	c.Sentence = c.sentence()
	return c
}

// yardLines sets each yard's boxes beside what agrees with everything else,
// most honey first.
func yardLines(w *writer) []YardLine {
	boxes := map[ledger.ID][]*flow{}
	for _, f := range w.flows {
		if f.kind == Boxes {
			boxes[f.yard] = append(boxes[f.yard], f)
		}
	}
	var out []YardLine
	for _, f := range w.flows {
		if f.kind == Yard {
			out = append(out, yardLine(w.book, f, boxes[f.yard], f.solved))
		}
	}
	slices.SortFunc(out, func(a, b YardLine) int {
		return cmp.Or(cmp.Compare(b.AdjustedKg, a.AdjustedKg), cmp.Compare(a.Name, b.Name), bytes.Compare(a.YardID[:], b.YardID[:]))
	})
	for i := range out {
		out[i].Critical = yardCritical(len(out))
		out[i].Flagged = math.Abs(out[i].Standardised) > out[i].Critical
		out[i].Sentence = out[i].sentence()
	}
	return out
}

func yardLine(b *ledger.Book, yard *flow, boxes []*flow, r reconcile.StreamResult) YardLine {
	l := YardLine{YardID: yard.yard, Name: b.Name(yard.yard), AdjustedKg: r.ReconciledKg, AdjustedUncertaintyKg: r.ReconciledUncertaintyKg}
	weighed := 0.0
	for _, f := range boxes {
		l.MeasuredKg += f.kg
		if f.basis == Weighed {
			weighed += f.kg
		}
	}
	variance := varianceOfSum(boxes, func(*flow) float64 { return 1 })
	l.UncertaintyKg = math.Sqrt(variance)
	if l.MeasuredKg > 0 {
		factor := l.AdjustedKg / l.MeasuredKg
		l.Factor = &factor
		l.WeighedShare = weighed / l.MeasuredKg
	}
	// In least squares the adjustment varies by just what the variance shrinks.
	if shrunk := variance - r.ReconciledUncertaintyKg*r.ReconciledUncertaintyKg; shrunk > 1e-6*variance {
		l.Standardised = (r.FreeKg - l.MeasuredKg) / math.Sqrt(shrunk)
	}
	return l
}
