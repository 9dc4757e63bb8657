package importing

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Alike says what a row is that is like another one: like an entry of the book, from a
// sheet that was mended since or recorded by hand, or like a row above it.
type Alike string

// What such a row may be.
const (
	// Corrects: it says what the entry of the book should have said.
	Corrects Alike = "correct"
	// Another: it happened as well.
	Another Alike = "another"
	// LeftAside: it is not read.
	LeftAside Alike = "leave_out"
)

// occasion is what a row tells of, whatever figures and notes it gives: a pull by its yard
// and day, a count of hives likewise, a reading by its place and day, honey out of a run by the run,
// the tank and the day, a transfer by its tanks and the day, the end of a run by the
// run, a filled container by its lot and number. Of one day, sameMoment tells more.
type occasion struct {
	kind     ledger.Kind
	on, with ledger.ID
	day      string
	name     string
}

// occasionOf is the occasion of an entry; none is true where its kind has none.
func (k *taking) occasionOf(at time.Time, body ledger.Body) (o occasion, has bool) {
	o.kind = body.Kind()
	switch b := body.(type) {
	case *ledger.Pull:
		o.on, o.day = k.book.Root(b.YardID), k.dayOf(at)
	case *ledger.Reading:
		o.on, o.day = k.book.Root(b.On.ID), k.dayOf(at)
	case *ledger.HiveCount:
		o.on, o.day = k.book.Root(b.YardID), k.dayOf(at)
	case *ledger.RunEnd:
		o.on = k.book.Root(b.RunID)
	case *ledger.Fill:
		o.on, o.name = k.book.Root(b.LotID), sameName(b.Container)
	case *ledger.Movement:
		o.on, o.with, o.day = k.book.Root(b.From.ID), k.book.Root(b.To.ID), k.dayOf(at)
	default:
		return o, false
	}
	return o, true
}

// sameMoment reports whether two entries of one occasion can tell of the same, by the hour and by
// what else tells two of a day apart. What only one of them says tells nothing apart: a sheet
// has the day alone where somebody recorded the hour too.
func (k *taking) sameMoment(a, b *ledger.Entry) bool {
	x, is := a.Body.(*ledger.Reading)
	if _, moved := a.Body.(*ledger.Movement); !is && !moved {
		return true
	}
	if !a.OccurredAt.Equal(b.OccurredAt) && !k.hasNoHour(a.OccurredAt) && !k.hasNoHour(b.OccurredAt) {
		return false
	}
	y, also := b.Body.(*ledger.Reading)
	return !also || !k.readApart(x, y)
}

// readApart reports whether two readings are of two points, or by two instruments or laboratories.
func (k *taking) readApart(a, b *ledger.Reading) bool {
	by := func(r *ledger.Reading) string {
		if r.InstrumentID != (ledger.ID{}) {
			return k.book.Root(r.InstrumentID).String()
		}
		return sameName(r.Laboratory)
	}
	differ := func(a, b string) bool { return a != b && a != "" && b != "" }
	return differ(string(a.Point), string(b.Point)) || differ(by(a), by(b))
}

// hasNoHour reports whether an instant is noon of its day, which stands for a day that says no hour.
func (k *taking) hasNoHour(at time.Time) bool {
	const noon = 12
	hour, minute, second := at.In(k.book.Location()).Clock()
	return hour == noon && minute == 0 && second == 0
}

// again settles what rows are that are like others.
type again struct {
	// recorded are the entries that the book has from one instant until another, by their
	// occasions and in order: a day at a time, since sheets go day by day.
	recorded    map[occasion][]*ledger.Entry
	moments     map[moment][]*ledger.Entry
	from, until time.Time
	// said are the entries of the book that a row of this sheet says in the same words.
	said map[ledger.ID]struct{}
	// waiting are rows that tell of an occasion of which the book has an entry: what they
	// are, only the sheet as a whole says.
	waiting []waitingRow
}

// moment is a second of an occasion: a day may have thousands of readings.
type moment struct {
	of   occasion
	unix int64
}

type waitingRow struct {
	row      int
	at       *span // of a wide sheet
	occasion occasion
	entry    *ledger.Entry
	sums     map[string]int64
}

// had are the entries of the book that can be of the occasion of another one.
func (k *taking) had(o occasion, of *ledger.Entry) (out []*ledger.Entry) {
	for _, e := range k.hadAbout(o, of) {
		if k.sameMoment(e, of) {
			out = append(out, e)
		}
	}
	return out
}

