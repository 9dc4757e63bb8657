package quality

import (
	"cmp"
	"slices"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Span is when something is to be expected: Low for the fastest honey in
// twenty, High for the slowest.
type Span struct{ Low, Middle, High standard.Date }

// KeepLine is how long a lot stays within one limit of one rule set that time
// uses up.
type KeepLine struct {
	Set        ledger.Resolved
	Parameter  string // hmf or diastase
	Grade      string
	Limit      message.Text
	Clause     string
	FromMemory bool
	// Value is the last result, in mg/kg or diastase numbers, of the day MeasuredOn.
	Value      float64
	MeasuredOn standard.Date
	// Outside is true where it was past the limit when it was measured, which is when
	// it Leaves then.
	Outside bool
	// Leaves is when it passes the limit; nil where that cannot be said, or not
	// within a hundred years, and Why says which.
	Leaves *Span
	Why    message.Text
}

// Keeps is how long a lot keeps, and why it must go when it must.
type Keeps struct {
	LotID ledger.ID
	Code  string
	HeldG int64
	// StoreC is the temperature reckoned with, and StoreBasis where it is from.
	StoreC     *float64
	StoreBasis message.Text
	Lines      []KeepLine
	Risk       standard.FermentationRisk
	// SeenFermenting: somebody saw a container of it ferment.
	SeenFermenting bool
	// MoisturePct is that of its container which ferments first, by which lots of
	// one risk are put in order; nil where it is not known.
	MoisturePct *standard.Decimal
	// GoBy is the earliest day on which any limit may be passed; empty where none
	// can be told.
	GoBy standard.Date
	Why  message.Text
}

// Keeping says how long each of the lots keeps by the rule sets, what must go
// first first. Lots of which nothing is here are left out.
func Keeping(b *ledger.Book, lots []ledger.ID, sets []ledger.Resolved, on standard.Date) ([]Keeps, error) {
	climate := ClimateOf(b)
	out := []Keeps{}
	for _, id := range lots {
		held := b.State().LotMass(id).HeldG
		if held == 0 {
			continue
		}
		g, err := Gather(b, id, on)
		if err != nil {
			return nil, err
		}
		k, err := keepsOf(b, g, climate, sets, on)
		if err != nil {
			return nil, err
		}
		k.HeldG = held
		out = append(out, k)
	}
	slices.SortFunc(out, func(a, c Keeps) int {
		return cmp.Or(cmp.Compare(urgency(c), urgency(a)), byWet(a, c), cmp.Compare(dateOrLast(a.GoBy), dateOrLast(c.GoBy)),
			cmp.Compare(c.Risk, a.Risk), standard.WetterFirst(a.MoisturePct, c.MoisturePct), cmp.Compare(a.Code, c.Code))
	})
	return out, nil
}

// urgency puts what ferments before what is likely to, that before what nobody knows,
// and that before what merely ages.
func urgency(k Keeps) int {
	switch {
	case k.SeenFermenting:
		return 3
	case k.Risk == standard.RiskHigh:
		return 2
	case k.Risk == standard.RiskNotKnown:
		return 1
	}
	return 0
}

// byWet puts lots that are likely to ferment in order of how wet they are, whatever
// else ages in them.
func byWet(a, c Keeps) int {
	if urgency(a) < 2 {
		return 0
	}
	return standard.WetterFirst(a.MoisturePct, c.MoisturePct)
}

func dateOrLast(d standard.Date) standard.Date {
	if d == "" {
		return "9999-12-31"
	}
	return d
}

func keepsOf(b *ledger.Book, g *Gathered, c *Climate, sets []ledger.Resolved, on standard.Date) (Keeps, error) {
	now := endOf(on, b.Location())
	k := Keeps{LotID: g.LotID, Code: g.Lot.Code}
	k.StoreC, k.StoreBasis = c.ahead(g.Lot.StoreID, now)
	a := ageing{g: g, climate: c, storeC: k.StoreC, now: now, kinetics: KineticsOf(g, c)}
	for _, set := range sets {
		if !set.InForce(on) {
			continue
		}
		check, err := set.Check(g.Evidence, on, standard.SimpleAcceptance())
		if err != nil {
			return k, err
		}
		hangs := set.HangsOn(g.Evidence, "hmf", "diastase")
		for i := range check.Verdicts {
			line, ok := a.line(set, &check, &check.Verdicts[i])
			if !ok {
				continue
			}
			if hangs {
				if err := a.follow(&line, on); err != nil {
					return k, err
				}
			}
			k.Lines = append(k.Lines, line)
		}
	}
	f, err := FermentationOf(b, g, c, on)
	if err != nil {
		return k, err
	}
	k.Risk, k.SeenFermenting = f.Worst, f.SeenFermenting()
	if len(f.Risks) > 0 {
		k.MoisturePct = f.Risks[0].MoisturePct
	}
	k.conclude(f)
	return k, nil
}

func (k *Keeps) conclude(f *Fermentation) {
	for _, l := range k.Lines {
		if l.Leaves != nil && (k.GoBy == "" || l.Leaves.Low < k.GoBy) {
			k.GoBy = l.Leaves.Low
			k.Why = message.F("%s passes %s of %s between %s and %s", standard.SayParameter(l.Parameter), l.Limit, l.Set.SaidTitle(), l.Leaves.Low.Said(), l.Leaves.High.Said())
			if l.Outside {
				k.Why = message.F("%s was outside %s of %s when it was measured on %s", standard.SayParameter(l.Parameter), l.Limit, l.Set.SaidTitle(), l.MeasuredOn.Said())
			}
		}
	}
	switch {
	case k.SeenFermenting:
		k.Why = message.F("somebody saw container %s ferment", f.Risks[0].Container.ContainerID)
	case k.Risk == standard.RiskHigh:
		k.Why = message.F("container %s is likely to ferment: %s", f.Risks[0].Container.ContainerID, f.Risks[0].Why[0])
	case k.GoBy == "":
		k.Why = message.F("nothing says how long it keeps; a laboratory's HMF and diastase would")
	}
	if k.Risk == standard.RiskNotKnown {
		k.Why = message.F("%s; nobody read the moisture of %s of its containers, so the risk that they ferment is not known", k.Why, len(f.Unknown))
	}
}

// ageing forecasts one lot.
type ageing struct {
	g        *Gathered
	climate  *Climate
	storeC   *float64
	now      time.Time
	kinetics heat.Kinetics
}

// line is the forecast for one verdict; false where it is about nothing that
// time uses up, or about a grade that the lot is not of.
func (a *ageing) line(set ledger.Resolved, c *standard.Check, v *standard.LimitVerdict) (KeepLine, bool) {
	ages := v.Limit.Parameter == "hmf" && (v.Limit.Comparator == standard.AtMost || v.Limit.Comparator == standard.Below) ||
		v.Limit.Parameter == "diastase" && (v.Limit.Comparator == standard.AtLeast || v.Limit.Comparator == standard.Above)
	if !ages || v.Outcome == standard.DoesNotApply || v.Limit.Grade != "" && v.Limit.Grade != c.Grade {
		return KeepLine{}, false
	}
	l := KeepLine{
		Set: set, Parameter: v.Limit.Parameter, Grade: v.Limit.Grade,
		Limit: v.Limit.Said(), Clause: v.Limit.Clause, FromMemory: v.FromMemory(),
	}
	value, measured := a.g.worst(l.Parameter, l.Parameter == "hmf")
	if !measured {
		l.Why = message.F("there is no laboratory result to start from")
		return l, true
	}
	l.Value, l.MeasuredOn = value, a.g.day(a.g.last(l.Parameter))
	switch limit := limitIn(v.Limit); {
	case l.Parameter == "hmf" && value > limit, l.Parameter == "diastase" && value < limit:
		l.Outside, l.Leaves = true, &Span{l.MeasuredOn, l.MeasuredOn, l.MeasuredOn}
	case a.storeC == nil:
		l.Why = message.F("the book has no temperature for the place where it stands")
	default:
		l.Leaves, l.Why = a.leaves(l.Parameter, value, limit)
	}
	return l, true
}

// leaves is when a value passes a limit: the heat since it was measured counts
// as hours at the store's temperature.
func (a *ageing) leaves(parameter string, value, limit float64) (*Span, message.Text) {
	until := a.kinetics.HoursUntilHMF
	if parameter == "diastase" {
		until = a.kinetics.HoursUntilDiastase
	}
	hours, err := until(value, limit, *a.storeC)
	if err != nil {
		return nil, ledger.Refusal(err)
	}
	spent, err := a.spent(parameter)
	if err != nil {
		return nil, ledger.Refusal(err)
	}
	return a.span([3]float64{hours.Low - spent, hours.Middle - spent, hours.High - spent})
}

// spent is the heat since a parameter was measured, as hours at the store's
// temperature.
func (a *ageing) spent(parameter string) (float64, error) {
	since := a.g.last(parameter)
	if !a.now.After(since) {
		return 0, nil
	}
	h, err := a.climate.between(a.g.Lot.StoreID, since, a.now)
	if err != nil {
		return 0, err
	}
	reaction := a.kinetics.HMF
	if parameter == "diastase" {
		reaction = a.kinetics.Diastase
	}
	return reaction.EquivalentHours(h, *a.storeC)
}

// span is so many hours from now, for the fastest honey, the middle one and the
// slowest.
func (a *ageing) span(hours [3]float64) (*Span, message.Text) {
	const century = 100 * 365.25 * 24
	if hours[0] >= century {
		return nil, message.F("not within a hundred years")
	}
	day := func(h float64) standard.Date {
		return a.g.day(a.now.Add(time.Duration(min(h, century) * float64(time.Hour))))
	}
	return &Span{day(hours[0]), day(hours[1]), day(hours[2])}, message.Text{}
}

// last is when a parameter was last measured.
func (g *Gathered) last(parameter string) time.Time {
	var at time.Time
	for _, r := range g.results {
		if r.Parameter == parameter && r.At.After(at) {
			at = r.At
		}
	}
	return at
}

// factors turn a limit's unit into the first unit of its parameter.
var factors = func() map[string]float64 {
	m := map[string]float64{}
	for _, p := range standard.Parameters() {
		for _, u := range p.Units {
			m[p.ID+"\x00"+u.Name] = u.Factor.Float64()
		}
	}
	return m
}()

// limitIn is a limit's figure in the first unit of its parameter.
func limitIn(l *standard.Limit) float64 {
	figure, err := standard.ParseDecimal(l.Limit)
	if err != nil {
		return 0 // a rule set with such a limit is refused
	}
	return figure.Float64() * factors[l.Parameter+"\x00"+l.Unit]
}
