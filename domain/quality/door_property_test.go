package quality_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/standard"
)

// Whatever is recorded in whatever order, no container leaves that is on hold, was not read,
// or fails what it is held to, unless a manager's reason stands in the book that was given
// after the last such fact. The test goes over the entries by itself, from the rules.
func TestNothingLeavesThatMayNot(t *testing.T) {
	t.Parallel()
	left, word, old := 0, 0, 0
	rapid.Check(t, func(rt *rapid.T) {
		d := &door{house: newHouse(t, nil), rt: rt}
		if rapid.Bool().Draw(rt, "old sheets") {
			d.oldSheets()
		}
		d.at(10, contractOfWater(d.Buyer))
		d.set = d.at(11, contractOfWater(ledger.ID{}))
		if rapid.Bool().Draw(rt, "released to begin with") {
			d.ready()
		}
		if d.sheets && rapid.Bool().Draw(rt, "one drum left before the book") {
			d.sends(ledger.Entry{OccurredAt: ledgertest.At(30), Body: d.beforeBook(3)}, 3)
		}
		for range rapid.IntRange(6, 30).Draw(rt, "entries") {
			d.step()
		}
		left, word, old = left+d.left, word+d.word, old+d.old
	})
	if left == 0 || word+old == left || old == 0 {
		t.Errorf("%d dispatches left, %d of them on a manager's word, %d before the book began: nothing was tried", left, word, old)
	}
	t.Logf("%d dispatches left, %d of them on a manager's word, %d before the book began", left, word, old)
}

// contractOfWater wants each drum read, and of 18 % of water at most.
func contractOfWater(buyer ledger.ID) *ledger.RuleSet {
	name := "any buyer"
	if buyer != (ledger.ID{}) {
		name = "this buyer"
	}
	return &ledger.RuleSet{Name: name, BuyerID: buyer, Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "18.0", Every: true, Clause: "1"}}}
}

// door is a house at whose door things are tried.
type door struct {
	*house
	rt     *rapid.T
	set    ledger.ID
	checks []ledger.ID
	// sheets says that what the house began with came in by sheets, and recorded is when the
	// last entry was recorded.
	sheets          bool
	recorded        time.Time
	left, word, old int
}

// oldSheets makes the house one of a year ago, all of which came in by sheets.
func (d *door) oldSheets() {
	d.sheets, d.clock = true, now.AddDate(1, 0, 0)
	for _, e := range d.Entries {
		e.Via = ledger.ViaImport
	}
	d.open()
}

// comes draws how an entry came and when it was recorded.
func (d *door) comes(e *ledger.Entry) {
	if !d.sheets {
		return
	}
	d.recorded = latest(d.recorded, e.OccurredAt)
	if rapid.IntRange(0, 3).Draw(d.rt, "a year later") == 0 {
		d.recorded = d.clock
	}
	e.RecordedAt = d.recorded
	if rapid.IntRange(0, 3).Draw(d.rt, "by hand") > 0 {
		e.Via = ledger.ViaImport
	}
}

func latest(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func (d *door) step() {
	hours := float64(rapid.IntRange(30, 400).Draw(d.rt, "hours"))
	drum := rapid.IntRange(0, 3).Draw(d.rt, "drum")
	var e ledger.Entry
	what := []string{"read", "read", "take back", "see", "see in the tank", "pour", "hold", "lift", "check", "check", "release", "release", "word", "send", "send", "send on a word"}
	if d.sheets {
		what = append(what, "sent before the book", "sent before the book", "sent before the book", "sent otherwise", "sent otherwise")
	}
	switch rapid.SampledFrom(what).Draw(d.rt, "what") {
	case "read":
		e.Body = moisture(ledger.PlaceContainer, d.drums[drum], rapid.SampledFrom([]float64{16.8, 17.4, 18.0, 18.6, 22}).Draw(d.rt, "moisture"), 0)
	case "take back":
		d.takeBack()
		return
	case "see":
		e.Body = d.fermenting(drum, rapid.SampledFrom([]string{"present", "absent"}).Draw(d.rt, "seen"))
	case "see in the tank":
		e.Body = &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: d.Settling}, Observed: []ledger.Observed{
			{What: "fermentation", Word: rapid.SampledFrom([]string{"present", "absent"}).Draw(d.rt, "seen in the tank")}}}
	case "pour":
		e.Body = ledgertest.Move(ledger.PlaceTank, d.Settling, ledger.PlaceContainer, d.drums[drum], 5_000)
	case "hold":
		e.Body = d.held(rapid.SampledFrom([]ledger.HoldReason{ledger.HeldForRecall, ledger.HeldForLimit, ledger.HeldForFinding}).Draw(d.rt, "why"))
	case "lift":
		e.Body = d.lift("settled")
	case "check":
		d.check(hours)
		return
	case "release":
		if len(d.checks) == 0 {
			return
		}
		x := d.released(rapid.SampledFrom(d.checks).Draw(d.rt, "by"))
		x.Note = "settled"
		e.Body = x
	case "word":
		e.Body = d.overridden()
	case "send":
		e.Body = d.truck(drum)
	case "send on a word":
		e.Body = d.anyway(d.truck(drum))
	case "sent before the book":
		e.Body = d.beforeBook(drum)
	default:
		old := d.sentBefore()
		if old == nil {
			return
		}
		drum = slices.Index(d.drums, old.Body.(*ledger.Dispatch).Containers[0])
		e.Body, e.Replaces, e.Reason = rapid.SampledFrom([]*ledger.Dispatch{d.truck(drum), d.beforeBook(drum)}).Draw(d.rt, "corrected to"), old.ID, "typed wrong"
	}
	e.OccurredAt = ledgertest.At(hours)
	d.sends(e, drum)
}

