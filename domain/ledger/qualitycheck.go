package ledger

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// qualityNames adds the IDs that a body about quality names.
func qualityNames(list []ID, body Body) []ID {
	var ids []ID
	switch x := body.(type) {
	case *RuleSet:
		ids = []ID{x.BuyerID}
	case *Sample:
		ids = []ID{x.LotID, x.RuleSet.RuleSetID}
	case *Check:
		ids = []ID{x.LotID}
		for _, r := range x.RuleSets {
			ids = append(ids, r.RuleSetID)
		}
	case *LotStatus:
		ids = []ID{x.LotID, x.CheckID}
	case *Settlement:
		ids = []ID{x.DispatchID, x.RuleSet.RuleSetID}
		for _, d := range x.Drums {
			ids = append(ids, d.FillID)
		}
	}
	for _, id := range ids {
		if id != (ID{}) {
			list = append(list, id)
		}
	}
	return list
}

// quality checks what is said about whether honey may be sold.
func (c *checker) quality() {
	switch x := c.entry.Body.(type) {
	case *RuleSet:
		c.ruleSet(x)
	case *Sample:
		c.sample(x)
	case *Check:
		c.check(x)
	case *LotStatus:
		c.lotStatus(x)
	case *Settlement:
		c.settlement(x)
	}
}

func (c *checker) ruleSet(r *RuleSet) {
	c.mayName("/buyer_id", r.BuyerID, KindBuyer)
	set, err := r.Compile("own", 1, "")
	if err == nil {
		err = set.Collisions()
	}
	if err != nil {
		c.standardFields(err, "")
	}
}

// fieldOf is where a rule set's own name for a field differs from the entry's.
var fieldOf = map[string]string{"title": "name", "edition": "citation"}

// standardFields takes over what domain/standard found wrong. under is the
// pointer of the object that was handed to it.
func (c *checker) standardFields(err error, under string) {
	fields := standard.FieldErrors(err)
	if len(fields) == 0 {
		c.wrong(under, nil, "%s.", message.Capital(message.Of(err)))
	}
	for _, f := range fields {
		name := f.Field
		if other := fieldOf[name]; other != "" {
			name = other
		}
		var sent any
		if f.Got != "" {
			sent = f.Got
		}
		c.wrong(under+"/"+name, sent, "%s.", message.Capital(f.Want))
	}
}

// Resolved is a rule set found by a reference.
type Resolved struct {
	*standard.RuleSet
	// Root and Entry are of the outfit's own, zero for a published one.
	Root, Entry ID
}

// RuleSet finds what a reference names on a day. A family of editions gives the
// one in force on the day. The error is in words for whoever sent it.
func (b *Book) RuleSet(ref RuleSetRef, on standard.Date) (Resolved, error) {
	if ref.Standard == "" {
		return b.ownRuleSet(ref, on)
	}
	library, err := standard.Published()
	if err != nil {
		return Resolved{}, err
	}
	if set, ok := library.Get(ref.Standard); ok && set.InForce(on) {
		return Resolved{RuleSet: set}, nil
	} else if ok {
		current, _ := library.InForce(set.Family, on)
		return Resolved{}, standard.NotInForceError{RuleSet: set, On: on, Current: current}
	}
	if set, ok := library.InForce(ref.Standard, on); ok {
		return Resolved{RuleSet: set}, nil
	}
	return Resolved{}, message.Errorf("no published rule set has the id %s; GET /v1/standards lists them", message.Quoted(ref.Standard))
}

func (b *Book) ownRuleSet(ref RuleSetRef, on standard.Date) (Resolved, error) {
	e, version := b.RuleSetVersion(ref.RuleSetID, ref.Version)
	if e == nil && ref.Version != 0 {
		return Resolved{}, message.Errorf("the outfit's rule set has no version %s", ref.Version)
	}
	if e == nil {
		return Resolved{}, message.Errorf("the outfit has no rule set with this id in force")
	}
	root := b.rootID(e.ID)
	x := e.Body.(*RuleSet)
	set, err := x.Compile(root.String(), version, b.Name(x.BuyerID))
	if err != nil {
		return Resolved{}, err
	}
	if !set.InForce(on) {
		return Resolved{}, standard.NotInForceError{RuleSet: set, On: on}
	}
	return Resolved{set, root, e.ID}, nil
}

