package rest

import (
	"math"

	"pullbook/domain/message"
)

// Said is the answer in a sentence or two, and says where nothing holds up the work.
func (a *Asked) Said(p *Plan) message.Text {
	if p.Endless > 0.5 {
		return message.F("At this pace the season is not over within a year. Look at what holds up the work.")
	}
	day := func(hours float64) message.Day { return message.Day(a.House.At(hours)) }
	ends := message.F("The last honey of season %s is in its container about %s; in nine of ten cases between %s and %s.", a.Season, day(p.Ends.Middle), day(p.Ends.Low), day(p.Ends.High))
	if a.Before == 0 {
		ends = message.F("The last honey that is known of in season %s is in its container about %s. The book has no earlier season whole, so it cannot tell how much later the season may end.", a.Season, day(p.Ends.Middle))
	}
	if len(p.Binds) > 0 {
		return ends
	}
	return message.Join(ends, message.F("Nothing in the house holds up the work: supers come in as the yards give them, and the house keeps up."))
}

// SaidDrums says how many drums it takes, or containers of the kind that takes most of the honey.
func (a *Asked) SaidDrums(p *Plan) message.Text {
	need := message.F("It takes about %s, and in nine of ten cases from %s to %s.", message.Plural{N: p.Drums.Middle, One: "%s drum", Other: "%s drums"}, whole(p.Drums.Low), whole(p.Drums.High))
	if a.drum != "" {
		need = message.F("It takes about %s of kind %s, and in nine of ten cases from %s to %s.", message.Plural{N: p.Drums.Middle, One: "%s container", Other: "%s containers"}, message.Quoted(a.drum), whole(p.Drums.Low), whole(p.Drums.High))
	}
	if a.Before == 0 && !a.Counted {
		need = message.F("What is known of takes about %s.", message.Plural{N: p.Drums.Middle, One: "%s drum", Other: "%s drums"})
		if a.drum != "" {
			need = message.F("What is known of takes about %s of kind %s.", message.Plural{N: p.Drums.Middle, One: "%s container", Other: "%s containers"}, message.Quoted(a.drum))
		}
	}
	if p.ToOrder == nil {
		return message.Join(need, message.F("The book does not know how many empty ones are here."))
	}
	if a.Before == 0 && !a.Counted {
		if p.ToOrder.Middle == 0 {
			return message.Join(need, message.F("Those on hand do for that."))
		}
		return message.Join(need, message.F("With those on hand, about %s are to be ordered for that.", whole(p.ToOrder.Middle)))
	}
	if p.ToOrder.High == 0 {
		return message.Join(need, message.F("Those on hand do in all but one of twenty cases."))
	}
	return message.Join(need, message.F("With those on hand, %s to order are enough in all but one of twenty cases.", whole(p.ToOrder.High)))
}

func whole(v float64) message.Number { return message.Number{V: v} }

// Said says how a way holds up the work.
func (b Bind) Said(h *House) message.Text {
	day, part := message.Day(h.At(b.From)), percent(b.Ever)
	switch b.Way {
	case HotRoom:
		return message.F("The hot rooms are full in %s of the cases, first about %s: supers that could be pulled wait on the yards.", part, day)
	case Trucks:
		return message.F("More supers could be pulled than come in on the busiest day so far in %s of the cases, first about %s.", part, day)
	case Line:
		return message.F("The line is more than a day behind in %s of the cases, first about %s: dry supers wait for it.", part, day)
	case Tanks:
		return message.F("No tank has room in %s of the cases, first about %s: the line stands until one is filled from.", part, day)
	case Drums:
		return message.F("The containers on hand are used up in %s of the cases, first about %s: honey waits in the tanks, and once they are full the line stands.", part, day)
	}
	return message.Text{}
}

// percent is a part of one as a percentage; little and nearly all are not rounded away.
func percent(part float64) message.Text {
	if part < 1 {
		part = min(0.99, max(0.01, part))
	}
	return message.F("%s %%", whole(math.Round(100*part)))
}

