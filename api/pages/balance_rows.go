package pages

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"github.com/google/uuid"

	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/domain/balance"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/reconcile"
)

// yardChoices are the yards that gave boxes to the period's runs.
func (v *balanceView) yardChoices(f locale.Voice, r *balance.Report, asked string) {
	v.Yards = []choice{{"", f.Say("all yards"), asked == ""}}
	for _, y := range r.Yards {
		v.Yards = append(v.Yards, choice{y.YardID.String(), y.Name, y.YardID.String() == asked})
	}
	slices.SortFunc(v.Yards[1:], func(a, b choice) int { return compareNames(a.Name, b.Name) })
}

// whole shows a report that was not narrowed.
func (v *balanceView) whole(f locale.Voice, r *balance.Report) {
	if len(r.Flows) == 0 {
		v.Nothing = r.Agreement().In(f)
		return
	}
	v.Answer, v.Statement, v.Chance = agreement(f, r), r.Agreement().In(f), byChance(f, r.Global)
	for _, c := range r.Claims {
		v.Claims = append(v.Claims, claim(f, c))
	}
	v.shown(f, r)
}

// narrow takes what the report says of one yard.
func (v *balanceView) narrow(b *ledger.Book) error {
	id, err := uuid.Parse(v.Yard)
	if err != nil || ledger.Named[ledger.Yard](b, id) == nil {
		return fault.New(fault.NotFound, "The outfit has no such yard.")
	}
	v.one, err = v.report.OfYard(b.Root(id))
	var none *fault.Error
	switch {
	case errors.As(err, &none):
		v.none = none.Message
		return nil
	case err != nil:
		return err
	}
	v.name(b, v.one)
	return nil
}

// name looks up what a report names.
func (v *balanceView) name(b *ledger.Book, r *balance.Report) {
	for _, x := range r.Flows {
		v.links.add(b, x.Entries[:min(len(x.Entries), mostEntries)]...) // more are never shown
	}
	for _, p := range r.Parts {
		if p.Suspect == nil {
			continue
		}
		v.links.add(b, p.Suspect.Entries[:min(len(p.Suspect.Entries), mostEntries)]...)
		for _, o := range p.Suspect.Others {
			v.links.add(b, o.Entries[:min(len(o.Entries), mostEntries)]...)
		}
		v.tanks[p.Suspect.RightTank] = b.Name(p.Suspect.RightTank)
	}
}

// yard shows what a report says of one yard.
func (v *balanceView) yard(f locale.Voice) {
	one := v.one
	if one == nil {
		v.Nothing = v.none.In(f)
		return
	}
	v.Answer, v.Statement = mark{"✓", f.Say("it fits"), "good"}, one.Yards[0].Sentence.In(f)
	if one.Yards[0].Flagged {
		v.Answer = mark{"✗", f.Say("stands out"), "bad"}
	}
	v.shown(f, one)
}

// shown is what a report on all yards and one on a single one have in common.
func (v *balanceView) shown(f locale.Voice, r *balance.Report) {
	for _, p := range r.Parts {
		if p.Suspect != nil {
			v.Suspects = append(v.Suspects, v.suspect(f, p.Suspect))
		}
	}
	for _, y := range r.Yards {
		v.ByYard = append(v.ByYard, v.yardRow(f, y))
	}
	v.UnseenWords = r.Unseen.In(f)
	unseen, told := 0, 0
	for _, x := range r.Flows {
		if x.Basis != balance.Unseen {
			continue
		}
		if unseen++; x.Known() {
			told++
		}
		v.UnseenWords = f.Say("Nobody weighed or counted %s of these. For %s of them the other weights say how much it was.", unseen, told)
		if len(v.Unseen) == mostUnseen {
			v.MoreUnseen++
			continue
		}
		v.Unseen = append(v.Unseen, v.flowRow(f, x))
	}
	v.leaf(f, r.Flows)
}

// leaf is a leaf of all flows, those that fit worst first.
func (v *balanceView) leaf(f locale.Voice, flows []balance.Flow) {
	var seen []*balance.Flow
	for i := range flows {
		if flows[i].Basis != balance.Unseen {
			seen = append(seen, &flows[i])
		}
	}
	slices.SortStableFunc(seen, func(x, y *balance.Flow) int {
		return cmp.Compare(math.Abs(y.Standardised), math.Abs(x.Standardised))
	})
	from := max(0, min(v.from, len(seen)-1))
	to := min(from+flowsOnALeaf, len(seen))
	for _, x := range seen[from:to] {
		v.Flows = append(v.Flows, v.flowRow(f, *x))
	}
	v.Count, v.First, v.Last = f.Count(len(seen)), from+1, to
	if from > 0 {
		v.Earlier = v.at(func(a *balanceAsked) { a.from = max(0, from-flowsOnALeaf) })
	}
	if to < len(seen) {
		v.Later = v.at(func(a *balanceAsked) { a.from = to })
	}
}

func (v *balanceView) yardRow(f locale.Voice, y balance.YardLine) balanceYard {
	row := balanceYard{
		Address: v.at(func(a *balanceAsked) { a.Yard, a.from = y.YardID.String(), 0 }), Name: y.Name, How: weighedShare(f, y.WeighedShare),
		Measured: withinText(f, y.MeasuredKg, y.UncertaintyKg), Adjusted: withinText(f, y.AdjustedKg, y.AdjustedUncertaintyKg),
		Factor: locale.Missing, Deviations: deviations(f, y.Standardised),
	}
	if y.Factor != nil {
		row.Factor = f.Number(*y.Factor, 3)
	}
	if y.Flagged {
		row.mark = mark{"✗", f.Say("stands out"), "bad"}
	}
	return row
}