func (c *checker) reference(pointer string, ref RuleSetRef, on standard.Date) (Resolved, bool) {
	field, sent := pointer+"/standard", any(ref.Standard)
	if ref.Standard == "" {
		field, sent = pointer+"/rule_set_id", ref.RuleSetID
	}
	if (ref.Standard == "") == (ref.RuleSetID == (ID{})) {
		c.wrong(pointer, nil, "Name either a published rule set in standard, or the outfit's own in rule_set_id.")
		return Resolved{}, false
	}
	got, err := c.book.RuleSet(ref, on)
	if err != nil {
		f := fault.Field{Pointer: field, Sent: sent, Message: message.F("%s.", message.Capital(message.Of(err)))}
		if early := (standard.NotInForceError{}); errors.As(err, &early) && early.Current != nil {
			f.DidYouMean = early.Current.ID
		}
		c.fields = append(c.fields, f)
		return Resolved{}, false
	}
	return got, true
}

func (c *checker) day() standard.Date { return c.book.dayOf(c.entry.OccurredAt) }

func (b *Book) dayOf(at time.Time) standard.Date {
	return standard.Date(at.In(b.loc).Format(time.DateOnly))
}

func (c *checker) sample(s *Sample) {
	lot := c.names("/lot_id", s.LotID, KindLot)
	_, ok := c.reference("/rule_set", s.RuleSet, c.day())
	if lot != nil && ok && s.Drawn == nil {
		c.clash("/lot_id", s.LotID, "Lot %s had no container by then, so there is nothing to take a sample from. Record its fills first.", c.book.Name(lot.ID))
	}
}

// completeSample draws by the seed, or by the entry's own id, which nobody
// chose. Check says so where it cannot.
func (b *Book) completeSample(e *Entry, s *Sample) error {
	s.Drawn = nil
	set, err := b.RuleSet(s.RuleSet, b.dayOf(e.OccurredAt))
	if err != nil {
		return nil
	}
	seed := s.Seed
	if seed == "" {
		seed = e.ID.String()
	}
	fillOf := map[string]ID{}
	var numbers []string
	for _, id := range b.Basis(s.LotID, e.OccurredAt).Fills {
		number := b.Name(id)
		fillOf[number], numbers = b.rootID(id), append(numbers, number)
	}
	draw, err := set.DrawSample(numbers, seed)
	if err != nil {
		return nil
	}
	s.Drawn = &Drawn{RuleSetName: set.Name(), Plan: draw.Plan.Title, LotSize: draw.LotSize, Numbers: draw.Containers}
	for _, number := range draw.Containers {
		s.Drawn.Containers = append(s.Drawn.Containers, fillOf[number])
	}
	return nil
}

func (c *checker) check(x *Check) {
	lot := c.names("/lot_id", x.LotID, KindLot)
	if today := c.day(); x.On > today {
		c.wrong("/on", string(x.On), "A lot can be checked up to today only; this check names %s.", today)
	}
	seen := map[string]bool{}
	for i, ref := range x.RuleSets {
		at := fmt.Sprintf("/rule_sets/%d", i)
		set, ok := c.reference(at, ref, x.On)
		if !ok {
			continue
		}
		if seen[set.ID] {
			c.wrong(at, set.ID, "This rule set is listed twice.")
		}
		seen[set.ID] = true
	}
	if lot != nil && len(c.book.fills[lot.ID]) == 0 {
		c.clash("/lot_id", x.LotID, "Lot %s has no container yet: there is nothing to check.", c.book.Name(lot.ID))
	}
}

