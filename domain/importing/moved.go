package importing

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// moved finds rows of a sheet that came again with another day, yard, tank or name in them. Such a
// row tells of another occasion than the entry that it was before, so that both would stand.
type moved struct {
	// came are the imports of the same kind of table that stand.
	came []*ledger.Entry
	// looked is true once they were looked for.
	looked bool
	// fresh are the rows that brought something new.
	fresh []movedRow
	// was are the entries that earlier sheets brought in and this one no longer says, by what they
	// say but for one thing.
	was map[uint64][]*ledger.Entry
	// until is the last day of what this sheet says of the same import, of those readings that were
	// before the first.
	until map[ledger.ID]string
	// gone are those among what this sheet says of the same import, in order.
	gone []*ledger.Entry
}

type movedRow struct {
	row  int
	at   *span // of a wide sheet
	when time.Time
	// but are the digests of what it says but for one thing, and of what these things are.
	but    []uint64
	fields []Field
}

// cameBefore reports whether the book has a sheet of the same kind of table.
func (k *taking) cameBefore() bool {
	m := &k.moved
	if !m.looked {
		m.looked = true
		k.book.InForceOf(ledger.KindImport, func(_ ledger.ID, e *ledger.Entry) bool {
			if i := e.Body.(*ledger.Import); i.Of == string(k.Mapping.Of) && e.Number-i.Entries >= 1 {
				m.came = append(m.came, e)
			}
			return true
		})
	}
	return len(m.came) > 0
}

// told is one of the things that tell an entry from others of its kind.
type told struct {
	field Field
	value any
}

// tells are the things that tell an entry from others, and the rest of what it says.
func (k *taking) tells(at time.Time, body ledger.Body) (of []told, rest any) {
	day, root := k.dayOf(at), k.book.Root
	switch b := body.(type) {
	case *ledger.Pull:
		return []told{{FieldYard, root(b.YardID)}, {FieldDate, day}, {FieldSupers, b.Supers}, {FieldGross, b.GrossG}}, nil
	case *ledger.HiveCount:
		return []told{{FieldYard, root(b.YardID)}, {FieldDate, day}, {FieldCountName, sameName(b.Name)}}, b.Hives
	case *ledger.Reading:
		return []told{{placeFields[b.On.Kind], root(b.On.ID)}, {FieldDate, at.UnixMicro()}, {FieldPoint, b.Point}, {FieldInstrument, root(b.InstrumentID)}}, asRead(b)
	case *ledger.Movement:
		if b.From.Kind == ledger.PlaceTank {
			return []told{{FieldFromTank, root(b.From.ID)}, {FieldToTank, root(b.To.ID)}, {FieldDate, at.UnixMicro()}, {FieldHoney, b.MassG}}, nil
		}
		return []told{{FieldName, root(b.From.ID)}, {FieldTank, root(b.To.ID)}, {FieldDate, at.UnixMicro()}, {FieldHoney, b.MassG}}, nil
	case *ledger.Fill:
		return []told{{FieldContainer, sameName(b.Container)}, {FieldDate, day}}, []any{root(b.LotID), root(b.TankID), b.GrossG, b.TareG}
	case *ledger.Yard:
		if b.Registration == "" && b.Latitude == nil {
			return nil, nil // all yards without are alike
		}
		return []told{{FieldName, sameName(b.Name)}}, []any{b.Registration, b.Latitude, b.Longitude}
	case *ledger.Run:
		return []told{{FieldName, sameName(b.Name)}, {FieldDate, day}}, b.FramesPerSide
	case *ledger.Lot:
		return []told{{FieldLot, sameName(b.Code)}, {FieldDate, day}}, b.Product
	case *ledger.RunSupers:
		return []told{{FieldRun, root(b.RunID)}, {FieldYard, root(b.PullID)}, {FieldSupers, b.Supers}}, root(b.SuperKindID)
	}
	return nil, nil
}

// asRead are the figures of a reading as somebody read them: what follows from them is reckoned
// once they are stored.
func asRead(r *ledger.Reading) (out []any) {
	if m := r.Moisture; m != nil {
		out = append(out, m.Scale, m.AsRead, m.SampleC)
	}
	for _, m := range r.Measured {
		out = append(out, m.Quantity, m.Parameter, m.Value, m.LessThan)
	}
	return append(out, r.Observed)
}

var placeFields = map[ledger.PlaceKind]Field{ledger.PlaceTank: FieldTank, ledger.PlaceLot: FieldLot, ledger.PlaceContainer: FieldContainer}