// hadAbout are the entries of the book of an occasion, of those of many the ones of its second and the
// ones of noon, which stands for a day that says no hour.
func (k *taking) hadAbout(o occasion, of *ledger.Entry) []*ledger.Entry {
	const few, noon = 32, 12
	all := k.hadOn(o, of.OccurredAt)
	if len(all) <= few || of.Kind != ledger.KindReading && of.Kind != ledger.KindMovement || k.hasNoHour(of.OccurredAt) {
		return all
	}
	year, month, day := k.again.from.Date()
	without := time.Date(year, month, day, noon, 0, 0, 0, k.book.Location())
	then, dayAlone := k.again.moments[moment{o, of.OccurredAt.Unix()}], k.again.moments[moment{o, without.Unix()}]
	if of.OccurredAt.Before(without) {
		return slices.Concat(then, dayAlone)
	}
	return slices.Concat(dayAlone, then)
}

// hadOn are the entries of the book of an occasion.
func (k *taking) hadOn(o occasion, at time.Time) []*ledger.Entry {
	if o.kind == ledger.KindFill { // of whatever day: a number is one container's
		e := k.book.ContainerInUse(o.name)
		if e == nil || e.Number > k.known || k.book.Root(e.Body.(*ledger.Fill).LotID) != o.on {
			return nil
		}
		return []*ledger.Entry{e}
	}
	a := &k.again
	if a.recorded == nil || at.Before(a.from) || !at.Before(a.until) {
		year, month, day := at.In(k.book.Location()).Date()
		a.from, a.until = time.Date(year, month, day, 0, 0, 0, 0, k.book.Location()), time.Date(year, month, day+1, 0, 0, 0, 0, k.book.Location())
		a.recorded, a.moments = map[occasion][]*ledger.Entry{}, map[moment][]*ledger.Entry{}
		k.book.HappenedIn(a.from, a.until, func(_ ledger.ID, e *ledger.Entry) bool {
			if of, has := k.occasionOf(e.OccurredAt, e.Body); has {
				a.recorded[of] = append(a.recorded[of], e)
				at := moment{of, e.OccurredAt.Unix()}
				a.moments[at] = append(a.moments[at], e)
			}
			return true
		})
	}
	return a.recorded[o]
}

// says notes that a row says the same as an entry of the book.
func (a *again) says(id ledger.ID) {
	if a.said == nil {
		a.said = map[ledger.ID]struct{}{}
	}
	a.said[id] = struct{}{}
}

func (a *again) wasSaid(id ledger.ID) bool {
	_, was := a.said[id]
	return was
}

// mostWaiting is how many rows may wait, each of them in memory.
const mostWaiting = 100_000

// waits keeps an entry back whose occasion the book has entries of.
func (k *taking) waits(e *ledger.Entry, sums map[string]int64) bool {
	o, has := k.occasionOf(e.OccurredAt, e.Body)
	if (!has || len(k.had(o, e)) == 0) && !k.mayBeMoved(e.Body) {
		return false
	}
	if len(k.again.waiting) == mostWaiting {
		k.failed = errors.Join(k.failed, fault.New(fault.TooLarge, "In more than %s rows the sheet says otherwise than the book of what the book has already. Nothing was stored. Bring it in as parts.", mostWaiting))
		return true
	}
	k.again.waiting = append(k.again.waiting, waitingRow{k.row, k.part(), o, e, sums})
	return true
}

// settleAlike puts the rows that waited: those that are like an entry of the book which no
// row of the sheet says in the same words, as was answered.
func (k *taking) settleAlike(used map[ledger.ID]bool) error {
	for _, w := range k.again.waiting {
		k.row, k.cells, k.bad = w.row, nil, false
		k.goTo(w.at)
		like := k.likeOf(w, used)
		answer := k.answered(k.Mapping.Alike)
		switch {
		case like == nil, answer == Another && like.Kind != ledger.KindFill:
		case answer == LeftAside:
			used[like.ID] = true
			k.LeftOut++
			k.shownNow().isAside(w.entry)
			continue
		case answer == Corrects:
			used[like.ID] = true
			w.entry.Replaces, w.entry.Reason = like.ID, "The sheet came again and says otherwise."
		default:
			used[like.ID] = true
			k.problem(LikeRecorded, nil, k.likeText(like), answersTo(like)...)
			continue
		}
		if err := k.store(w.entry, w.sums); err != nil {
			return err
		}
		if k.emit != nil && k.all > 0 {
			return nil
		}
	}
	return nil
}