func (c *checker) declares(d standard.Declaration) {
	if _, err := standard.NewEvidence(standard.Lot{Declaration: d}); err != nil {
		for _, f := range standard.FieldErrors(err) {
			c.wrong("/declares/"+strings.TrimPrefix(f.Field, "declaration/"), f.Got, "%s.", message.Capital(f.Want))
		}
	}
}

// figures refuses a reading that no rule set could read: a word that does not
// answer what was looked at, a figure in another scale.
func (c *checker) figures(r *Reading) {
	c.ownParameters(r)
	results, at := r.Results()
	for i, one := range results {
		if one.Parameter == "moisture" || one.Own {
			continue // held against what it can be elsewhere
		}
		if one.Parameter == "hmf" && one.Method == "" {
			continue // said in the words of the trade already
		}
		_, err := standard.NewEvidence(standard.Lot{Results: []standard.Result{one}})
		for _, f := range standard.FieldErrors(err) {
			c.wrong(at[i]+"/"+readingField(at[i], f.Field), f.Got, "%s.", message.Capital(f.Want))
		}
	}
	c.plausible(r)
}

// readingField is what a figure or answer of a reading calls a field of a result.
func readingField(at, field string) string {
	name := field[strings.LastIndex(field, "/")+1:]
	if strings.HasPrefix(at, "/observed") {
		return strings.NewReplacer("parameter", "what", "value", "word").Replace(name)
	}
	return name
}

func (c *checker) lotStatus(x *LotStatus) {
	lot := c.names("/lot_id", x.LotID, KindLot)
	switch {
	case x.Status == StatusHeld && x.Why == "":
		c.wrong("/why", nil, "Why is the lot held? Give one of fermentation_risk, fails_a_limit, finding_unresolved, recall, other.")
	case x.Status != StatusHeld && x.Why != "":
		c.wrong("/why", string(x.Why), "Only a hold takes this. Say it in note.")
	case x.Why == HeldForOther && strings.TrimSpace(x.Note) == "":
		c.wrong("/note", x.Note, "Why is the lot held? With other, say it in a few words.")
	}
	if x.Status != StatusReleased && (x.CheckID != (ID{}) || x.Override || len(x.RuleSets) > 0) {
		c.wrong("/status", string(x.Status), "Only a release names a check or an override. Leave it out.")
	}
	if lot == nil {
		return
	}
	was := c.book.standing(lot.ID, c.ownChain, all)
	switch x.Status {
	case StatusOpen:
		if was.Status == StatusOpen {
			c.clash("/status", string(x.Status), "Lot %s is open already.", c.book.Name(lot.ID))
		} else if was.Status == StatusHeld {
			c.lift(x, lot.ID, was)
		}
	case StatusReleased:
		c.release(x, lot.ID, was)
	}
}

// ownChain reports whether a fact is what the entry corrects.
func (c *checker) ownChain(f *fact) bool { return c.own(f.root.ID) }

// decided is what stands about a lot just before the entry, the entry's own
// chain apart.
func (c *checker) decided(lot ID) Decided {
	at := c.entry.OccurredAt.UnixMicro()
	return c.book.state.decidedBefore(lot, func(f *fact) bool { return f.at <= at }, c.ownChain, all)
}

// lift checks that a hold is lifted on purpose: with a reason, after it was given, and a
// recall and what ferments by a check made after it.
func (c *checker) lift(x *LotStatus, lot ID, was Decided) {
	code := c.book.Name(lot)
	if strings.TrimSpace(x.Note) == "" {
		c.wrong("/note", x.Note, "Lot %s is held (%s, entry %s): say in note how that was settled.", code, was.Why.Text(), was.By.Number)
	}
	if was.Of != (ID{}) {
		c.clash("/status", string(x.Status), "In lot %s is honey of lot %s, which is held (%s, entry %s). Once that hold is lifted, by a check of lot %s, this lot can be released.",
			code, c.book.Name(was.Of), was.Why.Text(), was.By.Number, c.book.Name(was.Of))
		return
	}
	for _, hold := range was.holds {
		if !c.liftOne(x, lot, code, hold) {
			return
		}
	}
}