// butForOne gives, for each thing that tells an entry from others, a digest of all else that it
// says.
func (k *taking) butForOne(at time.Time, body ledger.Body) (digests []uint64, fields []Field) {
	of, rest := k.tells(at, body)
	for i := range of {
		said := make([]any, 0, len(of)+2)
		said = append(said, body.Kind(), of[i].field, rest)
		for j := range of {
			if j != i {
				said = append(said, of[j].value)
			}
		}
		text, err := json.Marshal(said)
		if err != nil {
			panic(fmt.Sprintf("bodies always marshal: %v", err))
		}
		h := fnv.New64a()
		h.Write(text)
		digests, fields = append(digests, h.Sum64()), append(fields, of[i].field)
	}
	return digests, fields
}

// sayTheSame reports whether two entries tell the same, notes apart.
func (k *taking) sayTheSame(a, b *ledger.Entry) bool {
	x, _ := k.butForOne(a.OccurredAt, a.Body)
	y, _ := k.butForOne(b.OccurredAt, b.Body)
	return slices.Equal(x, y)
}

// noteFresh remembers a row that brought something new, where it may be one that was mended.
func (k *taking) noteFresh(e *ledger.Entry) {
	m := &k.moved
	if e.Replaces != (ledger.ID{}) || !k.cameBefore() || len(m.fresh) == mostWaiting {
		return
	}
	if b, is := e.Body.(*ledger.Movement); is && b.From.Kind == ledger.PlaceRun && k.isNew(b.From.ID) {
		return // its run is asked about
	}
	if but, fields := k.butForOne(e.OccurredAt, e.Body); but != nil {
		m.fresh = append(m.fresh, movedRow{k.row, k.part(), e.OccurredAt, but, fields})
	}
}

// isNew reports whether something is of this sheet.
func (k *taking) isNew(id ledger.ID) bool {
	e, _ := k.book.Entry(id)
	return e == nil || e.Number > k.known
}

// noLongerSaid looks for what earlier sheets brought in that this one no longer says, where it says
// the rest of it or some.
func (k *taking) noLongerSaid() {
	m := &k.moved
	if m.was != nil || !k.cameBefore() {
		return
	}
	m.was = map[uint64][]*ledger.Entry{}
	wanted := k.mayHaveBeen()
	for _, i := range m.came {
		var said, unsaid []*ledger.Entry
		for n := i.Number - i.Body.(*ledger.Import).Entries; n < i.Number; n++ {
			e := k.book.Numbered(n)
			if k.wasSaidOf(e.ID) {
				said = append(said, e)
			} else if e = k.book.InForce(e.ID); e != nil {
				unsaid = append(unsaid, e)
			}
		}
		if len(said) == 0 {
			continue
		}
		first, last := k.daysOf(said)
		k.matchWith(wanted, said, unsaid, first, last)
		m.gone = append(m.gone, k.amid(said, unsaid, first, last)...)
	}
}

// daysOf are the first and the last day of entries.
func (k *taking) daysOf(entries []*ledger.Entry) (first, last string) {
	first = k.dayOf(entries[0].OccurredAt)
	for _, e := range entries {
		first, last = min(first, k.dayOf(e.OccurredAt)), max(last, k.dayOf(e.OccurredAt))
	}
	return first, last
}

// mayHaveBeen are the digests by which the rows of this sheet that are new would be found.
func (k *taking) mayHaveBeen() map[uint64]bool {
	wanted := map[uint64]bool{}
	for _, r := range k.moved.fresh {
		for _, digest := range r.but {
			wanted[digest] = true
		}
	}
	for _, w := range k.again.waiting {
		but, _ := k.butForOne(w.entry.OccurredAt, w.entry.Body)
		for _, digest := range but {
			wanted[digest] = true
		}
	}
	return wanted
}

// mostLeft is how many entries of an earlier sheet may be left for each that this one says again:
// of more it is another sheet, and not that one mended.
const mostLeft = 10

// matchWith keeps the entries that a new row may have been. Of an import of which the sheet says
// very little, or more than mostWaiting are left, none is looked at.
func (k *taking) matchWith(wanted map[uint64]bool, said, unsaid []*ledger.Entry, first, last string) {
	if len(wanted) == 0 || len(unsaid) > mostWaiting || len(unsaid) >= mostLeft*len(said) {
		return
	}
	for _, e := range unsaid {
		if e.Kind == ledger.KindReading && k.dayOf(e.OccurredAt) < first {
			if k.moved.until == nil {
				k.moved.until = map[ledger.ID]string{}
			}
			k.moved.until[e.ID] = last
		}
		but, _ := k.butForOne(e.OccurredAt, e.Body)
		for _, digest := range but {
			if wanted[digest] {
				k.moved.was[digest] = append(k.moved.was[digest], e)
			}
		}
	}
}

