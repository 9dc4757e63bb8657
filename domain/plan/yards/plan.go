package yards

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Verdict is what is proposed for a yard.
type Verdict string

const (
	Keep   Verdict = "keep"
	Move   Verdict = "move"
	Unsure Verdict = "not_enough_data"
)

// Plan is what is proposed. All kg are per hive or super and season, unless a name says otherwise.
type Plan struct {
	*Asked
	model *model
	// MarginKg and OrdinaryKg are the margin and what the average yard gives in the average of the seasons;
	// SeasonKg is that of each season. All but the margin are 0 where nothing can be told.
	MarginKg, OrdinaryKg float64
	SeasonKg             []float64
	// BetweenKg and WithinKg are standard deviations: of yards, and of one yard's seasons about its average.
	BetweenKg, WithinKg float64
	// Told is whether yards can be told from seasons at all.
	Told      bool
	Says      []message.Text
	Adjusted  []Adjustment
	Proposals []Proposal
	// Next are up to three yards that are not proposed to be moved, of which moving promises most.
	Next []Choice
	Held *HeldOut
}

// Adjustment is what was told apart from the yards. Share is what changes, of what the average yard gives.
type Adjustment struct {
	Of         string
	Share, Off float64
	Said       message.Text
}

// Proposal is one yard's.
type Proposal struct {
	Yard
	Verdict Verdict
	Why     message.Text
	// Seasons are those in which it was observed, Last the latest of them. PlainKg is its plain average, Units
	// the hives or supers that it had as a mean.
	Seasons int
	Last    string
	PlainKg float64
	Units   float64
	// Effect is what it gives beside the average yard; nil where nothing can be told.
	Effect *Effect
	// Next is what the next season is expected to give; nil where nothing can be told.
	Next *Next
	// Visits are a season's, as a mean, with those of the question. Money is nil without a price.
	Visits float64
	Money  *Money
}

// Effect is what a yard gives beside the average yard.
type Effect struct {
	Kg, LowKg, HighKg float64
	// NetKg takes the visits' cost, as honey, beside that of the average yard off Kg; it is Kg where no cost is known.
	NetKg float64
	// Below is the chance that it gives less than the average yard, Worse that it gives less by more than the
	// margin, visits counted.
	Below, Worse float64
	// GainsKg is what moving its hives to an average yard promises, in honey of all of them and a season, from low
	// to high; Loses the chance that it loses honey.
	GainsKg, GainsLowKg, GainsHighKg float64
	Loses                            float64
	// SeasonsNeeded is in how many more seasons it would be told three times in four; 0 where it is, or where
	// more than MostSeasonsNeeded would be needed.
	SeasonsNeeded int
	// KeepFromKg and MoveBelowKg are what the next season would have to give beside the average yard for either
	// verdict; nil where it could give nothing, and would be kept all the same.
	KeepFromKg, MoveBelowKg *float64
}

// Money is what a yard's season brings, in the currency of the question.
type Money struct{ Honey, Visits, Left float64 }

// Choice is a yard beside the plan, with what moving its hives would promise.
type Choice struct {
	Yard
	GainsKg, Loses float64
	Said           message.Text
}

const (
	// Bands are of nine tenths.
	bandLow, bandHigh = 0.05, 0.95
	// MostSeasonsNeeded is how far it is looked ahead.
	MostSeasonsNeeded = 30
	mostChoices       = 3
	// usuallyTold is how likely as many seasons as are needed tell.
	usuallyTold = 0.75
	// usualMargin is the margin where none is asked for, as a share of what the average yard gives.
	usualMargin = 0.1
)

// Plan works out what is proposed. It needs no book.
func (a *Asked) Plan() *Plan {
	p := &Plan{Asked: a}
	if a.Question.MarginKg != nil {
		p.MarginKg = *a.Question.MarginKg
	}
	m, err := newModel(a.Observations, len(a.Yards), len(a.Seasons), a.Per)
	if err != nil {
		p.Proposals = a.plain()
		p.Says = []message.Text{a.untold(err)}
		return p
	}
	p.model, p.Told, p.OrdinaryKg, p.SeasonKg = m, true, m.ordinary, m.seasons
	p.BetweenKg, p.WithinKg = m.between*m.ordinary, m.within*m.ordinary
	if a.Question.MarginKg == nil {
		p.MarginKg = usualMargin * m.ordinary
	}
	p.Adjusted = a.adjustments(m)
	p.propose(m)
	p.Held = a.holdOut()
	p.Next = p.next()
	p.Says = p.summary()
	return p
}

// plain are the yards with what needs no model.
func (a *Asked) plain() []Proposal {
	out := make([]Proposal, len(a.Yards))
	for i, y := range a.Yards {
		out[i] = Proposal{Yard: y, Verdict: Unsure, Why: message.F("A yard cannot be told from its season yet.")}
	}
	honey := make([]float64, len(out))
	for _, o := range a.Observations {
		p := &out[o.Yard]
		p.Seasons++
		p.PlainKg += o.Kg
		p.Units += o.Units
		p.Visits += float64(o.Visits)
		p.Last = a.Seasons[o.Season].Name
		honey[o.Yard] += o.HoneyKg
	}
	for i := range out {
		p, n := &out[i], float64(out[i].Seasons)
		p.PlainKg, p.Units, p.Visits = p.PlainKg/n, p.Units/n, p.Visits/n+a.Question.MoreVisits
		if price := a.Question.PricePerKg; price != nil {
			money := Money{Honey: honey[i] / n * *price}
			if cost, known := a.costs[p.ID]; known {
				money.Visits = p.Visits * cost
			}
			money.Left = money.Honey - money.Visits
			p.Money = &money
		}
	}
	return out
}