// liftOne checks that one of the holds of a lot is lifted, and reports whether it is.
func (c *checker) liftOne(x *LotStatus, lot ID, code string, hold *fact) bool {
	why := whyHeld(hold)
	if c.entry.OccurredAt.Before(hold.OccurredAt) {
		c.clash("/occurred_at", c.entry.OccurredAt.Format(time.RFC3339), "Lot %s is held since %s (%s, entry %s): what is dated before that does not lift it.",
			code, message.Instant(hold.OccurredAt.In(c.book.loc)), why.Text(), hold.Number)
		return false
	}
	if !why.needsCheck() {
		return true
	}
	if x.CheckID == (ID{}) {
		c.clash("/check_id", nil, "Lot %s is held (%s, entry %s): only a check made after that lifts it. Check the lot, and release it by that check.", code, why.Text(), hold.Number)
		return false
	}
	if e, _ := c.book.Entry(x.CheckID); e != nil && (e.Number < hold.Number || e.OccurredAt.Before(hold.OccurredAt)) {
		c.clash("/check_id", x.CheckID, "The check (entry %s) was made before lot %s was held (%s, entry %s): check the lot again.", e.Number, code, why.Text(), hold.Number)
		return false
	}
	if unseen := c.book.notLookedAgain(lot, hold); unseen != nil {
		c.clash("/check_id", x.CheckID, "Somebody saw honey of lot %s ferment (entry %s), and nobody looked at container %s since: look, record what is to be seen, and check the lot again.", code, hold.Number, c.book.Name(unseen.ID))
		return false
	}
	return true
}

func (c *checker) release(x *LotStatus, lot ID, was Decided) {
	code := c.book.Name(lot)
	switch {
	case was.Status == StatusReleased && !c.renews(x, was):
		c.clash("/status", string(x.Status), "Lot %s is released already (entry %s).", code, was.By.Number)
		return
	case len(c.book.fills[lot]) == 0:
		c.clash("/lot_id", x.LotID, "Lot %s has no container yet: there is nothing to release.", code)
		return
	case c.book.state.LotStatus(lot).Status == StatusGone:
		c.clash("/lot_id", x.LotID, "Nothing of lot %s is left here to be released.", code)
		return
	case x.Override == (x.CheckID != (ID{})):
		c.wrong("/check_id", nil, "A lot is released either by a check (check_id) or without one, on a manager's word (override, with the reason in note). Give one of the two.")
		return
	}
	if was.Status == StatusHeld {
		c.lift(x, lot, was)
	}
	if x.Override {
		if was.Status != StatusHeld && strings.TrimSpace(x.Note) == "" {
			c.wrong("/note", x.Note, "An override needs its reason, in a few words: the lot's sheet shows it.")
		}
		return
	}
	c.releasedBy(x, lot, code)
}

// renews reports whether a release rests on a check made after the one that stands.
func (c *checker) renews(x *LotStatus, was Decided) bool {
	e, _ := c.book.Entry(x.CheckID)
	return e != nil && e.Number > was.By.Number
}