// amid are those entries that happened while others did, of which there are more: a sheet that says
// what was before and after no longer says them since somebody took them out, and not since it is
// of another time.
func (k *taking) amid(said, unsaid []*ledger.Entry, first, last string) (out []*ledger.Entry) {
	if len(unsaid) > len(said) {
		return nil
	}
	for _, e := range unsaid {
		if of, _ := k.tells(e.OccurredAt, e.Body); of != nil && first <= k.dayOf(e.OccurredAt) && k.dayOf(e.OccurredAt) <= last {
			out = append(out, e)
		}
	}
	return out
}

// wasSaidOf reports whether a row says what an entry says, or what it was corrected to.
func (k *taking) wasSaidOf(id ledger.ID) bool {
	for _, e := range k.book.Chain(id) {
		if k.again.wasSaid(e.ID) {
			return true
		}
	}
	return false
}

// wasBefore is the entry that a row may have been before it was mended, and in what they differ;
// nil where there is none. Readings come in sheets of the last weeks too, and say the same again: one
// before all that the sheet says again is no other one's behind it.
func (k *taking) wasBefore(at time.Time, but []uint64, fields []Field, used map[ledger.ID]bool) (*ledger.Entry, Field) {
	k.noLongerSaid()
	for i, digest := range but {
		for _, e := range k.moved.was[digest] {
			until := k.moved.until[e.ID]
			if !used[e.ID] && (fields[i] != FieldDate || until == "" || k.dayOf(at) <= until) {
				return e, fields[i]
			}
		}
	}
	return nil, ""
}

// askGone asks about what earlier sheets brought in amid what this one says too, and that it no longer
// says: the book would keep it. It is asked once all else is clear.
func (k *taking) askGone(used map[ledger.ID]bool) {
	if k.all > 0 || k.failed != nil {
		return
	}
	k.noLongerSaid()
	gone := slices.DeleteFunc(slices.Clone(k.moved.gone), func(e *ledger.Entry) bool { return used[e.ID] })
	if len(gone) == 0 {
		return
	}
	k.row, k.cells, k.bad = max(1, k.Mapping.HeadingRow), nil, false
	k.goTo(nil)
	if answer := k.answered(k.Mapping.Alike); answer == Another || answer == LeftAside {
		return
	}
	e := gone[0]
	k.problem(LikeRecorded, nil, message.F("Of what an earlier sheet brought in, this one no longer says %s, though it says others of the same days. The first is entry %s (%s: %s). They stay in the book: withdraw there what never happened, or say that it all did%s.",
		message.Plural{N: float64(len(gone)), One: "%s entry", Other: "%s entries"}, e.Number, message.Day(e.OccurredAt.In(k.book.Location())), k.inWords(e), message.Option("alike_rows, or rows")), string(Another))
}

// inWords is what an entry says.
func (k *taking) inWords(e *ledger.Entry) (out message.List) {
	for _, part := range k.says(e.Body, "") {
		out = append(out, part)
	}
	return out
}

// mayBeMoved reports whether a row has to wait until the sheet is read, since it was answered what
// rows are that are like others.
func (k *taking) mayBeMoved(body ledger.Body) bool {
	switch body.(type) {
	case *ledger.Yard, *ledger.Run, *ledger.Lot:
		return false // others name it
	}
	if len(k.again.waiting) == mostWaiting {
		return false // askMoved asks about it
	}
	of, _ := k.tells(time.Time{}, body)
	answer := k.answered(k.Mapping.Alike)
	return of != nil && (answer == Corrects || answer == LeftAside) && k.cameBefore()
}

// askMoved asks about rows that are new, and like what an earlier sheet brought in and this one no
// longer says.
func (k *taking) askMoved(used map[ledger.ID]bool) {
	for _, r := range k.moved.fresh {
		e, field := k.wasBefore(r.when, r.but, r.fields, used)
		if e == nil {
			continue
		}
		used[e.ID] = true
		k.row, k.cells, k.bad = r.row, nil, false
		k.goTo(r.at)
		if k.answered(k.Mapping.Alike) != Another {
			k.askWasBefore(e, field)
		}
	}
}

func (k *taking) askWasBefore(e *ledger.Entry, field Field) {
	said := k.inWords(e)
	day, option := message.Day(e.OccurredAt.In(k.book.Location())), message.Option("alike_rows, or rows")
	switch e.Kind {
	case ledger.KindYard, ledger.KindRun, ledger.KindLot, ledger.KindRunSupers:
		k.problem(LikeRecorded, nil, message.F("Entry %s, which an earlier sheet brought in and this one no longer says, is like this row but for the %s (%s: %s). If they are the same, correct that entry first, or leave this row out; if they are two, say so%s.",
			e.Number, field.text(), day, said, option), string(Another))
	default:
		k.problem(LikeRecorded, nil, message.F("Entry %s, which an earlier sheet brought in and this one no longer says, is like this row but for the %s (%s: %s). Is the row a correction of it, another one, or to be left out%s?",
			e.Number, field.text(), day, said, option), string(Corrects), string(Another), string(LeftAside))
	}
}
