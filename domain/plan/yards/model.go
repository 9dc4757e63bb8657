package yards

import (
	"errors"
	"math"
	"slices"

	"pullbook/domain/ledger"
	"pullbook/domain/mixed"
)

// model is what yards give beside one another, in shares of what their season gave to the average yard.
type model struct {
	// seasons are what the average yard gave in each, in kg per hive or super; ordinary is their mean.
	seasons  []float64
	ordinary float64
	fit      *mixed.Fit
	// between is how far yards differ, within how far a yard's season of usual size is off its own
	// average, both as standard deviations.
	between, within float64
	effects         []mixed.Mixture
	ratios          []mixed.Weighed
	adjusted        []adjusted
	usualWeight     float64
}

// adjusted is something that is told apart from the yards.
type adjusted struct {
	// kind is a kind of super beside the commonest; the zero kind says that it is of the number of hives,
	// for each doubling.
	kind        ledger.ID
	of          func(*Observation) float64
	effect, off float64
}

const (
	// A hive differs from its neighbour by about half of what they give, a yard's season from what was
	// to be expected by about a sixth (from memory): of so many hives either counts alike.
	HivesThatCountHalf = 8
	// fewestForMore is how many observations there have to be beside the seasons, and for each thing
	// that is told apart beside them.
	fewestForMore = 30
	// What hardly varies cannot be told apart: standard deviations of the logarithm of hives, and of a
	// kind's share.
	variedHives, variedShare = 0.1, 0.05
	mostKinds                = 2
	// The levels of seasons are settled where they move by less than a thousandth; after so many steps none is found.
	settledLevel, mostSteps = 1e-3, 200
)

// errFew says that a yard cannot be told from its season, errWild that no season has a level that its yards are near.
var (
	errFew  = errors.New("yards: too few seasons or yards")
	errWild = errors.New("yards: seasons without a level")
)

const (
	fewestYards, fewestSeasons = 3, 2
	// fewestFree is how many observations are beside those that seasons and yards use up.
	fewestFree = 2
)

// newModel fits observations of so many yards and seasons, of which every season has two or more.
func newModel(obs []Observation, yards, seasons int, per Per) (*model, error) {
	seen := make([]int, yards)
	for _, o := range obs {
		seen[o.Yard]++
	}
	heard := 0
	for _, n := range seen {
		heard += min(n, 1)
	}
	if seasons < fewestSeasons || heard < fewestYards || len(obs)-seasons-heard+1 < fewestFree {
		return nil, errFew
	}
	m := &model{seasons: levels(obs, seasons, per), adjusted: adjustments(obs, seasons, per)}
	d := m.data(obs, yards, per)
	for {
		fitted, err := m.settle(obs, &d)
		if err == nil {
			m.read(fitted, &d)
			return m, nil
		}
		if len(m.adjusted) == 0 {
			return nil, err
		}
		// What goes with the seasons cannot be told apart from them.
		m.adjusted = m.adjusted[:len(m.adjusted)-1]
		m.seasons = levels(obs, seasons, per)
		d = m.data(obs, yards, per)
	}
}

// levels are what yards gave in each season as a mean, as a first guess of the average yard's.
func levels(obs []Observation, seasons int, per Per) []float64 {
	kg, weights := make([]float64, seasons), make([]float64, seasons)
	for _, o := range obs {
		w := weight(o.Units, per)
		kg[o.Season] += w * o.Kg
		weights[o.Season] += w
	}
	for s := range kg {
		kg[s] /= weights[s]
	}
	return kg
}

func (m *model) data(obs []Observation, yards int, per Per) mixed.Data {
	d := mixed.Data{Y: make([]float64, len(obs)), Groupings: []mixed.Grouping{{Levels: yards}}}
	for i := range obs {
		o, row := &obs[i], make([]float64, len(m.seasons)+len(m.adjusted))
		row[o.Season] = 1
		for k, a := range m.adjusted {
			row[len(m.seasons)+k] = a.of(o)
		}
		d.X = append(d.X, row)
		d.Weights = append(d.Weights, weight(o.Units, per))
		d.Groupings[0].Level = append(d.Groupings[0].Level, o.Yard)
	}
	return d
}

func weight(units float64, per Per) float64 {
	if per == PerSuper {
		return 1
	}
	return units / (units + HivesThatCountHalf)
}

