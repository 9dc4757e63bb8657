package plan

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/optimum"
)

// Blend is one way to make what is asked for.
type Blend struct {
	Takes []Take
	Kg    float64
	// Sources are the lots and tanks that it is of.
	Sources []string
	// Origins are the yards that its honey is of, as the book reckons, the most first.
	Origins []Origin
	// Countries are those of its yards, the most first.
	Countries []Country
	// NotSaid is the share of yards that say no country, NotKnown that of honey of which the book knows no yard.
	NotSaid, NotKnown float64
	Mixed             []Mixed
	// Cost is what it costs by the weights, in kilograms of honey; Bound is what no blend costs
	// less than.
	Cost, Bound float64
	stopped     bool
}

// Proved reports whether the search was over: no blend costs less by more than a quarter of a
// kilogram, which is what a floor scale shows, nor by more than a kilogram of the next best.
func (b *Blend) Proved() bool { return b.Cost-b.Bound <= aboutProved && !b.stopped }

const (
	proved      = 0.25
	aboutProved = 1.0
)

// Country is the share of a blend that comes from a country, 0 to 1. Code is that of ISO 3166-1.
type Country struct {
	Code  string
	Share float64
}

// Take is what goes in of one stock: the whole of a container.
type Take struct {
	Stock Stock
	Kg    float64
}

// Mixed is one property of the blend, held against one limit.
type Mixed struct {
	Limit Limit
	// Mean is what is expected, SD how far it may be off; of a colour SD is of where it is.
	Mean, SD float64
	// Probability is that of being within the limit.
	Probability float64
	// Turns is, by source, the figure of its honey from which on the blend would no longer keep
	// to the limit with the probability asked for; only where it lies on the side that is worse.
	Turns []Turn
}

// Turn is a figure that would change a plan.
type Turn struct {
	Source string
	// Now is its figure by mass, At the one that turns the plan.
	Now, At float64
}

// Answer is what a question for a blend comes to: the best blend and the next best, each without
// one at least of the sources of each before it, or why there is none.
type Answer struct {
	Blends     []Blend
	Impossible *Impossible
}

// nextBest is how many blends beside the best are looked for.
const nextBest = 2

// Solve finds the best blend within an effort, whose Within it sets itself. The stock has a figure
// of every parameter that the spec's limits ask for (see Ask). It fails only where the solver
// breaks down.
func (s *Spec) Solve(stock []Stock, most optimum.Effort) (*Answer, error) {
	rows := s.rowsOf(stock)
	answer := &Answer{}
	var without [][]string
	left := most.Left()
	roughly := newRough(s, stock, aim{})
	for range 1 + nextBest {
		most := left()
		most.Within = proved
		if len(answer.Blends) > 0 {
			most.Within = aboutProved
		}
		f, err := s.searchIn(roughly, stock, aim{}, without, most)
		if err != nil {
			return nil, err
		}
		if f.kg == nil {
			break
		}
		b := s.blendOf(stock, rows, f)
		answer.Blends, without = append(answer.Blends, b), append(without, b.Sources)
		roughly.withoutOne(b.Sources)
	}
	if len(answer.Blends) > 0 {
		return answer, nil
	}
	var err error
	answer.Impossible, err = s.whyNot(stock, left)
	return answer, err
}

func (s *Spec) blendOf(stock []Stock, rows []mixRow, f found) Blend {
	b := Blend{Cost: f.cost, Bound: f.bound, stopped: f.stopped}
	for i, x := range f.kg {
		if x == 0 {
			continue
		}
		b.Takes, b.Kg = append(b.Takes, Take{stock[i], x}), b.Kg+x
		if !slices.Contains(b.Sources, stock[i].Source) {
			b.Sources = append(b.Sources, stock[i].Source)
		}
	}
	b.Origins = originsOf(b.Takes, b.Kg)
	b.countries()
	for i, l := range s.Limits {
		if sc, mixes := scales[l.Parameter]; mixes {
			b.Mixed = append(b.Mixed, mixedOf(i, l, sc, rows, f.kg, b.Kg, stock))
		}
	}
	return b
}

func originsOf(takes []Take, kg float64) (out []Origin) {
	for _, t := range takes {
		for _, o := range t.Stock.Origins {
			i := slices.IndexFunc(out, func(had Origin) bool { return had.Yard == o.Yard })
			if i < 0 {
				i, out = len(out), append(out, Origin{Yard: o.Yard, Name: o.Name, Country: o.Country})
			}
			out[i].Share += o.Share * t.Kg / kg
		}
	}
	slices.SortStableFunc(out, func(x, y Origin) int { return cmp.Compare(y.Share, x.Share) })
	return out
}

// countries adds the origins up by country, the most first.
func (b *Blend) countries() {
	b.NotKnown = 1
	for _, o := range b.Origins {
		b.NotKnown -= o.Share
		if o.Country == "" {
			b.NotSaid += o.Share
			continue
		}
		i := slices.IndexFunc(b.Countries, func(had Country) bool { return had.Code == o.Country })
		if i < 0 {
			i, b.Countries = len(b.Countries), append(b.Countries, Country{Code: o.Country})
		}
		b.Countries[i].Share += o.Share
	}
	if b.NotKnown < 1e-9 { // sums of shares are off by as little
		b.NotKnown = 0
	}
	slices.SortStableFunc(b.Countries, func(x, y Country) int { return cmp.Compare(y.Share, x.Share) })
}

// mixedOf holds one property of a blend against its limit.
func mixedOf(place int, l Limit, sc scale, rows []mixRow, kg []float64, total float64, stock []Stock) Mixed {
	out := Mixed{Limit: l, Probability: 1}
	var mean float64
	for i, x := range kg {
		mean += x * sc.on(stock[i].Figures[l.Parameter].Mean)
	}
	mean /= total
	out.Mean = sc.back(mean)
	for i := range rows {
		r := &rows[i]
		if r.limit != place {
			continue
		}
		off, _ := r.off(kg)
		sd := off / total
		out.SD = sd / sc.stretch(out.Mean)
		if sd > 0 {
			out.Probability += distuv.UnitNormal.CDF(-r.means(kg)/off) - 1
		} else if r.means(kg) > slack*total {
			out.Probability = 0
		}
		out.Turns = append(out.Turns, turnsOf(r, l.Parameter, kg, stock)...)
	}
	out.Probability = max(0, out.Probability)
	return out
}

// turnsOf is from which figure of each source on a row would be broken, all else being as it is.
func turnsOf(r *mixRow, parameter string, kg []float64, stock []Stock) (out []Turn) {
	room := -r.beyond(kg)
	if room < 0 {
		return nil
	}
	mass, mean := map[string]float64{}, map[string]float64{}
	var order []string
	for i, x := range kg {
		if x == 0 {
			continue
		}
		name := stock[i].Source
		if mass[name] == 0 {
			order = append(order, name)
		}
		mass[name] += x
		mean[name] += x * r.scale.on(stock[i].Figures[parameter].Mean)
	}
	for _, name := range order {
		now, by := mean[name]/mass[name], room/mass[name]
		if !r.upper {
			by = -by
		}
		if now+by >= 0 {
			out = append(out, Turn{Source: name, Now: r.scale.back(now), At: r.scale.back(now + by)})
		}
	}
	return out
}
