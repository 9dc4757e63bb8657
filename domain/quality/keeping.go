package quality

import (
	"cmp"
	"math"
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

// Roughly is the span as it is told on a day: no more exactly than a forecast can be.
func (s Span) Roughly(on standard.Date) Span {
	return Span{Roughly(s.Low, on), Roughly(s.Middle, on), Roughly(s.High, on)}
}

// How far away a day is told as its month, and as its year.
const (
	monthFromDays = 90
	yearFromDays  = 3 * 365
)

// Roughly is a forecast day as it is told on another: its month ("2027-03") where it is more
// than 90 days away, its year where it is more than three years, either way. The empty
// day stays empty.
func Roughly(d, on standard.Date) standard.Date {
	at, errAt := time.Parse(time.DateOnly, string(d))
	from, errFrom := time.Parse(time.DateOnly, string(on))
	if errAt != nil || errFrom != nil {
		return d
	}
	switch days := math.Abs(at.Sub(from).Hours() / 24); {
	case days > yearFromDays:
		return standard.Date(at.Format("2006"))
	case days > monthFromDays:
		return standard.Date(at.Format("2006-01"))
	}
	return d
}

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
	// On is the day that was asked about, from which days are told roughly.
	On standard.Date
	// StoreC is the temperature that does to honey what the store's year does, and
	// StoreBasis where that is from.
	StoreC     *float64
	StoreBasis message.Text
	Lines      []KeepLine
	// Acidity says which way the days of its HMF err, since they do not reckon with
	// acidity; empty where its own results tell its rate, or there is no such day.
	Acidity message.Text
	Risk    standard.FermentationRisk
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
	return DayOf(b, on).Keeping(lots, sets)
}

// Keeping is Keeping on the day.
func (d *Day) Keeping(lots []ledger.ID, sets []ledger.Resolved) ([]Keeps, error) {
	b := d.book
	out := []Keeps{}
	for _, id := range lots {
		held := b.State().LotMass(id).HeldG
		if held == 0 {
			continue
		}
		k, err := asKept(d, "keeps", id, sets, func() (Keeps, error) {
			g, err := d.Gather(id)
			if err != nil {
				return Keeps{}, err
			}
			return keepsOf(b, g, d.climate, sets, d.on)
		})
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
	k := Keeps{LotID: g.LotID, Code: g.Lot.Code, On: on}
	k.StoreC, k.StoreBasis = c.ahead(g.Lot.StoreID)
	a := ageing{g: g, climate: c, kinetics: KineticsOf(g, c)}
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
			if line.Parameter == "hmf" && line.Leaves != nil && !line.Outside && a.kinetics.HMF == g.kindsKinetics().HMF {
				k.Acidity = g.acidity(b)
			}
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
			k.Why = l.passes(k.On)
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

// passes says when it leaves its limit, as it is told on a day.
func (l *KeepLine) passes(on standard.Date) message.Text {
	told := l.Leaves.Roughly(on)
	return message.F("%s passes %s of %s between %s and %s", standard.SayParameter(l.Parameter), l.Limit, l.Set.SaidTitle(), told.Low.Said(), told.High.Said())
}

// ageing forecasts one lot.
type ageing struct {
	g        *Gathered
	climate  *Climate
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
	default:
		l.Leaves, l.Why = a.leaves(l.Parameter, value, limit)
	}
	return l, true
}

// leaves is when a value passes a limit: over what was logged since it was measured, and the
// store's year from there on.
func (a *ageing) leaves(parameter string, value, limit float64) (*Span, message.Text) {
	o, err := a.outlook(parameter)
	if err != nil {
		return nil, ledger.Refusal(err)
	}
	since := a.g.last(parameter)
	var when [3]time.Time
	for _, pace := range heat.Paces {
		at, ok := o.Reaches(pace, since, exposureTo(parameter, value, limit))
		if !ok {
			at = never
		}
		when[pace] = at
	}
	return a.span(when)
}

// outlook is what the store does to a parameter.
func (a *ageing) outlook(parameter string) (*heat.Outlook, error) {
	reaction := a.kinetics.HMF
	if parameter == "diastase" {
		reaction = a.kinetics.Diastase
	}
	return a.climate.outlook(a.g.Lot.StoreID, reaction)
}

// never stands for a day that no honey sees.
var never = time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)

// span is the days of a slow, a middle and a fast honey; a slow one that never passes the limit
// has a day a hundred years after the fast one.
func (a *ageing) span(when [3]time.Time) (*Span, message.Text) {
	low := when[heat.Fast]
	if !low.Before(never) {
		return nil, message.F("not within a hundred years")
	}
	day := func(pace heat.Pace) standard.Date {
		if last := low.AddDate(100, 0, 0); when[pace].After(last) {
			return a.g.day(last)
		}
		return a.g.day(when[pace])
	}
	return &Span{day(heat.Fast), day(heat.Middling), day(heat.Slow)}, message.Text{}
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