// sends tries an entry, and judges what left by it.
func (d *door) sends(e ledger.Entry, drum int) {
	d.comes(&e)
	before := d.book.Len()
	if id, err := d.try(e); err == nil {
		if sent, ok := e.Body.(*ledger.Dispatch); ok {
			d.judge(id, sent, drum, before)
		}
	}
}

func (d *door) beforeBook(drum int) *ledger.Dispatch {
	x := d.truck(drum)
	x.BeforeBook, x.Note = true, rapid.SampledFrom([]string{"the invoice of July", "the invoice of July", "the invoice of July", " "}).Draw(d.rt, "known by")
	return x
}

// sentBefore is what stands as sent before the book began; nil where there is nothing.
func (d *door) sentBefore() *ledger.Entry {
	for _, e := range d.standing() {
		if x, is := e.Body.(*ledger.Dispatch); is && x.BeforeBook {
			return e
		}
	}
	return nil
}

// ready has all drums read and the lot released by a check.
func (d *door) ready() {
	for i := range d.drums {
		d.read(30, i, 17.2, 0)
	}
	d.check(31)
	d.at(32, d.released(d.checks[0]))
	d.recorded = latest(d.recorded, ledgertest.At(32))
}

func (d *door) check(hours float64) {
	x := &ledger.Check{LotID: d.lot, RuleSets: []ledger.RuleSetRef{own(d.set)}, On: standard.Date(ledgertest.At(hours).Format("2006-01-02"))}
	e := ledger.Entry{OccurredAt: ledgertest.At(hours), Body: x}
	d.comes(&e)
	if id, err := d.try(e); err == nil {
		d.checks = append(d.checks, id)
	}
}

// takeBack withdraws a reading or a hold that stands.
func (d *door) takeBack() {
	var list []*ledger.Entry
	for _, e := range d.standing() {
		status, is := e.Body.(*ledger.LotStatus)
		if _, reading := e.Body.(*ledger.Reading); reading || is && status.Status == ledger.StatusHeld {
			list = append(list, e)
		}
	}
	if len(list) == 0 {
		return
	}
	old := rapid.SampledFrom(list).Draw(d.rt, "taken back")
	_, _ = d.try(ledger.Entry{OccurredAt: old.OccurredAt, Body: &ledger.Withdrawal{}, Replaces: old.ID, Reason: "mistaken"})
}

// standing are the entries that nothing replaced, in order of number.
func (d *door) standing() (out []*ledger.Entry) {
	for e := range d.book.Entries {
		if now := d.book.InForce(e.ID); now != nil && now.ID == e.ID {
			out = append(out, e)
		}
	}
	return out
}

// judge complains of a dispatch that the rules would not let go.
func (d *door) judge(id ledger.ID, sent *ledger.Dispatch, drum int, before int64) {
	d.left++
	if sent.BeforeBook {
		d.old++
		d.judgeOld(d.book.InForce(id), sent, before)
		return
	}
	if sent.Override {
		d.word++
	}
	at := d.book.InForce(id).OccurredAt
	sum, n := 0.0, 0
	pours := d.pours(before)
	var last time.Time // when honey last came into the drum
	for _, e := range pours {
		if e.Body.(*ledger.Movement).To.ID == d.drums[drum] && e.OccurredAt.After(last) {
			last = e.OccurredAt
		}
	}
	if last.After(at) {
		return // it had left, and somebody topped it up: the book cannot be right
	}
	for _, e := range pours {
		if !e.OccurredAt.After(at) && !sent.Override && !d.lifted(e, before, false) {
			d.rt.Fatalf("a drum left at %s though honey was poured into its lot (entry %d) and nobody released it since", at, e.Number)
		}
	}
	for _, e := range d.standing() {
		if e.Number > before {
			break
		}
		switch x := e.Body.(type) {
		case *ledger.Reading:
			if x.On.ID == d.drums[drum] && x.Moisture != nil && !e.OccurredAt.Before(last) {
				sum, n = sum+x.Moisture.Pct, n+1
			}
			if x.On.Kind == ledger.PlaceTank {
				if by := d.pouredFermenting(e, pours, at); by != nil && !(d.lifted(e, before, true) && d.lifted(by, before, true)) && !(sent.Override && (e.OccurredAt.After(at) || by.OccurredAt.After(at))) {
					d.rt.Fatalf("a drum left at %s though honey seen to ferment in the tank (entry %d) was poured into its lot (entry %d)", at, e.Number, by.Number)
				}
				continue
			}
			if x.SeenFermenting() && !d.lifted(e, before, true) && !(sent.Override && e.OccurredAt.After(at)) {
				d.rt.Fatalf("a drum left at %s though one was seen to ferment (entry %d)", at, e.Number)
			}
		case *ledger.LotStatus:
			if x.Status == ledger.StatusHeld && !d.lifted(e, before, x.Why == ledger.HeldForRecall) && !(sent.Override && e.OccurredAt.After(at)) {
				d.rt.Fatalf("a drum left at %s though its lot was held (%s, entry %d)", at, x.Why, e.Number)
			}
		}
	}
	if sent.Override {
		return
	}
	if n == 0 {
		d.rt.Fatalf("a drum left that nobody had read")
	}
	if sum/float64(n) > 18+1e-9 {
		d.rt.Fatalf("a drum left that read %.3f on the mean of %d", sum/float64(n), n)
	}
}

