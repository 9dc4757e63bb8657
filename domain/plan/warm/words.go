package warm

import (
	"time"

	"pullbook/domain/message"
	"pullbook/domain/quality"
)

// Said says a way's steps: how long, and at which set point.
func (w *Way) Said() message.Text {
	if w.HottestC == Off {
		return message.F("It needs no heat.")
	}
	steps := w.Steps
	if last := len(steps) - 1; steps[last].SetC == Off {
		steps = steps[:last]
	}
	var out message.List
	for _, s := range steps {
		hours := message.Plural{N: float64(s.Hours), One: "%s hour", Other: "%s hours"}
		if s.SetC == Off {
			out = append(out, message.F("wait %s", hours))
		} else {
			out = append(out, message.F("hold %s for %s", message.Celsius(float64(s.SetC)), hours))
		}
	}
	return message.F("%s, then switch off.", message.Capital(message.F("%s", out)))
}

// Said says why there is no course, and what there is instead. from is when the plan begins.
func (i *Impossible) Said(hottestC int, from time.Time) message.Text {
	hottest := message.Celsius(float64(hottestC))
	var out message.Text
	if i.EarliestHour > 0 {
		out = message.F("It cannot be done by then at %s or less: it takes until %s.", hottest, message.Minute(from.Add(time.Duration(i.EarliestHour)*time.Hour)))
	} else {
		out = message.F("It cannot be done at %s or less, however long it takes.", hottest)
	}
	if i.Way == nil {
		return message.Join(out, message.F("No set point that is safe for the honey does it in time."))
	}
	return message.Join(out, message.F("If it must be done by then, %s is the least that does it.", message.Celsius(float64(i.Way.HottestC))))
}

// Said says what would change a plan.
func (t *Turn) Said() message.Text {
	var where message.Text
	at, now := t.Shown()
	v, is := message.Number{V: at, Places: -2}, message.Number{V: now, Places: -2}
	switch {
	case t.Of == LossOf && t.Room && t.Above:
		where = message.F("If the room loses %s W a kelvin or more instead of %s", v, is)
	case t.Of == LossOf && t.Room:
		where = message.F("If the room loses %s W a kelvin or less instead of %s", v, is)
	case t.Of == LossOf && t.Above:
		where = message.F("If the tank loses %s W a kelvin or more instead of %s", v, is)
	case t.Of == LossOf:
		where = message.F("If the tank loses %s W a kelvin or less instead of %s", v, is)
	case t.Of == CrystalsOf && t.Above:
		where = message.F("If %s %% of the honey or more has set instead of %s %%", v, is)
	case t.Of == CrystalsOf:
		where = message.F("If %s %% of the honey or less has set instead of %s %%", v, is)
	case t.Above:
		where = message.F("If the honey begins at %s or warmer instead of %s", message.Celsius(at), message.Celsius(now))
	default:
		where = message.F("If the honey begins at %s or colder instead of %s", message.Celsius(at), message.Celsius(now))
	}
	switch t.Changes {
	case Late:
		return message.F("%s, the best way is more likely late than in time.", where)
	case Never:
		return message.F("%s, no set point that is allowed brings it there in time as surely as asked.", where)
	}
	return message.F("%s, this is better: %s", where, t.Way.Said())
}

// Cautions are what has to be known with an answer.
func (a *Asked) Cautions(answer *Answer) []message.Text {
	hottest := 0
	for _, w := range answer.ways() {
		hottest = max(hottest, w.HottestC)
	}
	out := []message.Text{quality.CautionEstimate, quality.CautionInfants}
	if hottest > quality.ScaldsFromC {
		out = append(out, quality.CautionScald)
	}
	out = append(out, quality.CautionHeater)
	if _, stands := a.Spec.Vessel.(Containers); stands {
		out = append(out, quality.CautionStanding)
	} else {
		out = append(out, message.F("This is for a tank that is stirred. Where it stands still, set honey at its core melts a day or more later, and the honey at the heated wall is hotter."))
	}
	if a.Spec.Aim.State == Pumpable {
		out = append(out, quality.CautionThixotropic)
	}
	if a.Spec.Aim.State == YeastKilled {
		out = append(out, message.F("The holding times are those that packers are advised. What ferments already is not made good by heat."))
	} else {
		out = append(out, message.F("How long set honey takes to be liquid is known within a factor of four. Look at it before the time is over, and warm on where it needs it."))
	}
	return append(out, quality.CautionSensor, message.F("Local rules prevail over every limit named here."))
}

// ways are all that an answer has.
func (a *Answer) ways() (out []*Way) {
	for i := range a.Choices {
		out = append(out, &a.Choices[i])
	}
	for _, w := range []*Way{a.Hottest, a.AsNow, a.DayMore} {
		if w != nil {
			out = append(out, w)
		}
	}
	if a.Impossible != nil && a.Impossible.Way != nil {
		out = append(out, a.Impossible.Way)
	}
	return out
}