// releasedBy checks that the check named meets the rule sets chosen and still
// speaks of the lot as it is.
func (c *checker) releasedBy(x *LotStatus, lot ID, code string) {
	root := c.names("/check_id", x.CheckID, KindCheck)
	if root == nil {
		return
	}
	e := c.book.fact(x.CheckID)
	check, ok := e.Body.(*Check)
	if !ok || c.book.rootID(check.LotID) != lot {
		c.wrong("/check_id", x.CheckID, "That check is of another lot, not of %s.", code)
		return
	}
	if why := c.book.Outdated(x.CheckID); !why.IsEmpty() {
		c.clash("/check_id", x.CheckID, "The check (entry %s) no longer counts: %s. Check the lot again.", e.Number, why)
		return
	}
	for i, id := range x.RuleSets {
		if !slices.ContainsFunc(check.Found.Results, func(r RuleSetResult) bool { return r.ID == id }) {
			c.wrong(fmt.Sprintf("/rule_sets/%d", i), id, "The check did not go by this rule set; it went by %s.", strings.Join(check.ruleSetIDs(), ", "))
		}
	}
	for _, r := range check.Found.Results {
		if len(x.RuleSets) > 0 && !slices.Contains(x.RuleSets, r.ID) {
			continue
		}
		if r.Outcome != standard.Meets.String() {
			c.clash("/check_id", x.CheckID, "Lot %s does not meet %s: %s.", code, r.Name, r.whyNot())
		}
		if _, err := c.book.RuleSet(r.ref(), c.day()); err != nil {
			c.clash("/check_id", x.CheckID, "%s.", message.Capital(message.Of(err)))
		}
	}
}

func (x *Check) ruleSetIDs() []string {
	ids := make([]string, len(x.Found.Results))
	for i, r := range x.Found.Results {
		ids[i] = r.ID
	}
	return ids
}

func (r *RuleSetResult) ref() RuleSetRef {
	if r.Entry == (ID{}) {
		return RuleSetRef{Standard: r.ID}
	}
	return RuleSetRef{RuleSetID: r.Entry, Version: r.Version}
}

// whyNot names the lines that keep a lot from meeting a rule set.
func (r *RuleSetResult) whyNot() message.Text {
	var parts []message.Text
	said := map[[2]string]bool{}
	for _, l := range r.Lines {
		line := [2]string{l.Parameter, l.Outcome}
		if l.Outcome != standard.Meets.String() && l.Outcome != standard.DoesNotApply.String() && !said[line] {
			said[line] = true
			parts = append(parts, message.F("%s %s", standard.SayLabelled(l.Parameter, l.Label), standard.SayOutcome(l.Outcome)))
		}
	}
	if len(parts) == 0 {
		return standard.SayOutcome(r.Outcome)
	}
	return message.F("%s", message.Series{Between: ", ", Items: parts})
}

func (c *checker) settlement(x *Settlement) {
	root := c.names("/dispatch_id", x.DispatchID, KindDispatch)
	var price *standard.PriceTerms
	if set, ok := c.reference("/rule_set", x.RuleSet, c.day()); ok {
		if price = set.Price; price == nil {
			c.wrong("/rule_set", x.RuleSet.RuleSetID, "%s has no price, so nothing can be settled by it. Add a price to these limits first.", set.Name())
		}
	}
	if root == nil {
		return
	}
	c.settles(x, root, price)
	dispatch := body[Dispatch](c.book, root.ID)
	sent := map[ID]bool{}
	if dispatch != nil {
		for _, id := range dispatch.Containers {
			sent[c.book.rootID(id)] = true
		}
	}
	seen := map[ID]bool{}
	for i, d := range x.Drums {
		at := fmt.Sprintf("/drums/%d/fill_id", i)
		f := c.names(at, d.FillID, KindFill)
		switch {
		case f == nil:
		case !sent[f.ID]:
			c.wrong(at, d.FillID, "Container %s did not leave with that dispatch.", c.book.Name(f.ID))
		case seen[f.ID]:
			c.wrong(at, d.FillID, "Container %s is listed twice.", c.book.Name(f.ID))
		default:
			seen[f.ID] = true
		}
	}
	c.book.InForceOf(KindSettlement, func(other ID, e *Entry) bool {
		if c.book.rootID(e.Body.(*Settlement).DispatchID) == root.ID && !c.own(other) {
			c.clash("/dispatch_id", x.DispatchID, "That dispatch is settled already (entry %s): correct that entry instead.", e.Number)
		}
		return true
	})
}