// Said says what one thing more would save.
func (s Saving) Said() message.Text {
	what := message.F("As much room again in the hot rooms")
	switch s.More {
	case EveningShift:
		what = message.F("An evening shift of %s hours on each working day", eveningShiftHours)
	case AnotherTank:
		what = message.F("Another tank like the largest")
	case AnotherLine:
		what = message.F("Another line like this one")
	case AnotherTruck:
		what = message.F("As many supers again a day by truck")
	case MoreDrums:
		what = message.F("A stock of %s more empty containers", moreDrums)
	}
	switch {
	case math.Abs(s.Mean) < worthDays && s.Days.High < 1:
		return message.F("%s saves nothing.", what)
	case s.Days.Low < -worthDays:
		return message.F("%s saves %s on average. It may cost %s, and may save %s.", what, days(s.Mean), days(-s.Days.Low), days(s.Days.High))
	}
	return message.F("%s saves %s on average, and in nine of ten cases from %s to %s.", what, days(s.Mean), days(s.Days.Low), days(s.Days.High))
}

// worthDays is what a tenth of a day is rounded from.
const worthDays = 0.05

func days(v float64) message.Plural {
	return message.Plural{N: rounded(v, 1), One: "%s day", Other: "%s days"}
}

// SaidByThumb is what a rule of thumb says, for comparison.
func (a *Asked) SaidByThumb() message.Text {
	return message.F("So many supers left over so many a day so far would be %s. The plan knows of the days on which supers come in, of waits and of tanks.", days(a.ByThumb))
}

func tenths(v float64) message.Number { return message.Number{V: v, Places: -1} }

// Said says what a thing that is otherwise would change.
func (t Turn) Said() message.Text {
	what := message.F("If a quarter more supers are out than thought")
	switch t.What {
	case FifthSlowerLine:
		what = message.F("If the line takes a fifth fewer supers in an hour")
	case DayLongerDrying:
		what = message.F("If supers have to dry a day longer")
	}
	if math.Abs(t.Days) < worthDays {
		return message.F("%s, the season ends on the same day.", what)
	}
	if t.Days < 0 {
		return message.F("%s, the season ends %s earlier.", what, days(-t.Days))
	}
	return message.F("%s, the season ends %s later.", what, days(t.Days))
}

// Said says why a yard may be pulled next.
func (y *NextYard) Said() message.Text {
	out := []message.Text{message.F("%s: about %s may be pulled there.", y.Name, message.Plural{N: math.Round(y.Supers), One: "%s super", Other: "%s supers"})}
	if y.Days == soonDays {
		out[0] = message.F("%s: about %s may be pulled there within two weeks.", y.Name, message.Plural{N: math.Round(y.Supers), One: "%s super", Other: "%s supers"})
	}
	if y.PulledAt.IsZero() {
		out = append(out, message.F("It was not pulled this season."))
	} else {
		out = append(out, message.F("It was last pulled on %s.", message.Day(y.PulledAt)))
	}
	switch {
	case y.MoisturePct == nil:
		out = append(out, message.F("Its honey was not read this season."))
	case y.Wet():
		out = append(out, message.F("Its honey was last read at %s %%: let it ripen, or plan for drying.", tenths(*y.MoisturePct)))
	default:
		out = append(out, message.F("Its honey was last read at %s %%.", tenths(*y.MoisturePct)))
	}
	return message.Join(out...)
}

// Figure is the figure in words.
func (b Basis) Figure() message.Text {
	figure := message.Number{V: b.Value, Places: -1}
	switch b.Unit {
	case "kg":
		return message.F("%s", message.Kg(b.Value))
	case "kg/h":
		return message.F("%s an hour", message.Kg(b.Value))
	case "1/h":
		return message.F("%s an hour", figure)
	case "h":
		return message.F("%s h", figure)
	case "%":
		return message.F("%s %%", figure)
	}
	return message.F("%s", figure)
}

// Cautions are what has to be known with the answer.
func (a *Asked) Cautions() []message.Text {
	return append([]message.Text{
		message.F("This is played from what was recorded so far. Weather, a late flow and a broken pump are not in it."),
		message.F("The book is not told how many supers are put out on the yards. Say how many are out where you counted them."),
		message.F("A super is pulled when its honey is ripe, and not because the plan has room for it: read its honey first."),
	}, a.notes...)
}
