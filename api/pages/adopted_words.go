package pages

import (
	"math"
	"time"

	"pullbook/api/locale"
	"pullbook/domain/chance"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan/held"
)

// stepShown is a step of a plan with how it stands. When is empty where no time was planned.
type stepShown struct {
	Says, When, State string
	By                []entryLink
	More              string
}

// mostBy is how many entries are named for a step.
const mostBy = 6

func stepShownOf(f locale.Voice, s *held.Step, l links) stepShown {
	out := stepShown{Says: s.Said().In(f), State: stepState(f, s)}
	if s.At != nil {
		out.When = f.Minute(*s.At)
	}
	var more int
	if out.By, more = l.some(f, s.By, mostBy); more > 0 {
		out.More = f.Say("and %s more", more)
	}
	return out
}

func stepState(f locale.Voice, s *held.Step) string {
	switch {
	case s.Logged != nil:
		return f.Say("logged %s at %s", message.Celsius(math.Round(10*s.Logged.TemperatureC)/10), message.Minute(s.Logged.At))
	case s.Lapsed:
		return f.Say("nobody recorded it, and its time is over")
	case s.Done && s.PlanStep.Count > 0:
		return f.Say("done: %s", s.Count)
	case s.Done:
		return f.Say("done")
	case s.Count > 0:
		return f.Say("%s of %s so far", s.Count, s.PlanStep.Count)
	}
	return f.Say("left to do")
}

// figureShown is a figure that was expected, beside what came. When is empty where no time was said.
type figureShown struct{ Name, When, Expected, Came, Says string }

func figureShownOf(f locale.Voice, x *held.Figure) figureShown {
	out := figureShown{Name: figureName(f, x), Expected: figureIn(f, x, x.Value), Came: locale.Missing, Says: figureSays(f, x)}
	if x.At != nil {
		out.When = f.Minute(*x.At)
	}
	switch {
	case x.Low != nil && x.High != nil:
		out.Expected = f.Say("%s (%s to %s)", out.Expected, figureIn(f, x, *x.Low), figureIn(f, x, *x.High))
	case x.Low != nil:
		out.Expected = f.Say("%s (at least %s)", out.Expected, figureIn(f, x, *x.Low))
	case x.High != nil:
		out.Expected = f.Say("%s (at most %s)", out.Expected, figureIn(f, x, *x.High))
	}
	if x.Came != nil {
		out.Came = figureIn(f, x, *x.Came)
	}
	return out
}

func figureName(f locale.Voice, x *held.Figure) string {
	switch x.Figure {
	case ledger.PlanTemperature:
		return f.Say("temperature of %s", x.About)
	case ledger.PlanHMF:
		return f.Say("HMF of %s", x.About)
	case ledger.PlanDiastase:
		return f.Say("diastase of %s", x.About)
	case ledger.PlanExtracted:
		return f.Say("supers extracted since then")
	case ledger.PlanFilled:
		return f.Say("containers filled since then")
	case ledger.PlanDaysLeft:
		return f.Say("the last super is empty")
	case ledger.PlanPerHive:
		return f.Say("honey per hive of %s in the next season", x.About)
	case ledger.PlanDelivered:
		return f.Say("honey sent to %s", x.About)
	}
	return f.Say("paid by %s", x.About)
}

// figureIn is a value of a figure as people read it.
func figureIn(f locale.Voice, x *held.Figure, v float64) string {
	switch x.Figure {
	case ledger.PlanTemperature:
		return f.Celsius(math.Round(10*v) / 10)
	case ledger.PlanHMF:
		return f.Say("%s mg/kg", message.Number{V: v, Places: 1})
	case ledger.PlanDiastase:
		return f.Say("%s Gothe", message.Number{V: v, Places: 1})
	case ledger.PlanDaysLeft:
		return f.Day(x.From.Add(time.Duration(v * 24 * float64(time.Hour))))
	case ledger.PlanPerHive, ledger.PlanDelivered:
		return f.Kg(v)
	case ledger.PlanPaid:
		return f.Money(int64(math.Round(v)), x.Currency)
	}
	return f.Number(v, 0)
}

// figureSays says how what came stands against what was expected.
func figureSays(f locale.Voice, x *held.Figure) string {
	switch {
	case x.Came == nil && x.Open:
		return f.Say("not known yet")
	case x.Came == nil:
		return f.Say("nobody recorded it")
	case x.Open:
		return f.Say("so far")
	case x.Reckoned:
		return f.Say("as the book reckons it from the log; nobody measured it")
	case x.Outside():
		return f.Say("outside what was expected; the difference: %s", chance.InWords(x.Chance))
	}
	return f.Say("as expected")
}
