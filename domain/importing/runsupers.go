package importing

import (
	"fmt"
	"slices"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// supplies settles which supers went into which run. What is left of a pull depends on all
// rows, so that they are settled once the sheet has been read.
type supplies struct {
	rows []suppliedRow
	// named and onDay are the runs of the book, by their names and by their days, and pulls
	// those of a yard, all in order of their days.
	named, onDay map[string][]happened[ledger.Run]
	pulls        map[ledger.ID][]happened[ledger.Pull]
	// recorded are the supers that the book has in a run.
	recorded map[ledger.ID][]*ledger.Entry
	// said is how often the sheet said something so far, and in which row last.
	said map[string]seen
	// leftOut is the row that was left out last.
	leftOut int
	// taken counts what rows above took of a pull's supers of a kind.
	taken map[boxesOf]int
}

// happened is something that the book has, with the day on which it happened.
type happened[T any] struct {
	id   ledger.ID
	at   time.Time
	day  string
	body *T
}

// boxesOf is the supers of one kind of a pull.
type boxesOf struct{ pull, kind ledger.ID }

// suppliedRow is a row that says which supers went into a run.
type suppliedRow struct {
	row int
	// column has how many supers, and sent is what stands there.
	column *column
	sent   string
	typed  map[string]string
	run    happened[ledger.Run]
	yard   ledger.ID
	kind   ledger.ID // zero where it is not said
	day    string    // of the pull; empty where it is not said
	supers int
	// key is what makes the row the same as one that came before.
	key string
}

func happenedOf[T any](k *taking, kind ledger.Kind) (out []happened[T]) {
	k.book.InForceOf(kind, func(root ledger.ID, e *ledger.Entry) bool {
		if body, is := any(e.Body).(*T); is {
			out = append(out, happened[T]{root, e.OccurredAt, k.dayOf(e.OccurredAt), body})
		}
		return true
	})
	slices.SortStableFunc(out, func(a, b happened[T]) int { return a.at.Compare(b.at) })
	return out
}

func (k *taking) dayOf(at time.Time) string { return at.In(k.book.Location()).Format(time.DateOnly) }

// lookUp takes runs and pulls from the book, once for a sheet.
func (s *supplies) lookUp(k *taking) {
	if s.pulls != nil {
		return
	}
	s.pulls, s.recorded = map[ledger.ID][]happened[ledger.Pull]{}, map[ledger.ID][]*ledger.Entry{}
	s.named, s.onDay = map[string][]happened[ledger.Run]{}, map[string][]happened[ledger.Run]{}
	for _, r := range happenedOf[ledger.Run](k, ledger.KindRun) {
		name := sameName(r.body.Name)
		s.named[name], s.onDay[r.day] = append(s.named[name], r), append(s.onDay[r.day], r)
	}
	for _, p := range happenedOf[ledger.Pull](k, ledger.KindPull) {
		yard := k.book.Root(p.body.YardID)
		s.pulls[yard] = append(s.pulls[yard], p)
	}
	k.book.InForceOf(ledger.KindRunSupers, func(_ ledger.ID, e *ledger.Entry) bool {
		run := k.book.Root(e.Body.(*ledger.RunSupers).RunID)
		s.recorded[run] = append(s.recorded[run], e)
		return true
	})
	s.said, s.taken = map[string]seen{}, map[boxesOf]int{}
}

// supersOfRun reads a row that says which supers went into a run. The yard and the day name
// the pull, or the yard alone.
func (k *taking) supersOfRun() error {
	s := &k.supplies
	s.lookUp(k)
	r := suppliedRow{row: k.row}
	var ok, given bool
	if r.day, ok = k.dayIn(FieldPulled); !ok {
		return nil
	}
	if r.run, ok = k.runMeant(r.day); !ok {
		return nil
	}
	var err error
	if r.yard, given, err = k.name(FieldYard, r.run.at); err != nil {
		return err
	}
	k.needs(FieldYard, given)
	parts, err := k.suppliedParts(r)
	if err != nil || k.bad {
		return err
	}
	before := k.LeftOut
	for _, r := range parts {
		what := fmt.Sprint(r.run.id, r.yard, r.kind, r.day, r.supers)
		last := s.said[what]
		s.said[what] = seen{last.times + 1, int32(r.row)}
		r.key, r.typed = fmt.Sprint(what, "#", last.times), k.typed
		if k.hadSupers(r.key) {
			continue
		}
		k.fresh = true
		if last.times > 0 && k.standsTwice(nil, int(last.row)) {
			continue
		}
		if s.rows = append(s.rows, r); len(s.rows) > mostNamed {
			return fault.New(fault.TooLarge, "The sheet says more than %s times which supers went into a run. Nothing was stored. Bring it in as parts.", mostNamed)
		}
	}
	k.LeftOut = min(k.LeftOut, before+1) // it is one row
	return k.done(nil)
}

// suppliedParts are the supers of a row: a count, with a kind or none, or a column for each
// kind.
func (k *taking) suppliedParts(r suppliedRow) (out []suppliedRow, err error) {
	add := func(c *column) {
		n, given := k.count(c, k.cell(c))
		if r.column, r.sent, r.supers = c, k.itself(c), n; given && n > 0 {
			out = append(out, r)
		}
	}
	for _, c := range k.supers {
		kind, known, err := k.thing(c, NounSuperKind, c.Of, r.run.at)
		if err != nil {
			return nil, err
		}
		if r.kind = kind; known {
			add(c)
		}
	}
	if c := k.columns[FieldSupers]; c != nil {
		if r.kind, _, err = k.name(FieldSuperKind, r.run.at); err != nil {
			return nil, err
		}
		add(c)
	}
	if len(out) == 0 && !k.bad {
		k.problem(MissingField, k.columns[FieldSupers], message.F("The row says of no super that it went in: type how many did, or leave the row out."))
	}
	return out, nil
}

// hadSupers reports whether the book has what a row says from the same row of an import.
func (k *taking) hadSupers(key string) bool {
	n := 0
	for ; ; n++ {
		id, had, _ := k.identity(&ledger.Entry{Kind: ledger.KindRunSupers}, partOf(key, n))
		if !had {
			return n > 0
		}
		k.again.says(id)
	}
}

// partOf is what makes the n-th entry of a row what it is: supers of several pulls have one
// each.
func partOf(key string, n int) string { return fmt.Sprint(key, "/", n) }

// dayIn is the day in a column; empty where it is not said, and not ok where that has to
// be asked.
func (k *taking) dayIn(f Field) (day string, ok bool) {
	c := k.columns[f]
	if c == nil || tables.Missing(k.text(f)) {
		return "", true
	}
	w, ok := k.date(c, k.text(f))
	if !ok {
		return "", false
	}
	return dateOnly(w), true
}

// runMeant is the run that a row names, by its name, its day or both.
func (k *taking) runMeant(pulled string) (run happened[ledger.Run], ok bool) {
	day, ok := k.dayIn(FieldDate)
	name := k.word(FieldRun)
	if !ok || k.bad {
		return run, false
	}
	if day == "" && name == "" {
		k.problem(MissingField, nil, message.F("The row names no run: fill in its name or its day, or leave the row out."))
		return run, false
	}
	named := k.supplies.onDay[day]
	if name != "" {
		named = k.supplies.named[sameName(name)]
	}
	var meant []happened[ledger.Run]
	for _, r := range named {
		if day == "" && (pulled == "" || k.fits(r, pulled)) || r.day == day {
			meant = append(meant, r)
		}
	}
	switch {
	case len(meant) == 1:
		return meant[0], true
	case len(meant) > 1 && name == "":
		k.problem(TwoValues, k.columns[FieldDate], message.F("The book has %s runs on this day: say the name of the one that is meant%s.", len(meant), message.Option("run")), namesOf(meant)...)
	case len(meant) > 1:
		k.problem(TwoValues, k.columns[FieldRun], message.F("The book has %s runs of this name: say the day of the one that is meant%s.", len(meant), message.Option("date")), daysOf(meant)...)
	case name == "":
		k.problem(MissingField, k.columns[FieldDate], message.F("The book has no run on this day. Bring the runs in first, or put the day right."))
	default:
		k.problem(MissingField, k.columns[FieldRun], message.F("The book has no run of this name that it can be. Bring the runs in first, or put the name or the day right."), daysOf(named)...)
	}
	return run, false
}

// fits reports whether supers of a pull can have gone into a run: of the same season, and
// not before the pull.
func (k *taking) fits(run happened[ledger.Run], pulled string) bool {
	day, err := ledger.Date(pulled).On(k.book.Location())
	return err == nil && pulled <= run.day && k.book.SeasonOf(day) != nil && k.book.SeasonOf(day) == k.book.SeasonOf(run.at)
}

// mostMeant bounds what is offered.
const mostMeant = 8

func daysOf[T any](of []happened[T]) (out []string) {
	for _, x := range of {
		if len(out) < mostMeant && !slices.Contains(out, x.day) {
			out = append(out, x.day)
		}
	}
	return out
}

func namesOf(runs []happened[ledger.Run]) (out []string) {
	for _, r := range runs[:min(len(runs), mostMeant)] {
		out = append(out, r.body.Name)
	}
	return out
}

// waitingBoxes are supers that a row can be about.
type waitingBoxes struct {
	boxesOf
	at   time.Time
	left int
}

// settleSupers puts the rows that say which supers went into a run, once all were read.
func (k *taking) settleSupers(used map[ledger.ID]bool) error {
	for _, r := range k.supplies.rows {
		k.row, k.cells, k.bad, k.fresh, k.typed = r.row, nil, false, false, r.typed
		if c := r.column; c.index >= 0 {
			k.cells = append(make([]string, c.index), r.sent)
		}
		replaces, ok := k.likeSupers(r, used)
		if !ok {
			continue
		}
		if err := k.supply(r, replaces); err != nil {
			return err
		}
		if k.emit != nil && k.all > 0 {
			return nil
		}
	}
	return nil
}

// likeSupers looks for supers of the same yard that the book has in the run from elsewhere.
// It gives the entry that the row corrects, if any; not ok where the row is left out, or
// has to be asked about.
func (k *taking) likeSupers(r suppliedRow, used map[ledger.ID]bool) (replaces *ledger.Entry, ok bool) {
	var like *ledger.Entry
	for _, e := range k.supplies.recorded[r.run.id] {
		b := e.Body.(*ledger.RunSupers)
		p := ledger.Named[ledger.Pull](k.book, b.PullID)
		if p != nil && k.book.Root(p.YardID) == r.yard && !used[e.ID] && !k.again.wasSaid(k.book.Root(e.ID)) {
			like = e
			break
		}
	}
	answer := k.Mapping.Alike
	if of, said := k.Mapping.Rows[r.row]; said {
		answer = of
	}
	if like == nil || answer == Another {
		return nil, true
	}
	used[like.ID] = true
	switch answer {
	case LeftAside:
		if k.supplies.leftOut != r.row { // not yet for supers of another kind
			k.supplies.leftOut = r.row
			k.LeftOut++
		}
		return nil, false
	case Corrects:
		return like, true
	}
	k.problem(LikeRecorded, nil, message.F("The book has %s of this yard in this run, entry %s. Is this row a correction of it, more supers, or to be left out%s?",
		saidSupers(like.Body.(*ledger.RunSupers).Supers), like.Number, message.Option("alike_rows, or rows")), string(Corrects), string(Another), string(LeftAside))
	return nil, false
}

// supply puts the supers of a row into its run, where it is clear of which pulls they are.
func (k *taking) supply(r suppliedRow, replaces *ledger.Entry) error {
	boxes, days := k.waitingFor(r, replaces)
	left := 0
	for _, b := range boxes {
		left += b.left
	}
	switch {
	case len(boxes) == 0 && r.day != "":
		k.problem(MissingField, k.columns[FieldPulled], message.F("The book has no pull from %s on this day that such supers can be of. Bring the pulls in first, or put the row right.", k.book.Name(r.yard)), days...)
		return nil
	case len(boxes) == 0:
		k.problem(MissingField, k.columns[FieldYard], message.F("The book has no pull from %s before this run in its season that such supers can be of. Bring the pulls in first, or put the row right.", k.book.Name(r.yard)), days...)
		return nil
	case r.supers > left:
		k.problem(OutOfRange, r.column, message.F("The row says %s, and %s of this yard are left for the run (%s). Put right which one is wrong.", saidSupers(r.supers), left, k.saidBoxes(boxes)))
		return nil
	case r.supers < left && len(boxes) > 1:
		k.problem(TwoValues, r.column, message.F("The %s of this row can be of several pulls or kinds (%s). Say which they are: give the day of the pull%s, and the kind%s.",
			saidSupers(r.supers), k.saidBoxes(boxes), message.Option("pulled_on"), message.Option("super_kind")), days...)
		return nil
	}
	for i, b := range boxes {
		n := min(b.left, r.supers)
		if n <= 0 {
			continue
		}
		at := r.run.at
		if b.at.After(at) {
			at = b.at // on the same day, by a sheet that says the hour of one of them
		}
		e := &ledger.Entry{Kind: ledger.KindRunSupers, OccurredAt: at, RecordedBy: k.By, Via: ledger.ViaImport, AsEntered: k.typed,
			Body: &ledger.RunSupers{RunID: r.run.id, PullID: b.pull, SuperCount: ledger.SuperCount{SuperKindID: b.kind, Supers: n}}}
		e.ID, _, _ = k.identity(e, partOf(r.key, i))
		if k.wasWithdrawn(e, false) {
			return nil
		}
		if replaces != nil {
			e.Replaces, e.Reason, replaces = replaces.ID, "The sheet came again and says otherwise.", nil
		}
		k.supplies.taken[b.boxesOf] += n
		r.supers -= n
		if err := k.store(e, map[string]int64{"supers": int64(n)}); err != nil {
			return err
		}
	}
	return nil
}

// waitingFor are the supers that a row can be of, and the days on which its yard was pulled.
// What the entry says that the row corrects is free again.
func (k *taking) waitingFor(r suppliedRow, replaces *ledger.Entry) (out []waitingBoxes, days []string) {
	pulls := k.supplies.pulls[r.yard]
	for _, p := range pulls {
		if p.day > r.run.day || r.day != "" && p.day != r.day || r.day == "" && !k.fits(r.run, p.day) {
			continue
		}
		for _, c := range p.body.Supers {
			of := boxesOf{p.id, k.book.Root(c.SuperKindID)}
			if r.kind != (ledger.ID{}) && r.kind != of.kind {
				continue
			}
			left := k.book.State().SupersLeft(of.pull, of.kind) - k.supplies.taken[of]
			if replaces != nil {
				was := replaces.Body.(*ledger.RunSupers)
				if k.book.Root(was.PullID) != of.pull || k.book.Root(was.SuperKindID) != of.kind {
					continue // a correction is of the same supers
				}
				left += was.Supers
			}
			out = append(out, waitingBoxes{of, p.at, max(0, left)})
		}
	}
	if some := slices.DeleteFunc(slices.Clone(out), func(b waitingBoxes) bool { return b.left == 0 }); len(some) > 0 {
		out = some
	}
	return out, daysOf(pulls)
}

// saidBoxes says what is left of which pull.
func (k *taking) saidBoxes(boxes []waitingBoxes) (out message.List) {
	for _, b := range boxes[:min(len(boxes), mostMeant)] {
		out = append(out, message.F("%s %s of %s", b.left, k.book.Name(b.kind), message.Day(b.at.In(k.book.Location()))))
	}
	return out
}