// judgeOld complains of a dispatch that is said to have left before the book began, and that
// nobody gave a reason for, or that left since the book is kept or while its lot was held. A
// sheet lets nothing go that is held since.
func (d *door) judgeOld(e *ledger.Entry, sent *ledger.Dispatch, before int64) {
	if strings.TrimSpace(sent.Note) == "" {
		d.rt.Fatal("something left before the book began, and nobody says how that is known")
	}
	for other := range d.book.Entries {
		happened := other.Kind == ledger.KindReading || other.Kind == ledger.KindMovement || other.Kind == ledger.KindCheck || other.Kind == ledger.KindLotStatus || other.Kind == ledger.KindDispatch
		if other.Number <= before && other.Via != ledger.ViaImport && happened && !e.OccurredAt.Before(other.RecordedAt) {
			d.rt.Fatalf("something left before the book began at %s, and somebody recorded entry %d at %s", e.OccurredAt, other.Number, other.RecordedAt)
		}
	}
	if e.Replaces != (ledger.ID{}) {
		return // it had left already
	}
	for _, hold := range d.standing() {
		x, decides := hold.Body.(*ledger.LotStatus)
		r, reads := hold.Body.(*ledger.Reading)
		seen := reads && r.On.Kind == ledger.PlaceContainer && r.SeenFermenting()
		if hold.Number > before || !seen && (!decides || x.Status != ledger.StatusHeld) || d.lifted(hold, before, seen || decides && x.Why == ledger.HeldForRecall) {
			continue
		}
		if !hold.OccurredAt.After(e.OccurredAt) || e.Via == ledger.ViaImport {
			d.rt.Fatalf("a drum left before the book began, at %s, of a lot that was held (entry %d, %s)", e.OccurredAt, hold.Number, hold.OccurredAt)
		}
	}
}

// pours are the movements into drums that stand, of those before a number.
func (d *door) pours(before int64) (out []*ledger.Entry) {
	for _, e := range d.standing() {
		if e.Kind == ledger.KindMovement && e.Number <= before && e.Body.(*ledger.Movement).To.Kind == ledger.PlaceContainer {
			out = append(out, e)
		}
	}
	return out
}

// pouredFermenting is the last movement by an instant that brought honey out of the tank
// after somebody saw it ferment there, within a month, and before anybody saw it quiet; nil
// where there is none.
func (d *door) pouredFermenting(seen *ledger.Entry, pours []*ledger.Entry, by time.Time) (last *ledger.Entry) {
	if !seen.Body.(*ledger.Reading).SeenFermenting() {
		return nil
	}
	for _, p := range pours {
		quiet := func(e *ledger.Entry) bool {
			r, ok := e.Body.(*ledger.Reading)
			return ok && r.On.Kind == ledger.PlaceTank && !r.SeenFermenting() && !e.OccurredAt.Before(seen.OccurredAt) && !e.OccurredAt.After(p.OccurredAt)
		}
		if !p.OccurredAt.Before(seen.OccurredAt) && !p.OccurredAt.After(by) && p.OccurredAt.Sub(seen.OccurredAt) < 30*24*time.Hour && !slices.ContainsFunc(d.standing(), quiet) {
			last = p
		}
	}
	return last
}

// lifted reports whether a decision that was made and recorded after a hold lifts it, and
// rests on a check made and recorded after it where it has to.
func (d *door) lifted(hold *ledger.Entry, before int64, byCheck bool) bool {
	for _, e := range d.standing() {
		x, ok := e.Body.(*ledger.LotStatus)
		if !ok || x.Status == ledger.StatusHeld || e.Number < hold.Number || e.Number > before || e.OccurredAt.Before(hold.OccurredAt) {
			continue
		}
		if !byCheck {
			return true
		}
		if check, _ := d.book.Entry(x.CheckID); check != nil && check.Number > hold.Number && !check.OccurredAt.Before(hold.OccurredAt) {
			return true
		}
	}
	return false
}
