package plan

import (
	"math"
	"time"

	"pullbook/domain/optimum"
	"pullbook/domain/standard"
)

// model is a blend as a mixed-integer program.
type model struct {
	optimum.Problem
	spec  *Spec
	stock []Stock
	rows  []mixRow
	// gives is, by row, the variable of by how much it may be broken; none where it is not there.
	gives map[int]int
	// take is each stock's variable: 0 or 1 of a container, kilograms of a tank; unit is the
	// kilograms in one of it.
	take []int
	unit []float64
	// sources are the lots and tanks, goes whether each goes in.
	sources []string
	goes    map[string]int
	// lookedInto are the limits that leave out sources which a search has looked into.
	lookedInto []int
	rough      bool
}

// aim is what a search makes small. The zero aim is what the weights count.
type aim struct {
	// give is, by row of the spec's limits, what breaking it costs, times the blend's mass. Where
	// there is one the weights do not count.
	give map[int]float64
	// least is the least that a row may be broken by: less than nothing lets it be kept with room.
	least float64
	// ratio is what each kilogram earns.
	ratio float64
	// buys is the source that alone counts, by its kilograms; empty where the weights count.
	buys string
}

func newModel(s *Spec, stock []Stock, a aim, without [][]string) *model {
	m := &model{spec: s, stock: stock, rows: s.rowsOf(stock), gives: map[int]int{}, goes: map[string]int{}}
	weigh := a.give == nil && a.buys == ""
	for i := range stock {
		source := stock[i].Source
		if _, known := m.goes[source]; !known {
			m.sources = append(m.sources, source)
			m.goes[source] = m.Add(optimum.Variable{Cost: s.Weights.Source * one(weigh), High: 1, Whole: true})
		}
	}
	for i := range stock {
		cost := -a.ratio
		if weigh {
			cost = s.costOf(&stock[i])
		} else if a.buys != "" {
			cost = one(stock[i].Source == a.buys)
		}
		if stock[i].Part {
			m.unit = append(m.unit, 1)
			m.take = append(m.take, m.Add(optimum.Variable{Cost: cost, High: stock[i].Kg}))
		} else {
			m.unit = append(m.unit, stock[i].Kg)
			m.take = append(m.take, m.Add(optimum.Variable{Cost: cost * stock[i].Kg, High: 1, Whole: true}))
		}
	}
	for row, cost := range a.give {
		m.gives[row] = m.Add(optimum.Variable{Cost: cost, Low: a.least, High: math.Inf(1)})
	}
	m.keep()
	for _, sources := range without {
		m.withoutOne(sources)
	}
	return m
}

// keep adds what every blend keeps to; of each limit what it is without what is not known, which
// bounds its cone.
func (m *model) keep() {
	var mass []optimum.Term
	for i := range m.stock {
		mass = append(mass, optimum.Term{Variable: m.take[i], Factor: m.unit[i]})
		most := 1.0
		if m.stock[i].Part {
			most = min(m.stock[i].Kg, m.spec.MostKg)
		}
		// nothing goes in of a source that does not
		m.Keep(math.Inf(-1), 0, optimum.Term{Variable: m.take[i], Factor: 1}, optimum.Term{Variable: m.goes[m.stock[i].Source], Factor: -most})
	}
	m.Keep(m.spec.LeastKg, m.spec.MostKg, mass...)
	if m.spec.MostSources > 0 {
		m.Keep(math.Inf(-1), float64(m.spec.MostSources), m.of(m.sources)...)
	}
	for _, share := range m.spec.Shares {
		m.keepShare(share)
	}
	for i := range m.rows {
		m.keepRow(i, m.rows[i].mean)
	}
}

// of counts how many of some sources go in.
func (m *model) of(sources []string) (terms []optimum.Term) {
	for _, name := range sources {
		terms = append(terms, optimum.Term{Variable: m.goes[name], Factor: 1})
	}
	return terms
}