func weighedShare(f locale.Voice, share float64) string {
	switch share {
	case 0:
		return f.Say("basis|counted")
	case 1:
		return f.Say("basis|weighed")
	}
	return f.Say("%s %% weighed", message.Number{V: 100 * share})
}

// agreement is whether the weights of a report add up, in a word.
func agreement(f locale.Voice, r *balance.Report) mark {
	suspects := slices.ContainsFunc(r.Parts, func(p balance.Part) bool { return p.Suspect != nil })
	if r.Global.Passed && r.Global.DegreesOfFreedom > 0 && suspects {
		return mark{"≈", f.Say("together they add up, except for one figure"), "watch"}
	}
	return passed(f, r.Global)
}

func passed(f locale.Voice, g reconcile.GlobalTest) mark {
	switch {
	case g.DegreesOfFreedom == 0:
		return mark{"?", f.Say("nothing checks them"), "watch"}
	case g.Passed:
		return mark{"✓", f.Say("they add up"), "good"}
	}
	return mark{"✗", f.Say("they do not add up"), "bad"}
}

// byChance says how likely the weights are this far apart with nothing wrong.
func byChance(f locale.Voice, g reconcile.GlobalTest) chanceView {
	words := reports.GlobalChance(g)
	if words.IsEmpty() {
		return chanceView{}
	}
	return chanceView{words.In(f), f.Say("With nothing wrong, weights are this far apart or further %s (chi-square %s on %s, where up to %s is usual).", oneIn(f, g.PValue),
		message.Number{V: g.Statistic, Places: 1}, message.Plural{N: float64(g.DegreesOfFreedom), One: "%s degree of freedom", Other: "%s degrees of freedom"}, message.Number{V: g.Critical, Places: 1})}
}

func claim(f locale.Voice, c balance.Claim) balanceClaim {
	row := balanceClaim{Name: c.Said().In(f), Measured: f.Say("not all of it was weighed"), Adjusted: roundedMass(f, c.AdjustedKg)}
	if c.Complete {
		row.Measured = withinText(f, *c.MeasuredKg, *c.UncertaintyKg)
	}
	return row
}

func (v *balanceView) suspect(f locale.Voice, s *balance.Suspect) balanceSuspect {
	out := balanceSuspect{Sentence: s.Sentence.In(f)}
	out.Entries, out.More = v.links.some(f, s.Entries, mostEntries)
	if s.RightTank != uuid.Nil {
		out.RightTank = &entryLink{tankPath(s.RightTank), v.tanks[s.RightTank]}
	}
	for i, o := range s.Others {
		if i == mostEntries {
			out.MoreOthers = len(s.Others) - i
			break
		}
		other := balanceOther{Name: o.Said.In(f)}
		other.Entries, other.More = v.links.some(f, o.Entries, mostEntries)
		out.Others = append(out.Others, other)
	}
	return out
}

// entriesInACell of a table are named.
const entriesInACell = 3

func (v *balanceView) flowRow(f locale.Voice, x balance.Flow) balanceFlow {
	row := balanceFlow{
		Name: x.Said.In(f), How: basisOf(f, x.Basis), Measured: locale.Missing, Adjusted: f.Say("cannot be known"), Change: locale.Missing, Deviations: locale.Missing, Detectable: locale.Missing,
	}
	row.Entries, row.More = v.links.some(f, x.Entries, entriesInACell)
	if x.Basis != balance.Unseen {
		row.Measured = withinText(f, x.MeasuredKg, x.MeasuredUncertaintyKg)
	}
	if x.Known() {
		row.Adjusted = withinText(f, x.ReconciledKg, x.ReconciledUncertaintyKg)
	}
	switch x.Bound {
	case reconcile.AtLeast:
		row.Bound = f.Say("not below nothing; by the weights alone %s", roundedMass(f, &x.FreeKg))
	case reconcile.AtMost:
		row.Bound = f.Say("the tank holds no more; by the weights alone %s", roundedMass(f, &x.FreeKg))
	}
	if x.Class == reconcile.Redundant {
		row.Change, row.Detectable = signed(f, x.AdjustmentKg), roundedMass(f, &x.DetectableKg)
		row.Deviations = deviations(f, x.Standardised)
	}
	if x.Flagged {
		row.mark = mark{"✗", f.Say("stands out"), "bad"}
	}
	return row
}

// basisOf is how the figure of a flow was had.
func basisOf(f locale.Voice, b balance.Basis) string {
	switch b {
	case balance.Weighed:
		return f.Say("basis|weighed")
	case balance.Counted:
		return f.Say("basis|counted")
	case balance.Limited:
		return f.Say("not weighed, known roughly")
	}
	return f.Say("nobody weighed it")
}

// within is a mass with its standard uncertainty, without the unit, to a tenth at
// the finest.
func withinText(f locale.Voice, kg, sd float64) string {
	kg, sd = kg*1000/f.GramsPerUnit, sd*1000/f.GramsPerUnit
	places := min(1, message.PlacesTo(sd))
	return f.Number(kg, places) + " ± " + f.Number(sd, places)
}

// rounded is a mass, without the unit, to a tenth at the finest.
func roundedMass(f locale.Voice, kg *float64) string {
	if kg == nil {
		return locale.Missing
	}
	mass := *kg * 1000 / f.GramsPerUnit
	return f.Number(mass, min(1, message.PlacesTo(mass)))
}

// signed is a change in mass, without the unit.
func signed(f locale.Voice, kg float64) string {
	mass := kg * 1000 / f.GramsPerUnit
	text := f.Number(mass, 1)
	if mass >= 0.05 {
		return "+" + text
	}
	return text
}

// deviations is a standardised value.
func deviations(f locale.Voice, z float64) string {
	if z == 0 {
		return locale.Missing
	}
	return f.Number(math.Abs(z), 1)
}
