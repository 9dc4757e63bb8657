package pages

import (
	"math"
	"time"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// ruleSetVerdict is what one rule set says of a lot today.
type ruleSetVerdict struct {
	Name certificate.SetName
	mark
	Grade, NextGrade string
	// Between are the lines that keep the lot from the next grade.
	Between []limitLine
	Lines   []limitLine
	// Beside counts the lines that do not apply to this lot.
	Beside int
	// Notices are what has to be known besides: rounding, sampling, memory.
	Notices []string
}

// limitLine is one limit: what was measured, against what, and what follows.
type limitLine struct {
	Parameter, Grade, Value, Limit, Margin, Why string
	Clause                                      certificate.Quoted
	mark
	FromMemory bool
}

func verdictOf(f locale.Voice, set ledger.Resolved, check *standard.Check) ruleSetVerdict {
	v := ruleSetVerdict{
		Name: certificate.NameOfSetEdition(f, set.Title, set.Edition, set.Version), mark: outcome(f, check.Outcome.String()),
		Grade: standard.SayGrade(check.Grade).In(f), NextGrade: standard.SayGrade(check.NextGrade).In(f),
		Notices: f.SayEach(check.Notices()),
	}
	for _, i := range check.StandsBetween {
		v.Between = append(v.Between, limitLineOf(f, &check.Verdicts[i], set.Own()))
	}
	for i := range check.Verdicts {
		if check.Verdicts[i].Outcome == standard.DoesNotApply {
			v.Beside++
			continue
		}
		v.Lines = append(v.Lines, limitLineOf(f, &check.Verdicts[i], set.Own()))
	}
	return v
}

func limitLineOf(f locale.Voice, v *standard.LimitVerdict, own bool) limitLine {
	l := limitLine{
		Parameter: v.Limit.SaidParameter().In(f), Grade: standard.SayGrade(v.Limit.Grade).In(f), Value: locale.Missing, Margin: locale.Missing,
		Limit: v.Limit.Said().In(f), Clause: certificate.Quote(f, standard.SayClause(v.Limit.Clause), own), Why: v.Why().In(f), mark: outcome(f, v.Outcome.String()), FromMemory: v.FromMemory(),
	}
	if !v.HasValue {
		return l
	}
	value, margin := v.Shown()
	l.Value, l.Margin = f.Say("%s", value.Said()), f.Say("%s", margin.Said())
	switch {
	case v.Low.Cmp(v.High) != 0 && v.MeasuredOn != "": // carried to this day, by the slowest and the fastest honey
		l.Value = f.Say("between %s and %s", v.Low.Short().Said(), value.Said())
	case v.Low.Cmp(v.High) != 0:
		l.Value = f.Say("less than %s", value.Said())
	}
	if v.UncertaintyKnown {
		// Twice the standard uncertainty: about 95 in 100 lie within.
		l.Value += " ± " + f.Number(2*v.StdUncertainty, max(1, int(value.Places())))
	}
	return l
}

// fermentingView is how likely a lot is to ferment.
type fermentingView struct {
	Worst mark
	Store string
	// First are the containers that would ferment first, More the rest.
	First, More []fermentingLine
}

type fermentingLine struct {
	Container, Moisture, Basis string
	Risk                       mark
	Why, Lower                 []string
}

// mostFermenting containers, the wettest, are shown with all that would help.
const mostFermenting = 1

func fermentingOf(f locale.Voice, x *quality.Fermentation) fermentingView {
	v := fermentingView{}
	if x.StoreC != nil {
		v.Store = f.Celsius(*x.StoreC)
	}
	if len(x.Risks) > 0 {
		v.Worst = riskSeen(f, x.Worst, x.SeenFermenting())
	}
	for i, r := range x.Risks {
		line := fermentingLine{Container: r.Container.ContainerID, Moisture: locale.Missing, Basis: basis(f, r.Basis), Risk: riskSeen(f, r.Risk, r.Container.SeenFermenting)}
		if r.MoisturePct != nil {
			line.Moisture = f.Say("%s", r.MoisturePct.Said())
		}
		for _, w := range r.Why {
			line.Why = append(line.Why, w.In(f))
		}
		if i >= mostFermenting {
			v.More = append(v.More, line)
			continue
		}
		for _, l := range r.Lower {
			line.Lower = append(line.Lower, l.Text.In(f))
		}
		v.First = append(v.First, line)
	}
	return v
}

// basis says where a moisture is from.
func basis(f locale.Voice, of quality.MoistureBasis) string {
	switch of {
	case quality.SampleOfLot:
		return f.Say("read on a sample of the lot")
	case quality.WettestExpected:
		return f.Say("expected of the wettest that was not read")
	case quality.TankEstimate:
		return f.Say("estimate from its tank")
	case quality.NotRead:
		return f.Say("nobody read it")
	}
	return f.Say("read on it")
}

// keepingView is how long a lot keeps.
type keepingView struct {
	// Here is false where nothing of the lot is here.
	Here                      bool
	Store, GoBy, Why, Acidity string
	Lines                     []keepingLine
}

// keepingLine is when one limit is passed, as a band from From to To, drawn over
// the years from now.
type keepingLine struct {
	Parameter, Limit       string
	RuleSet, Clause        certificate.Quoted
	Low, Middle, High, Why string
	FromMemory             bool
	// X, Width and At place the band in a drawing of bandWidth.
	X, Width, At string
}

const bandWidth = 200

func keepingOf(f locale.Voice, kept []quality.Keeps, on standard.Date) keepingView {
	if len(kept) == 0 {
		return keepingView{}
	}
	k := kept[0]
	v := keepingView{Here: true, Store: k.StoreBasis.In(f), GoBy: goBy(f, k), Why: k.Why.In(f), Acidity: k.Acidity.In(f)}
	furthest := 0.0
	for _, l := range k.Lines {
		if l.Leaves != nil {
			furthest = math.Max(furthest, daysApart(on, l.Leaves.High))
		}
	}
	for _, l := range k.Lines {
		line := keepingLine{Parameter: standard.SayParameter(l.Parameter).In(f), Limit: l.Limit.In(f), RuleSet: certificate.Quote(f, l.Set.SaidTitle(), l.Set.Own()), Clause: certificate.Quote(f, standard.SayClause(l.Clause), l.Set.Own()), FromMemory: l.FromMemory, Why: l.Why.In(f)}
		if x := l.Leaves; x != nil {
			told := x.Roughly(on)
			line.Low, line.Middle, line.High = f.Date(string(told.Low)), f.Date(string(told.Middle)), f.Date(string(told.High))
			place := func(d standard.Date) float64 {
				return bandWidth * math.Max(0, daysApart(on, d)) / math.Max(furthest, 1)
			}
			line.X, line.At = message.Plain(place(x.Low), 1), message.Plain(place(x.Middle), 1)
			line.Width = message.Plain(math.Max(3, place(x.High)-place(x.Low)), 1)
		}
		v.Lines = append(v.Lines, line)
	}
	return v
}

func daysApart(from, to standard.Date) float64 {
	a, errA := time.Parse(time.DateOnly, string(from))
	b, errB := time.Parse(time.DateOnly, string(to))
	if errA != nil || errB != nil {
		return 0
	}
	return b.Sub(a).Hours() / 24
}