// visitsKg is what a yard's visits cost in honey per hive or super.
func (a *Asked) visitsKg(p *Proposal) (kg float64, known bool) {
	cost, known := a.costs[p.ID]
	if !known || a.Question.PricePerKg == nil {
		return 0, false
	}
	return p.Visits * cost / *a.Question.PricePerKg / p.Units, true
}

// propose says of each yard what is known and what to do.
func (p *Plan) propose(m *model) {
	p.Proposals = p.plain()
	mean, n := 0.0, 0.0
	for i := range p.Proposals {
		if kg, known := p.visitsKg(&p.Proposals[i]); known {
			mean, n = mean+kg, n+1
		}
	}
	next := m.next(p.Asked)
	for i := range p.Proposals {
		y, x := &p.Proposals[i], m.effects[i]
		y.Next = &next[i]
		off := 0.0
		if kg, known := p.visitsKg(y); known {
			off = kg - mean/n
		}
		kg := m.ordinary
		e := &Effect{
			Kg: x.Mean * kg, LowKg: x.Quantile(bandLow) * kg, HighKg: x.Quantile(bandHigh) * kg,
			NetKg: x.Mean*kg - off, Below: x.Below(0), Worse: x.Below((off - p.MarginKg) / kg), Loses: 1 - x.Below(off/kg),
		}
		e.GainsKg, e.GainsLowKg, e.GainsHighKg = -e.NetKg*y.Units, (off-e.HighKg)*y.Units, (off-e.LowKg)*y.Units
		y.Effect, y.Verdict = e, p.verdict(e.Worse, y.Seasons)
		p.ahead(m, y, off, x.SD*kg)
		y.Why = p.why(y)
	}
}

// verdict is what to do with a yard. What a yard gave in one season may be of that season alone: nothing is
// moved for it.
func (a *Asked) verdict(worse float64, seasons int) Verdict {
	switch {
	case worse >= a.Question.Probability && seasons >= fewestSeasons:
		return Move
	case worse <= 1-a.Question.Probability:
		return Keep
	}
	return Unsure
}

// ahead says how many seasons more would tell three times in four, and which next season would. It takes the variances
// for known, and the next seasons for as many yards and hives as now.
func (p *Plan) ahead(m *model, y *Proposal, off, sd float64) {
	normal := distuv.UnitNormal
	z := normal.Quantile(p.Question.Probability)
	clear := y.Effect.NetKg + p.MarginKg
	one := p.WithinKg * math.Sqrt(m.usualWeight/weight(y.Units, p.Per)*(1+1/float64(len(p.Yards))))
	after := func(n float64) float64 { return 1 / math.Sqrt(1/(sd*sd)+n/(one*one)) }
	for n := 1; y.Verdict == Unsure && n <= MostSeasonsNeeded; n++ {
		// What the effect will be put at then may be anywhere within what those seasons tell.
		then := after(float64(n))
		moves := math.Sqrt(sd*sd - then*then)
		if normal.CDF((clear-z*then)/moves)+normal.CDF((-clear-z*then)/moves) >= usuallyTold {
			y.Effect.SeasonsNeeded = n
			break
		}
	}
	// The next season moves the effect by its part of the precision.
	part, then := sd*sd/(sd*sd+one*one), after(1)
	from := func(z float64) *float64 {
		if kg := clear + (z*then-clear)/part - p.MarginKg + off; kg > -p.OrdinaryKg {
			return &kg
		}
		return nil
	}
	y.Effect.KeepFromKg, y.Effect.MoveBelowKg = from(z), from(-z)
}

// next are the yards beside the plan of which moving promises most.
func (p *Plan) next() []Choice {
	var out []Choice
	for i := range p.Proposals {
		y := &p.Proposals[i]
		if y.Verdict != Move && y.Effect.GainsKg > 0 {
			out = append(out, Choice{y.Yard, y.Effect.GainsKg, y.Effect.Loses, p.choice(y)})
		}
	}
	slices.SortStableFunc(out, func(a, b Choice) int { return cmp.Compare(b.GainsKg, a.GainsKg) })
	return out[:min(len(out), mostChoices)]
}

func (a *Asked) adjustments(m *model) []Adjustment {
	var out []Adjustment
	for _, x := range m.adjusted {
		if x.kind == (ledger.ID{}) {
			out = append(out, Adjustment{"hives", x.effect, x.off, a.hivesSaid(x)})
			continue
		}
		out = append(out, Adjustment{a.kinds[x.kind], x.effect, x.off, a.kindSaid(x)})
	}
	return out
}