// settle fits the shares, and takes what the fit makes of each season for what it gave, until both agree. The ratio
// of variances is searched for once they nearly do, and for good once they do.
func (m *model) settle(obs []Observation, d *mixed.Data) (*mixed.Model, error) {
	var ratios []float64
	for range mostSteps {
		for i, o := range obs {
			d.Y[i] = o.Kg / m.seasons[o.Season]
		}
		fitted, err := mixed.New(*d)
		if err != nil {
			return nil, err
		}
		search := ratios == nil
		if search {
			m.fit = fitted.Fit(mixed.REML)
		} else {
			m.fit = fitted.At(mixed.REML, ratios)
		}
		ratios = m.fit.Ratios
		moved := 0.0
		for s := range m.seasons {
			by := m.fit.Fixed[s].Value
			if !(by > 0.2) {
				return nil, errWild
			}
			moved = max(moved, math.Abs(by-1))
			m.seasons[s] *= by
		}
		switch {
		case moved < settledLevel && search:
			return fitted, nil
		case moved < settledLevel:
			ratios = nil
		}
	}
	return nil, errWild
}

func (m *model) read(fitted *mixed.Model, d *mixed.Data) {
	m.effects, m.ratios = fitted.Posterior(), fitted.Weighed()
	for _, kg := range m.seasons {
		m.ordinary += kg / float64(len(m.seasons))
	}
	for _, w := range d.Weights {
		m.usualWeight += w / float64(len(d.Weights))
	}
	m.between = math.Sqrt(m.fit.Groupings[0].Variance)
	m.within = math.Sqrt(m.fit.Residual / m.usualWeight)
	for k := range m.adjusted {
		e := m.fit.Fixed[len(m.seasons)+k]
		m.adjusted[k].effect, m.adjusted[k].off = e.Value, e.SE
	}
}

// adjustments are what varies beside yards and seasons, as far as there is enough to tell it apart. Each is
// counted from its mean, so that a season is that of a yard with usual hives and boxes.
func adjustments(obs []Observation, seasons int, per Per) []adjusted {
	var out []adjusted
	add := func(kind ledger.ID, varied float64, of func(*Observation) float64) {
		mean, sd := spread(obs, of)
		if len(obs)-seasons >= fewestForMore*(len(out)+1) && sd >= varied {
			out = append(out, adjusted{kind: kind, of: func(o *Observation) float64 { return of(o) - mean }})
		}
	}
	if per == PerHive {
		add(ledger.ID{}, variedHives/math.Ln2, func(o *Observation) float64 { return math.Log2(o.Units) })
	}
	for _, kind := range kindsBeside(obs) {
		add(kind, variedShare, func(o *Observation) float64 { return o.share(kind) })
	}
	return out
}

// share is how much of what was pulled is of a kind, 0 to 1.
func (o *Observation) share(kind ledger.ID) float64 {
	all := 0
	for _, n := range o.Supers {
		all += n
	}
	return float64(o.Supers[kind]) / float64(max(all, 1))
}

// kindsBeside are the kinds of super beside the one most used, the more used first.
func kindsBeside(obs []Observation) []ledger.ID {
	used := map[ledger.ID]int{}
	for _, o := range obs {
		for kind, n := range o.Supers {
			used[kind] += n
		}
	}
	var kinds []ledger.ID
	for kind := range used {
		kinds = append(kinds, kind)
	}
	slices.SortFunc(kinds, func(a, b ledger.ID) int {
		if used[a] != used[b] {
			return used[b] - used[a]
		}
		return slices.Compare(a[:], b[:])
	})
	if len(kinds) < 2 {
		return nil
	}
	return kinds[1:min(len(kinds), 1+mostKinds)]
}

func spread(obs []Observation, of func(*Observation) float64) (mean, sd float64) {
	n, square := float64(len(obs)), 0.0
	for i := range obs {
		mean += of(&obs[i]) / n
	}
	for i := range obs {
		square += (of(&obs[i]) - mean) * (of(&obs[i]) - mean) / n
	}
	return mean, math.Sqrt(square)
}

// beside is what an observation's hives and boxes are expected to change, as a share.
func (m *model) beside(o *Observation) (sum float64) {
	for _, a := range m.adjusted {
		sum += a.effect * a.of(o)
	}
	return sum
}