// likeOf is the first entry of an occasion that no row says in the same words, and that no
// row before was likened to; nil where there is none.
func (k *taking) likeOf(w waitingRow, used map[ledger.ID]bool) *ledger.Entry {
	for _, e := range k.had(w.occasion, w.entry) {
		if !k.again.wasSaid(k.book.Root(e.ID)) && !k.again.wasSaid(e.ID) && !used[e.ID] {
			return e
		}
	}
	if !k.cameBefore() {
		return nil
	}
	but, fields := k.butForOne(w.entry.OccurredAt, w.entry.Body)
	e, _ := k.wasBefore(w.entry.OccurredAt, but, fields, used)
	return e
}

// answersTo are what a row can be that is like an entry. A number that is in use is never
// another container's: the book would refuse it.
func answersTo(like *ledger.Entry) []string {
	if like.Kind == ledger.KindFill {
		return []string{string(Corrects), string(LeftAside)}
	}
	return []string{string(Corrects), string(Another), string(LeftAside)}
}

func (k *taking) likeText(e *ledger.Entry) message.Text {
	option := message.Option("alike_rows, or rows")
	switch b := e.Body.(type) {
	case *ledger.Pull:
		boxes := 0
		for _, s := range b.Supers {
			boxes += s.Supers
		}
		return message.F("The book has a pull from this yard on this day, entry %s: %s, %s. Is this row a correction of it, another pull, or to be left out%s?", e.Number, saidSupers(boxes), message.Kg(float64(b.GrossG)/1000), option)
	case *ledger.RunEnd:
		return message.F("The book has an end of this run, entry %s: %s of wax. Is this row a correction of it, more wax, or to be left out%s?", e.Number, message.Kg(float64(b.WaxG)/1000), option)
	case *ledger.Fill:
		return message.F("The book has container %s of this lot, entry %s: %s net. Is this row a correction of it, or to be left out%s?", message.Quoted(b.Container), e.Number, message.Kg(float64(b.NetG())/1000), option)
	case *ledger.HiveCount:
		return message.F("The book has a count of this yard's hives on this day, entry %s: %s, %s. Is this row a correction of it, another count, or to be left out%s?", e.Number, saidHives(b.Hives), message.Quoted(b.Name), option)
	case *ledger.Movement:
		if b.From.Kind == ledger.PlaceTank {
			return message.F("The book has honey from this tank into that one on this day, entry %s: %s. Is this row a correction of it, more honey, or to be left out%s?", e.Number, message.Kg(float64(b.MassG)/1000), option)
		}
		return message.F("The book has honey out of this run into this tank on this day, entry %s: %s. Is this row a correction of it, more honey, or to be left out%s?", e.Number, message.Kg(float64(b.MassG)/1000), option)
	}
	return message.F("The book has a reading of this place on this day, entry %s, that says otherwise. Is this row a correction of it, another reading, or to be left out%s?", e.Number, option)
}

// answered is what was said of the row at hand, or of its cell in a wide sheet; else what
// holds for all.
func (k *taking) answered(all Alike) Alike {
	of, said := k.Mapping.Rows[k.row]
	if cell := k.cellName(); cell != "" {
		of, said = k.Mapping.Cells[cell]
	}
	if said {
		return of
	}
	return all
}

// wasWithdrawn asks about a row of which the book had an entry until somebody withdrew it. What
// goes by a name keeps it, and is brought back in the book.
func (k *taking) wasWithdrawn(e *ledger.Entry, named bool) (leftOut bool) {
	was := k.withdrawn
	if was == nil {
		return false
	}
	switch answer := k.answered(k.Mapping.Alike); {
	case named:
		k.problem(RefusedByBook, nil, message.F("The book had what this row says, entry %s, until it was withdrawn. Bring that entry back first, or leave the row out.", was.Number))
		return true
	case answer == Another:
		return false
	case answer == LeftAside:
		k.LeftOut++
		k.shownNow().isAside(e)
		return true
	}
	k.problem(LikeRecorded, nil, message.F("The book had what this row says, entry %s, until it was withdrawn. If it happened after all, say that it is another one%s; else leave the row out.", was.Number, message.Option("alike_rows, or rows")), string(Another), string(LeftAside))
	return true
}

