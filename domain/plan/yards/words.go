package yards

import (
	"errors"
	"math"

	"pullbook/domain/message"
	"pullbook/domain/mixed"
)

// each is what kilograms are counted by.
func (p Per) each() message.Text {
	if p == PerSuper {
		return message.F("a super")
	}
	return message.F("a hive")
}

// kgEach is a mass per hive or super, to the place that the figure behind it deserves.
func (p Per) kgEach(kg, to float64) message.Text {
	return message.F("%s %s", message.KgTo{Kg: kg, To: to}, p.each())
}

// untold says why yards cannot be compared, and what would do.
func (a *Asked) untold(err error) message.Text {
	switch {
	case errors.Is(err, mixed.ErrExact):
		return message.F("In each season all yards gave alike, to the gram. Nothing tells one from another: look whether the figures are estimates.")
	case errors.Is(err, errWild):
		return message.F("In some season the yards gather about no level, so that none can be told from it: most gave next to nothing, or far more than the others. Look whether pulls, runs or hive counts are wrong or missing.")
	case len(a.Observations) == 0:
		return message.F("No season says what each yard gave beside the others. What is missing is listed with what to enter.")
	case len(a.Seasons) < fewestSeasons:
		return message.F("One season cannot tell a good yard from a lucky one. The yards can be compared once a second season is in the book.")
	case len(a.Yards) < fewestYards:
		return message.F("Fewer than %s yards have figures. What is of a yard and what of chance shows only beside others.", fewestYards)
	}
	return message.F("Too few yards have figures of more than one season. Each yard that is seen again tells more.")
}

// why says what a proposal rests on.
func (p *Plan) why(y *Proposal) message.Text {
	e := y.Effect
	to := max(p.MarginKg, 0.1)
	var says message.Text
	switch y.Verdict {
	case Move:
		says = message.F("With a chance of %s it gives less than the average yard by more than %s.", chance(e.Worse), p.Per.kgEach(p.MarginKg, to))
	case Keep:
		says = message.F("Only with a chance of %s does it give less than the average yard by more than %s.", chance(e.Worse), p.Per.kgEach(p.MarginKg, to))
	default:
		says = message.F("It may be better than the average yard, or worse by more than %s.", p.Per.kgEach(p.MarginKg, to))
		if e.Worse > p.Question.Probability {
			says = message.F("With a chance of %s it gives less than the average yard by more than %s.", chance(e.Worse), p.Per.kgEach(p.MarginKg, to))
		} else if e.Below > p.Question.Probability {
			says = message.F("It gives less than the average yard, and whether by more than %s is not known.", p.Per.kgEach(p.MarginKg, to))
		}
		if e.SeasonsNeeded > 0 {
			says = message.Join(says, message.F("Three times in four, %s would tell.", message.Plural{N: float64(e.SeasonsNeeded), One: "%s more season", Other: "%s more seasons"}))
		} else {
			says = message.Join(says, message.F("Not even %s more seasons would tell three times in four: so little is between keeping and moving it.", MostSeasonsNeeded))
		}
	}
	if y.Seasons == 1 {
		says = message.Join(message.F("It has figures of one season only, and no yard is to be moved for one season."), says)
	}
	return says
}

// choice says what moving the hives of a yard would promise that is not proposed to be moved.
func (p *Plan) choice(y *Proposal) message.Text {
	return message.F("Moving the hives of %s as well promises %s a season, and loses honey with a chance of %s.",
		message.Verbatim(y.Name), message.RoundKg(y.Effect.GainsKg), chance(y.Effect.Loses))
}

func (a *Asked) hivesSaid(x adjusted) message.Text {
	return message.F("With twice as many hives a yard gives %s %% (± %s) of what it would else give per hive.", percent(1+x.effect), percent(x.off))
}

func (a *Asked) kindSaid(x adjusted) message.Text {
	name := message.Quoted(a.kinds[x.kind])
	if a.Per == PerSuper {
		return message.F("A super %s gives %s %% (± %s) of what one of the commonest kind gives.", name, percent(1+x.effect), percent(x.off))
	}
	return message.F("Where all supers are %s, a hive gives %s %% (± %s) of what it gives with the commonest kind.", name, percent(1+x.effect), percent(x.off))
}

// chance is a chance in percent: no chance that is worked out from figures is nothing, or sure.
func chance(of1 float64) message.Text {
	switch {
	case of1 < 0.01:
		return message.F("less than 1 %%")
	case of1 > 0.99:
		return message.F("more than 99 %%")
	}
	return message.F("%s %%", percent(of1))
}

func percent(share float64) message.Number { return message.Number{V: math.Round(100 * share)} }

// summary says what the plan comes to.
func (p *Plan) summary() []message.Text {
	n := map[Verdict]int{}
	for _, y := range p.Proposals {
		n[y.Verdict]++
	}
	out := []message.Text{message.F("Yards to keep: %s. Yards to move: %s. Yards of which not enough is known: %s.", n[Keep], n[Move], n[Unsure])}
	if len(p.costs) > 0 {
		out = append(out, message.F("What visits cost is counted as honey, beside what they cost at the average yard."))
	}
	if p.BetweenKg == 0 {
		out = append(out, message.F("The seasons of one yard differ as much as the yards do. The figures do not show that any yard is better than another."))
	}
	if h := p.Held; h != nil {
		out = append(out, message.F("Tried on %s that had not been looked at, this comparison was off by %s, the plain average of each yard by %s, and one figure for all yards by %s.",
			message.Plural{N: float64(h.Seasons), One: "%s season", Other: "%s seasons"}, p.Per.kgEach(h.ModelKg, h.ModelKg), p.Per.kgEach(h.PlainKg, h.PlainKg), p.Per.kgEach(h.SameKg, h.SameKg)))
		if h.ModelKg >= h.SameKg {
			out = append(out, message.F("One figure for all yards did as well. Do not move a yard on this comparison alone."))
		}
	}
	return out
}

// Cautions are what has to be known with every comparison of yards.
func (a *Asked) Cautions() []message.Text {
	out := []message.Text{
		message.F("The book sees what came from a yard, not why. Weak hives, swarms and late supers count as the yard's own: look at the hives before moving them."),
		message.F("What moving promises is that the hives stand at an average yard afterwards. There must be such a place, with forage for that many hives."),
		message.F("How many more seasons are needed assumes that yards and seasons go on to differ as much as they did, and that each yard keeps as many hives as it had."),
	}
	if a.Per == PerSuper {
		out = append(out, message.F("Honey per super says how full the supers were, and not how many a yard filled. Count the hives of each yard to compare yards by what they gave."))
	}
	for _, name := range a.Unfinished {
		out = append(out, message.F("Season %s goes on: what is still to be pulled will change this.", message.Verbatim(name)))
	}
	return out
}
