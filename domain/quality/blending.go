package quality

import (
	"cmp"
	"math"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// drier is another lot that stands here and is dry enough to blend with, with what
// is left of it.
type drier struct {
	g    *Gathered
	code string
	pct  float64
	kg   float64
	// yeast is its highest count; nil where none was made.
	yeast *ledger.Measured
}

// mostBlends bounds the lots that are looked into for one container.
const mostBlends = 5

// drierThan looks for honey to blend with, the driest first. Honey that is held, or
// that somebody saw ferment, is none.
func drierThan(b *ledger.Book, g *Gathered, on standard.Date) []drier {
	var out []drier
	b.InForceOf(ledger.KindLot, func(root ledger.ID, _ *ledger.Entry) bool {
		held := b.State().LotMass(root).HeldG
		if root == g.LotID || held == 0 || b.State().LotStatus(root).Status == ledger.StatusHeld {
			return true
		}
		other, err := Gather(b, root, on)
		if err != nil {
			return true
		}
		// Where its drums and a sample of it all disagree, the wetter counts.
		if pct, ok := other.worst("moisture", true); ok && pct < targetPct {
			if o := observe(b, other, time.Time{}); !o.anyFermenting(other) {
				out = append(out, drier{other, other.Lot.Code, pct, float64(held) / 1000, o.mostYeast()})
			}
		}
		return true
	})
	slices.SortStableFunc(out, func(x, y drier) int { return cmp.Compare(x.pct, y.pct) })
	return out[:min(len(out), mostBlends)]
}

func (o observed) anyFermenting(g *Gathered) bool {
	return slices.ContainsFunc(append([]string{""}, g.Numbers...), func(number string) bool { return seen(o.fermenting, number) })
}

// mostYeast is the highest count of a lot; nil where none was made.
func (o observed) mostYeast() *ledger.Measured {
	var most *ledger.Measured
	for _, m := range o.yeast {
		if most == nil || m.Value > most.Value {
			most = &m
		}
	}
	return most
}

// blending says which lot a container may be blended with, and what the mix would
// be. A lot whose own verdict the mix would lose is not spoiled for it: then the next
// driest is looked at, and where every one would be spoiled that is said.
func blending(r standard.KeepingRisk, with []drier, g *Gathered, sets []ledger.Resolved, on standard.Date) []Remedy {
	net, w := float64(r.Container.NetGrams)/1000, r.Container.MoisturePct.Float64()
	var spoiled *Remedy
	for _, d := range with {
		need := net * (w - targetPct) / (targetPct - d.pct)
		m := mix{wet: g, wetPct: w, part: net / (net + need), with: d}
		if loses, ok := m.spoils(sets, on); ok {
			if spoiled == nil {
				spoiled = &Remedy{Kind: "do_not_blend", WithLot: d.code, Text: message.F("do not blend it with lot %s, though that is dry enough: %s", d.code, loses)}
			}
			continue
		}
		text := message.F("blend it with %s of lot %s (%s %%, %s here), which brings it to %s %%, at which honey keeps whatever its yeast; %s", wholeKg(need), d.code, tenths(d.pct), wholeKg(d.kg), tenths(targetPct), m.yeastSaid(r))
		if need > d.kg {
			text = message.F("%s; only %s are here, which is enough for %s of it: with more the mix is wetter, and what was good may ferment too", text, wholeKg(d.kg), wholeKg(d.kg*(targetPct-d.pct)/(w-targetPct)))
		}
		return []Remedy{{Kind: "blend", Text: text, Kg: need, WithLot: d.code}}
	}
	if spoiled != nil {
		return []Remedy{*spoiled}
	}
	return nil
}

// mix is a part of a wet lot in honey of a drier one.
type mix struct {
	wet    *Gathered
	wetPct float64
	part   float64 // of the mix's mass that is of the wet lot
	with   drier
}

// yeastSaid is the mix's count, the mean of both by mass, as far as both were
// counted.
func (m mix) yeastSaid(r standard.KeepingRisk) message.Text {
	switch {
	case r.Container.YeastPerG == nil:
		return message.F("its own yeast was not counted and goes along into all of it")
	case m.with.yeast == nil:
		return message.F("its %s yeasts/g go along, and those of lot %s were not counted", r.Container.YeastPerG.Said(), m.with.code)
	}
	count := m.part*r.Container.YeastPerG.Float64() + (1-m.part)*m.with.yeast.Value
	return message.F("the mix then has about %s yeasts/g", roundTo2(count))
}

// roundTo2 is a count to two digits, which is more than it is known to.
func roundTo2(count float64) message.Number {
	if count >= 100 {
		step := math.Pow(10, math.Floor(math.Log10(count))-1)
		count = math.Round(count/step) * step
	}
	return twoDigits(count)
}

// byMass are the parameters of which a mix has the mean by mass. Colour, flavour and
// ratios do not mix so, and are left as the drier lot has them.
var byMass = []string{
	"hmf", "diastase", "invertase", "invertase_number", "electrical_conductivity", "free_acidity", "acidity", "fructose_plus_glucose", "reducing_sugars",
	"sucrose", "water_insoluble", "ash", "proline", "zinc", "tutin", "osmophilic_yeast", "total_plate_count", "moulds", "3_phenyllactic_acid",
}

// spoils reports whether the mix loses what the drier lot meets now, and says what.
func (m mix) spoils(sets []ledger.Resolved, on standard.Date) (message.Text, bool) {
	for _, set := range sets {
		if !set.InForce(on) {
			continue
		}
		before, err := set.Check(m.with.g.Evidence, on, standard.SimpleAcceptance())
		if err != nil || before.Outcome != standard.Meets {
			continue
		}
		after, err := m.check(set, on)
		if err != nil {
			return message.F("it meets %s now, and whether the mix still would cannot be worked out from its figures", set.SaidTitle()), true
		}
		for i := range after.Verdicts {
			v := &after.Verdicts[i]
			if v.Outcome == standard.Fails && before.Verdicts[i].Outcome == standard.Meets {
				value, _ := v.Shown()
				return message.F("the mix would no longer meet %s, which that lot meets now: %s would be about %s, against %s", set.SaidTitle(), v.Limit.SaidParameter(), value.Said(), v.Limit.Said()), true
			}
		}
	}
	return message.Text{}, false
}

func (m mix) check(set ledger.Resolved, on standard.Date) (standard.Check, error) {
	evidence, err := m.evidence(set)
	if err != nil {
		return standard.Check{}, err
	}
	return set.Check(evidence, on, standard.SimpleAcceptance())
}

// evidence is the drier lot's with the mix's figures in place of its own, where both
// lots were measured.
func (m mix) evidence(set ledger.Resolved) (*standard.Evidence, error) {
	mixed := map[string]float64{"moisture": m.of(m.wetPct, m.with.pct)}
	for _, parameter := range byMass {
		highest := worstIsHighest(set, parameter)
		wet, okWet := m.wet.worst(parameter, highest)
		dry, okDry := m.with.g.worst(parameter, highest)
		if okWet && okDry {
			mixed[parameter] = m.of(wet, dry)
		}
	}
	lot := standard.Lot{Code: m.with.code, Containers: m.with.g.Numbers, Declaration: m.with.g.Lot.Declares}
	methods := map[string]string{}
	for _, r := range m.with.g.results {
		if _, mixes := mixed[r.Parameter]; mixes {
			methods[r.Parameter] = r.Method
		} else {
			lot.Results = append(lot.Results, r.Result)
		}
	}
	for _, p := range standard.Parameters() {
		if value, mixes := mixed[p.ID]; mixes {
			lot.Results = append(lot.Results, standard.Result{Parameter: p.ID, Unit: p.Units[0].Name, Method: methods[p.ID], Value: decimalOf(math.Round(value*1e4)/1e4, -1).String(), CompositeOf: len(m.with.g.Numbers)})
		}
	}
	return standard.NewEvidence(lot)
}

func (m mix) of(wet, dry float64) float64 { return m.part*wet + (1-m.part)*dry }

// worstIsHighest reports whether a rule set bounds a parameter from above; so it is
// taken where it says nothing.
func worstIsHighest(set ledger.Resolved, parameter string) bool {
	for i := range set.Limits {
		if l := &set.Limits[i]; l.Parameter == parameter {
			return l.Comparator != standard.AtLeast && l.Comparator != standard.Above
		}
	}
	return true
}