// putAgain notes that the book has what a row says. Where that was corrected since, either the sheet
// is older, or it takes the correction back; the very same file is known to be older.
func (k *taking) putAgain(e *ledger.Entry, sums map[string]int64) error {
	k.again.says(e.ID)
	now := k.book.InForce(e.ID)
	if now == nil || now.ID == e.ID || now.Number > k.known || k.isSameFile() || k.sayTheSame(e, now) {
		return nil
	}
	k.fresh = true // the book does not say it any more
	switch k.answered(k.Mapping.Alike) {
	case LeftAside:
		k.LeftOut++
		k.shownNow().isAside(e)
		return nil
	case Corrects:
		next := *e
		next.ID, next.Replaces, next.Reason, next.AsEntered = uuid.NewSHA1(e.ID, now.ID[:]), now.ID, "The sheet came again and says otherwise.", k.typed
		return k.store(&next, sums)
	}
	k.problem(LikeRecorded, nil, message.F("Entry %s said what this row says, and was corrected since (%s: %s). Is the row right after all, and a correction of that, or to be left out%s?",
		k.numberOf(e.ID), message.Day(now.OccurredAt.In(k.book.Location())), k.inWords(now), message.Option("alike_rows, or rows")), string(Corrects), string(LeftAside))
	return nil
}

func (k *taking) numberOf(id ledger.ID) int64 {
	e, _ := k.book.Entry(id)
	return e.Number
}

// isSameFile reports whether the book has an import of this very sheet.
func (k *taking) isSameFile() bool {
	if k.SHA256 == "" || !k.cameBefore() {
		return false
	}
	return slices.ContainsFunc(k.moved.came, func(e *ledger.Entry) bool {
		return isSame(e.Body.(*ledger.Import), k.Mapping, k.SHA256)
	})
}

// standsTwice asks about a row that says the same as one above it.
func (k *taking) standsTwice(e *ledger.Entry, above int) (leftOut bool) {
	switch k.answered(k.Mapping.Twice) {
	case Another:
		return false
	case LeftAside:
		k.LeftOut++
		k.shownNow().isAside(e)
		return true
	}
	k.problem(StandsTwice, nil, message.F("The row says the same as row %s. Did it happen twice, or does it stand twice%s?", above, message.Option("twice_rows, or rows")), string(Another), string(LeftAside))
	return true
}

// standsOtherwise asks about a cell of a wide sheet of whose name and day a row above has a figure
// too: below boxes stand weights, say. Where each row has a kind of box, those of one kind are held
// against each other.
func (k *taking) standsOtherwise(e *ledger.Entry) (leftOut bool) {
	o, has := k.occasionOf(e.OccurredAt, e.Body)
	if !has || k.cellName() == "" {
		return false
	}
	point := ""
	if r, is := e.Body.(*ledger.Reading); is {
		point = string(r.Point)
	}
	k.fact = fmt.Appendf(k.fact[:0], "%s %s %s %d %s", o.kind, o.on, point, e.OccurredAt.UnixMicro(), k.text(FieldSuperKind))
	sum := sha256.Sum256(k.fact)
	of := binary.BigEndian.Uint64(sum[:])
	above := k.figured[of]
	k.figured[of] = int32(k.row)
	if above == 0 || above == int32(k.row) && k.wide.isAsked() || k.wide.isOpen() {
		return false
	}
	switch {
	case k.Mapping.Cells[k.cellName()] == LeftAside:
		k.LeftOut++
		k.shownNow().isAside(e)
		return true
	case k.answered(k.Mapping.Twice) == Another:
		return false
	}
	if above == int32(k.row) {
		k.problem(StandsTwice, nil, message.F("Another column of this row has a figure of the same name and day. Is this one another of that day, or is it something else, such as a weight? Say that it happened too%s, leave it out, or say what its column holds.", message.Option("twice_rows, or cells")), string(Another), string(LeftAside))
		return true
	}
	k.problem(StandsTwice, nil, message.F("Row %s has a figure of the same name and day. Is this one another of that day, or is it something else, such as a weight? Say that it happened too%s, leave it out, or give it a column of its own.", int(above), message.Option("twice_rows, or cells")), string(Another), string(LeftAside))
	return true
}
