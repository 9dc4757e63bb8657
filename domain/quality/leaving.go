package quality

import (
	"errors"
	"slices"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// farFuture is later than anything the book takes: what the book knows now counts at the
// door, also of days after the one that a dispatch is dated.
var farFuture = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

func dayOf(b *ledger.Book, e *ledger.Entry) standard.Date {
	return standard.Date(e.OccurredAt.In(b.Location()).Format(time.DateOnly))
}

// mostAnswers is how often the lots of a dispatch may be held against a rule set, so that
// it is judged within about a second.
const mostAnswers = 2000

// completeDispatch judges the containers that a dispatch adds to what left, lot by lot, on
// its day. What it cannot find, Check refuses.
func completeDispatch(b *ledger.Book, e *ledger.Entry, d *ledger.Dispatch) error {
	d.Judged = nil
	if d.BeforeBook {
		return nil
	}
	on, climate, answers := dayOf(b, e), ClimateOf(b), 0
	for _, part := range partsOf(b, e) {
		held, err := heldTo(b, part.lot, e, d, on)
		if err != nil {
			return err
		}
		if len(held) == 0 {
			continue
		}
		if answers += len(held); answers > mostAnswers {
			return conflict("/containers", len(d.Containers), message.F("This is held to more than %s rule sets in all, lot by lot: send it in several dispatches.", mostAnswers))
		}
		g, err := gatherUntil(b, part.lot, farFuture)
		if err != nil {
			return err
		}
		evidence, err := g.EvidenceOn(climate, on, part.numbers...)
		if err != nil {
			return err
		}
		for _, h := range held {
			check, err := h.set.Check(evidence, on, h.rule)
			if err != nil {
				return err
			}
			d.Judged = append(d.Judged, leavingOf(part.lot, h.set, &check))
		}
	}
	return nil
}

// part is the containers of one lot among those that leave.
type part struct {
	lot     ledger.ID
	numbers []string
}

func partsOf(b *ledger.Book, e *ledger.Entry) []part {
	var parts []part
	place := map[ledger.ID]int{}
	for _, id := range b.Leaves(e) {
		fill := b.InForce(id)
		if fill == nil || fill.Kind != ledger.KindFill {
			continue
		}
		x := fill.Body.(*ledger.Fill)
		lot := b.Root(x.LotID)
		if l := b.InForce(lot); l == nil || l.Kind != ledger.KindLot {
			continue
		}
		i, ok := place[lot]
		if !ok {
			i = len(parts)
			place[lot], parts = i, append(parts, part{lot: lot})
		}
		if !slices.Contains(parts[i].numbers, x.Container) {
			parts[i].numbers = append(parts[i].numbers, x.Container)
		}
	}
	return parts
}

// bound is a rule set that honey is held to as it leaves, and the decision rule for it.
type bound struct {
	set  ledger.Resolved
	rule standard.DecisionRule
}

// heldTo are the rule sets that a lot is held to as it leaves: those of the check that it
// was released by, the buyer's own limits in force, and that of where the honey goes.
func heldTo(b *ledger.Book, lot ledger.ID, e *ledger.Entry, d *ledger.Dispatch, on standard.Date) ([]bound, error) {
	held, err := releasedBy(b, lot, e, on)
	if err != nil {
		return nil, err
	}
	add := func(set ledger.Resolved) {
		if !slices.ContainsFunc(held, func(h bound) bool { return h.set.ID == set.ID }) {
			held = append(held, bound{set, standard.SimpleAcceptance()})
		}
	}
	b.InForceOf(ledger.KindRuleSet, func(root ledger.ID, r *ledger.Entry) bool {
		if buyer := r.Body.(*ledger.RuleSet).BuyerID; buyer != (ledger.ID{}) && b.Root(buyer) == b.Root(d.BuyerID) {
			if set, notYet := b.RuleSet(ledger.RuleSetRef{RuleSetID: root}, on); notYet == nil {
				add(set)
			}
		}
		return true
	})
	market := d.Market
	if buyer := ledger.Named[ledger.Buyer](b, d.BuyerID); market == "" && buyer != nil {
		market = buyer.Market
	}
	if market == "" {
		return held, nil
	}
	set, err := b.RuleSet(ledger.RuleSetRef{Standard: market}, on)
	if err != nil {
		return nil, conflict("/market", market, message.F("%s.", message.Capital(message.Of(err))))
	}
	add(set)
	return held, nil
}

// releasedBy are the rule sets that a lot was released by, in the edition of the day.
func releasedBy(b *ledger.Book, lot ledger.ID, e *ledger.Entry, on standard.Date) ([]bound, error) {
	d := b.Decided(lot, e.OccurredAt)
	if d.Status != ledger.StatusReleased {
		return nil, nil // Check refuses it
	}
	release, ok := d.By.Body.(*ledger.LotStatus)
	if !ok || release.CheckID == (ledger.ID{}) {
		return nil, nil
	}
	now := b.InForce(release.CheckID)
	if now == nil || now.Kind != ledger.KindCheck {
		return nil, conflict("/containers", nil, message.F("Lot %s was released by a check that was withdrawn since: check the lot again, and release it.", b.Name(lot)))
	}
	check, rule := now.Body.(*ledger.Check), standard.SimpleAcceptance()
	if check.Decision != nil {
		rule = *check.Decision
	}
	var out []bound
	for _, r := range check.Found.Results {
		if len(release.RuleSets) > 0 && !slices.Contains(release.RuleSets, r.ID) {
			continue
		}
		set, err := editionOf(b, &r, on)
		if err != nil {
			return nil, conflict("/containers", nil, message.F("Lot %s was released by %s, which cannot be gone by on %s: %s. Check the lot again, and release it.", b.Name(lot), r.SaidName(), on.Said(), message.Of(err)))
		}
		out = append(out, bound{set, rule})
	}
	return out, nil
}

// editionOf is the edition or version of a check's rule set that holds on a day.
func editionOf(b *ledger.Book, r *ledger.RuleSetResult, on standard.Date) (ledger.Resolved, error) {
	if r.Entry != (ledger.ID{}) {
		return b.RuleSet(ledger.RuleSetRef{RuleSetID: r.Entry}, on)
	}
	set, err := b.RuleSet(ledger.RuleSetRef{Standard: r.ID}, on)
	if early := (standard.NotInForceError{}); errors.As(err, &early) && early.Current != nil {
		return b.RuleSet(ledger.RuleSetRef{Standard: early.Current.ID}, on)
	}
	return set, err
}

func conflict(pointer string, sent any, says message.Text) error {
	return &fault.Error{Code: fault.Conflict, Message: says, Fields: []fault.Field{{Pointer: pointer, Sent: sent, Message: says}}}
}

func leavingOf(lot ledger.ID, set ledger.Resolved, c *standard.Check) ledger.Leaving {
	out := ledger.Leaving{LotID: lot, ID: set.ID, Name: set.Title, Version: set.Version, Outcome: c.Outcome.String()}
	if out.Outcome == standard.Meets.String() {
		return out
	}
	for i := range c.Verdicts {
		if v := &c.Verdicts[i]; v.Outcome > standard.Meets && bindsLot(c, v) {
			out.NotMet = append(out.NotMet, ledger.LeavingLine{Parameter: v.Limit.Parameter, Label: v.Limit.Label(), Outcome: v.Outcome.String(),
				Containers: append(slices.Clone(v.ContainersOutside), v.Unread...), MeasureAgain: v.Reason == standard.ReasonMeasureAgain || v.Reason == standard.ReasonTooOld, Sentence: v.Sentence().String()})
		}
	}
	return out
}

// bindsLot reports whether a line keeps a lot from meeting its rule set: of grades, those
// of the lowest one, below which there is none.
func bindsLot(c *standard.Check, v *standard.LimitVerdict) bool {
	grades := c.RuleSet.Grades
	return v.Limit.Grade == "" || len(grades) > 0 && v.Limit.Grade == grades[len(grades)-1]
}

// stillMeets refuses a release by a check whose figures would not pass any more on the day
// of the release, since time changed them.
func stillMeets(b *ledger.Book, e *ledger.Entry, x *ledger.LotStatus) error {
	why, err := NoLongerMeets(b, x, dayOf(b, e))
	if err != nil || why.IsEmpty() {
		return err
	}
	return conflict("/check_id", x.CheckID, message.F("The check no longer counts: %s. Have the lot measured again, and check it.", why))
}

// NoLongerMeets says why a lot that was, or is to be, released by a check would not meet
// the check's rule sets on a day; empty where it would, or where no check that stands met
// them.
func NoLongerMeets(b *ledger.Book, x *ledger.LotStatus, on standard.Date) (message.Text, error) {
	return DayOf(b, on).noLongerMeets(x)
}

func (d *Day) noLongerMeets(x *ledger.LotStatus) (message.Text, error) {
	b, on := d.book, d.on
	e := b.InForce(x.CheckID)
	if x.Status != ledger.StatusReleased || e == nil || e.Kind != ledger.KindCheck {
		return message.Text{}, nil
	}
	check := e.Body.(*ledger.Check)
	if check.Found == nil || b.Root(check.LotID) != b.Root(x.LotID) || !b.Outdated(e.ID).IsEmpty() {
		return message.Text{}, nil // which the ledger says
	}
	var named []ledger.RuleSetResult
	var sets []ledger.Resolved
	for _, r := range check.Found.Results {
		if r.Outcome != standard.Meets.String() || len(x.RuleSets) > 0 && !slices.Contains(x.RuleSets, r.ID) {
			continue
		}
		if set, err := editionOf(b, &r, on); err == nil {
			named, sets = append(named, r), append(sets, set)
		}
	}
	return asKept(d, "meets still what a check found, "+e.ID.String()+string(e.Digest[:]), x.LotID, sets, func() (message.Text, error) {
		g, err := d.Gather(x.LotID)
		if err != nil {
			return message.Text{}, nil
		}
		rule := standard.SimpleAcceptance()
		if check.Decision != nil {
			rule = *check.Decision
		}
		evidence, err := d.Evidence(x.LotID)
		if err != nil {
			return message.Text{}, err
		}
		for i, set := range sets {
			if now, err := set.Check(evidence, on, rule); err == nil && now.Outcome > standard.Meets {
				l := leavingOf(b.Root(x.LotID), set, &now)
				return message.F("on %s lot %s does not meet %s: %s", on.Said(), g.Lot.Code, named[i].SaidName(), l.WhyNot()), nil
			}
		}
		return message.Text{}, nil
	})
}
