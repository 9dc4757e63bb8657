package plan

import (
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// UnitOf is the unit of a parameter's figures in a plan: its first.
func UnitOf(parameter string) string {
	for _, p := range standard.Parameters() {
		if p.ID == parameter && len(p.Units) > 0 {
			return p.Units[0].Name
		}
	}
	return ""
}

// BlendCautions are what has to be known with every plan of a blend.
func BlendCautions() []message.Text {
	return []message.Text{
		message.F("This is worked out from what the book knows of each honey. Sample the blend once it is mixed: where a limit decides about a sale, an accredited laboratory decides."),
		message.F("A mix that stands in layers is none: stir it, and let it settle before it is filled."),
		message.F("Honey that ferments spoils what it is mixed with, and crystals seed it. Look at every container before it goes in."),
	}
}

// Said says why there is no blend.
func (i *Impossible) Said() message.Text {
	switch {
	case i.Unknown:
		return message.F("The time was over before a blend was found. Ask for fewer limits, or more kilograms to choose between.")
	case i.TooLittle:
		return message.F("The honey that may go in comes to %s, and no whole containers and parts of tanks of it come to what is asked for.", message.Kg(i.HaveKg))
	case len(i.Alone) > 0:
		return message.F("No blend keeps to all limits. Each of these changes alone would do.")
	case len(i.Together) > 0:
		return message.F("No blend keeps to all limits, and no change of one of them would do. Together these would.")
	}
	return message.F("No blend keeps to all limits.")
}

// Said says where an end of a limit would have to be, rounded to the side that does.
func (c Change) Said() message.Text {
	figure, unit := message.Significant(c.To, 4), standard.SayUnit(UnitOf(c.Limit.Parameter))
	if c.Upper {
		return message.F("%s of at most %s %s", standard.SayParameter(c.Limit.Parameter), figure, unit)
	}
	return message.F("%s of at least %s %s", standard.SayParameter(c.Limit.Parameter), figure, unit)
}

// Said says how much honey would have to be bought, and of which kind.
func (p *Purchase) Said() message.Text {
	var is message.List
	for _, b := range p.Is {
		is = append(is, message.F("%s of %s %s", standard.SayParameter(b.Parameter), message.Significant(b.Figure, 3), standard.SayUnit(UnitOf(b.Parameter))))
	}
	if len(is) == 0 {
		return message.F("%s of honey more would do.", message.Kg(p.Kg))
	}
	return message.F("%s of honey bought in would do, if it has %s.", message.Kg(p.Kg), is)
}