// keepRow keeps a row, or a tangent of it: perKg is what a kilogram of each stock adds.
func (m *model) keepRow(row int, perKg []float64) {
	terms := m.terms(perKg)
	if give, gives := m.gives[row]; gives {
		terms = append(terms, optimum.Term{Variable: give, Factor: -1})
	}
	m.Keep(math.Inf(-1), 0, terms...)
}

// terms are a sum over the stock, from what a kilogram of each adds.
func (m *model) terms(perKg []float64) (out []optimum.Term) {
	for i, v := range perKg {
		if v != 0 {
			out = append(out, optimum.Term{Variable: m.take[i], Factor: v * m.unit[i]})
		}
	}
	return out
}

// keepShare keeps the part of the mass that declares something between its ends. Honey of several
// kinds counts as none of them towards a least share, and as each of them towards a most; so does honey whose
// country is not known.
func (m *model) keepShare(s Share) {
	above, below := make([]float64, len(m.stock)), make([]float64, len(m.stock))
	for i := range m.stock {
		if len(s.Yards) > 0 {
			from := m.stock[i].from(s.Yards)
			above[i], below[i] = from-s.Least, from-s.Most
			continue
		}
		if len(s.Countries) > 0 {
			surely, perhaps := m.stock[i].fromCountries(s.Countries)
			above[i], below[i] = surely-s.Least, perhaps-s.Most
			continue
		}
		wholly, partly := standard.Counts(s.Attribute, m.stock[i].Declares[s.Attribute], s.Value)
		above[i], below[i] = one(wholly)-s.Least, one(partly)-s.Most
	}
	if s.Least > 0 {
		m.Keep(0, math.Inf(1), m.terms(above)...)
	}
	if s.Most < 1 {
		m.Keep(math.Inf(-1), 0, m.terms(below)...)
	}
}

// withoutOne makes a blend do without one at least of some sources.
func (m *model) withoutOne(sources []string) {
	for _, name := range sources {
		if _, known := m.goes[name]; !known {
			return // it does
		}
	}
	m.Keep(math.Inf(-1), float64(len(sources)-1), m.of(sources)...)
}

// kg are the masses that a solution takes, by stock.
func (m *model) kg(at []float64) []float64 {
	out := make([]float64, len(m.stock))
	for i := range out {
		out[i] = at[m.take[i]] * m.unit[i]
		if out[i] < 1e-6 { // a milligram is none
			out[i] = 0
		}
	}
	return out
}

func one(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// costOf is what a kilogram of a stock costs by the weights.
func (s *Spec) costOf(one *Stock) float64 {
	cost := s.Weights.Over - s.Weights.Year*s.years(one.Since)
	for _, l := range s.Limits {
		cost += s.given(l, one)
	}
	return cost
}

const year = 365.25 * 24 * time.Hour

func (s *Spec) years(since time.Time) float64 {
	if since.IsZero() || !since.Before(s.Now) {
		return 0
	}
	return float64(s.Now.Sub(since)) / float64(year)
}

// given is what a kilogram of a stock gives away by being better than a limit asks; less than
// nothing where it is worse, which the rest of the blend has to make good.
func (s *Spec) given(l Limit, one *Stock) float64 {
	weight := s.Weights.Given[l.Parameter]
	sc, mixes := scales[l.Parameter]
	if weight == 0 || !mixes {
		return 0
	}
	v := sc.on(one.Figures[l.Parameter].Mean)
	switch {
	case l.High != nil && l.Parameter == "moisture" && *l.High < 100:
		return weight * (*l.High - v) / (100 - *l.High)
	case l.High != nil && sc.on(*l.High) > 0:
		return weight * (1 - v/sc.on(*l.High))
	case l.High == nil && l.Low != nil && sc.on(*l.Low) > 0:
		return weight * (v/sc.on(*l.Low) - 1)
	}
	return 0
}
