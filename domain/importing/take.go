package importing

import (
	"errors"
	"slices"
	"sort"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// Options are what a sheet is brought in with beside its mapping.
type Options struct {
	// Outfit is whose book it is, and By who brings it in.
	Outfit uuid.UUID
	By     string
	// Now is the service's clock.
	Now time.Time
	// Progress, where it is set, is told now and then how many rows were read.
	Progress func(rows int64)
	// Waiting, where it is set, gives the error with which the taking ends between two
	// entries: nobody waits for it any more.
	Waiting func() error
	// Last, where it is set, is how the last sheet with the same headings came in.
	Last *Last
	// File is what the file is called. SHA256 is the hexadecimal digest of it, by which the
	// same file brought in otherwise before is known. Each is empty where it is not known.
	File, SHA256 string
	// Each, where it is set, is told of each entry that is new, and of its row.
	Each func(Taken)
}

// Result is what a sheet comes to.
type Result struct {
	// Rows is how many rows were read, HadRows how many of them the book has, and
	// LeftOut how many were left out.
	Rows, HadRows, LeftOut int64
	// Cells is how many filled cells of a wide sheet were read, each part of which counts as a
	// row, and Zeros how many were left out since nothing came.
	Cells, Zeros int64
	// Entries counts what is new, by kind.
	Entries map[ledger.Kind]int64
	// Sums are the totals of what is new, by what they are of: "gross_g".
	Sums map[string]int64
	// Problems are listed up to a bound; AllProblems counts them all.
	Problems    []*Problem
	AllProblems int64
	Mapping     Mapping
	// Offered is how the last sheet with the same headings came in, where it was told
	// something that this one was not; else nil.
	Offered *Last
	// Seasons are those that are set up for days that are in none.
	Seasons []ledger.Season
	// First are the first entries that are new, with the rows that they come from.
	First []Taken
	// Shown are the first rows, as they would stand in the book.
	Shown []*ShownRow
	// NotRead are the columns that hold something and are not read.
	NotRead []NotRead
	// Looked is true where it was found out what would be odd in the book with the sheet in it,
	// and Findings is what that is, beyond what is odd in it now.
	Looked   bool
	Findings []Finding
}

// Taken is an entry and the row that it comes from.
type Taken struct {
	Row int
	// Cell is the name of the cell, D7, where the row is one of a wide sheet, and Of the yard or
	// the tank that it is of, as the sheet has it.
	Cell, Of string
	Entry    *ledger.Entry
}

// New is how many entries are new.
func (r *Result) New() (n int64) {
	for _, k := range r.Entries {
		n += k
	}
	return n
}

// shown is how many entries a result shows.
const shown = 20

// mostRows bounds a sheet: a logger of every minute fills as many in two years.
const mostRows = 1_200_000

// mostNamed is how many new things, which later rows may name, one sheet brings in. Each
// is kept in memory until all is stored.
const mostNamed = 100_000

// progressEvery is how many rows go by between two words of progress.
const progressEvery = 1000

// Take reads a sheet by its mapping and hands each new entry to emit, in an order
// in which they can follow the book; emit may be nil. Entries are complete but for
// their numbers, digests and times of recording, and have been held against the
// book and those before them. ahead comes from ledger.Book.Ahead and is added to.
//
// Where there is an emit, the first problem ends the taking: what emit took must
// then not be kept, and without it all problems can be had. The error is emit's or
// the sheet's.
func Take(ahead *ledger.Book, t *tables.Table, m Mapping, o Options, emit func(*ledger.Entry) error) (*Result, error) {
	k := &taking{
		book: ahead, table: t, Options: o, emit: emit,
		Result: Result{Mapping: m, Offered: o.Last, Entries: map[ledger.Kind]int64{}, Sums: map[string]int64{}},
		known:  ahead.Len(),
		seen:   map[uuid.UUID]seen{}, figured: map[uint64]int32{}, named: map[nameKey]*namedThing{}, spelt: map[Noun]*spelling.Index{},
	}
	k.chosen()
	k.importedOtherwise()
	k.askAsLastTime()
	if err := k.compile(); err != nil {
		return nil, err
	}
	if k.all == 0 {
		if err := k.walk(); err != nil {
			return nil, err
		}
	}
	if err := k.notRead(); err != nil {
		return nil, err
	}
	k.Problems, k.AllProblems = k.list, k.all
	slices.SortStableFunc(k.Problems, func(a, b *Problem) int { return a.Row - b.Row })
	return &k.Result, nil
}

type taking struct {
	Options
	Result
	problems
	book  *ledger.Book
	table *tables.Table
	emit  func(*ledger.Entry) error

	columns    map[Field]*column
	supers     []*column // counts of a kind of super each
	owns       []*column // parameters of the outfit's own
	width      int       // fields that the heading row of a text file has room for; 0 where any may come
	lengths    lengths
	tall       map[int][]tables.Tall
	sums       *sums
	sides      sides
	strayYears strayYears
	nightClock nightClock
	// elsewhere is what texts beside the figures say that these are in.
	elsewhere elsewhere
	// quantities are the columns that say how many a row is, and sumsOfKinds those that say how many
	// supers of all kinds; nil until they were looked for.
	quantities, sumsOfKinds []int
	leaveOut                map[int]bool
	reads                   []*column
	headings                map[string]bool // of all columns
	above                   map[string]bool // what stands in the rows of the headings, in lower case
	unread                  unread
	take                    func() error
	seen                    map[uuid.UUID]seen
	// figured is in which row last a wide sheet had a figure of a name and day, by the first
	// bytes of their digest: there may be a million of them.
	figured            map[uint64]int32
	named              map[nameKey]*namedThing
	choices            map[Noun]map[string]Choice
	spelt              map[Noun]*spelling.Index
	compared, followed int
	unclear            int // names that have to be asked about
	runs               map[string]*runRow
	points             map[string]ledger.Point // by the texts seen
	logs               logs
	again              again
	moved              moved
	comesTo            comesTo
	withdrawn          *ledger.Entry // what said the same as the entry at hand, and was withdrawn
	wide               *wide         // nil where each row is one thing
	supplies           supplies
	sales              sales
	pumped             map[pumped]int // the rows
	counted            map[counted]countedIn
	failed             error
	fact               []byte // room for what makes an entry what it is

	known int64 // the last entry of the book that the sheet comes to
	row   int
	cells []string
	bad   bool              // the row at hand has a problem
	typed map[string]string // what was typed in it, by field
	fresh bool              // something of it is new
	zoned bool              // its time says its offset from UTC
	timed bool              // it says a time of day
	// measuredFrom and observedFrom are the columns of its other figures and its answers.
	measuredFrom, observedFrom []*column
}

// column is a column as it is read.
type column struct {
	*Column
	info  *fieldInfo
	index int
	mark  tables.Mark
	order tables.Order
	// bothOrders is true where some dates have the day first and others the month,
	// timed where most serial numbers of dates have a time of day.
	bothOrders, timed bool
	// turned is true where real dates of the column have day and month the wrong way round.
	turned bool
	// zone is that of its times, where its heading says so, and am and pm which halves of the day
	// that names.
	zone   *time.Location
	am, pm bool
	// scale is the other unit of its figures that its heading names; nil where it names none.
	scale *scale
	// units are the columns that may say the unit of its figures in each row.
	units []int
	// looked is the row in which it was last asked what its cell holds.
	looked int
	// asked are the rule sets' parameters that it holds.
	asked []ledger.NamedParameter
}

// importedOtherwise refuses the same file with another mapping while it is in the
// book: its rows would be booked twice.
func (k *taking) importedOtherwise() {
	if k.SHA256 == "" {
		return
	}
	k.book.InForceOf(ledger.KindImport, func(_ ledger.ID, e *ledger.Entry) bool {
		i := e.Body.(*ledger.Import)
		if i.SHA256 == k.SHA256 && i.Of == string(k.Mapping.Of) && i.Sheet == k.Mapping.Sheet && !sameMapping(i.Mapping, k.Mapping) {
			k.add(Problem{Code: OtherThanHad, Message: message.F("This very file was brought in as import %s, with other settings. Bring it in with the same settings, or withdraw that import first.", e.Number)})
			return false
		}
		return true
	})
}

// walk goes through the rows below the headings.
func (k *taking) walk() error {
	if k.wide != nil {
		k.wide.walking = true
	}
	err := k.rows(func(row int, cells []string) bool {
		if row <= k.Mapping.HeadingRow {
			return true
		}
		k.row, k.cells, k.bad, k.typed, k.fresh = row, cells, false, nil, false
		k.measuredFrom, k.observedFrom = k.measuredFrom[:0], k.observedFrom[:0]
		if k.blank() {
			k.headsOthers()
			return true
		}
		k.Rows++
		if k.Progress != nil && k.Rows%progressEvery == 0 {
			k.Progress(k.Rows)
		}
		k.show()
		leftOut := k.LeftOut
		shown := k.shownNow()
		defer func() { shown.isLeftOut(k.LeftOut > leftOut) }()
		switch {
		case k.headsOtherwise():
			return true
		case k.leaveOut[row] && k.headsOthers():
			return true
		case k.leaveOut[row] || k.isHeadingAgain():
			k.LeftOut++
			return true
		case k.takenOut():
			return true
		case k.isTotal():
			if k.Mapping.LeaveOutTotals {
				k.LeftOut++
				return true
			}
			k.looksLikeSum()
			return true
		case k.tooWide(), k.isParted(), k.becameDays(), k.addsUp(), k.doubtful():
			return true
		}
		k.failed = errors.Join(k.failed, k.take())
		k.passedOver()
		return k.failed == nil && (k.emit == nil || k.all == 0)
	})
	if err == nil && k.failed == nil && (k.emit == nil || k.all == 0) {
		used := map[ledger.ID]bool{}
		k.failed = errors.Join(k.finishLogs(), k.settleAlike(used), k.settleSupers(used), k.settleSales())
		k.askSums()
		k.askMoved(used)
		k.askGone(used)
		k.askStrayYears()
		k.askNightClock()
	}
	if k.Rows == 0 {
		k.add(Problem{Code: MissingField, Row: k.Mapping.HeadingRow, Message: message.F("There is no row to read: the columns that the program reads are empty below the headings.")})
	}
	if k.Progress != nil {
		k.Progress(k.Rows)
	}
	return errors.Join(err, k.failed)
}

// looksLikeSum asks whether the row at hand is a sum.
func (k *taking) looksLikeSum() {
	if k.Mapping.Of == Yards {
		k.problem(LooksLikeSum, k.columns[FieldName], message.F("This row looks like a sum of the others: leave it out%s, or say that this is a yard's name%s.", message.Option("leave_out_totals"), message.Option("create")))
		return
	}
	if k.itself(k.columns[FieldDate]) != "" && k.isTotalOfDay() || k.wide != nil && k.wide.nameBeside() != nil {
		k.problem(LooksLikeSum, nil, message.F("This row looks like a sum of the others: leave it out%s, or call it something else if it is not one.", message.Option("leave_out_totals")))
		return
	}
	k.problem(LooksLikeSum, nil, message.F("This row looks like a sum of the others: leave it out%s, or give it a date if it is not one.", message.Option("leave_out_totals")))
}

// tooWide notes a row of a text file with more fields than there are headings:
// something in it was parted that belongs together, and what stands behind is lost
// or a column off.
func (k *taking) tooWide() bool {
	if k.width == 0 || len(k.cells) <= k.width {
		return false
	}
	if strings.Join(k.cells[k.width:], "") == "" && !k.lengths.uneven() {
		return false // a program that ends each row with separators
	}
	k.add(Problem{Code: TooManyFields, Row: k.row, Column: tables.Column(k.width), Sent: k.cells[k.width],
		Message: message.F("The row has %s fields, for %s: does a decimal comma, or a comma in a text, part what belongs together? Put that in quotes. If it is a column of its own, give it a heading.", len(k.cells), message.Plural{N: float64(k.width), One: "%s heading", Other: "%s headings"})})
	return true
}

// isParted notes a figure of a file with commas that stands in two fields, as 38,5 does where
// no quotes keep it together and there is room behind it: in a column without a heading, or
// a note of three figures behind a weight.
func (k *taking) isParted() bool {
	if k.table.Separator != ',' || k.wide != nil {
		return false
	}
	for _, c := range k.reads {
		behind := c.index + 1
		if c.index < 0 || c.info.measure < counts || behind >= len(k.cells) || behind >= len(k.Mapping.Columns) || !isWhole(strings.TrimPrefix(k.itself(c), "-")) || !isWhole(k.cells[behind]) {
			continue
		}
		const group = 3
		next := k.Mapping.Columns[behind]
		if next.Field == "" && next.Heading == "" || next.Field == FieldNote && c.info.measure == masses && len(k.cells[behind]) == group {
			k.add(Problem{Code: TooManyFields, Row: k.row, Column: next.Column, Heading: next.Heading, Sent: k.cells[behind],
				Message: message.F("Does a comma part %s here from the figure before it? Put that figure in quotes, or say in words what this is.", message.Quoted(k.cells[behind]))})
			return true
		}
	}
	return false
}

// isWhole reports whether a text is a whole number in digits alone.
func isWhole(text string) bool { return text != "" && strings.Trim(text, "0123456789") == "" }

// blank reports whether no column that is read holds anything.
func (k *taking) blank() bool {
	if k.wide != nil && k.wide.filled() {
		return false
	}
	for _, c := range k.columns {
		if k.itself(c) != "" {
			return false
		}
	}
	for _, of := range [...][]*column{k.supers, k.owns} {
		for _, c := range of {
			if k.itself(c) != "" {
				return false
			}
		}
	}
	return true
}

// isHeadingAgain reports whether the headings are repeated, as on a new page, or one row of
// them, where groups or units have a row of their own.
func (k *taking) isHeadingAgain() bool {
	if k.wide == nil && k.headsUnread() {
		return false
	}
	same := 0
	for _, c := range k.columns {
		switch cell := k.itself(c); {
		case cell == "":
		case !isOfHeading(cell, c.Heading), !strings.EqualFold(cell, c.Heading) && k.wide == nil && !k.above[strings.ToLower(cell)]:
			return false
		default:
			same++
		}
	}
	return same > 0
}

// headsOtherwise asks about a row in which headings stand again that are not all those of their
// columns: what stands below it would be read by the first ones, even where it is left out.
func (k *taking) headsOtherwise() bool {
	if k.wide != nil {
		return false
	}
	const some = 2
	headings := 0
	for _, c := range k.reads {
		switch cell := k.itself(c); {
		case cell == "":
		case startsAsFigure(cell) || isDate(cell):
			return false // what has a figure tells of something
		case strings.EqualFold(cell, c.Heading) || k.headings[cell] || len(fieldsByHeading[k.Mapping.Of][strings.Join(wordsOf(cell), " ")]) > 0:
			headings++
		}
	}
	if headings < some || k.isHeadingAgain() {
		return false
	}
	k.add(Problem{Code: TwoValues, Row: k.row, OfHeadings: true,
		Message: message.F("Headings stand here again, and not all of them are those of their columns: bring what stands below them in as a sheet of its own.")})
	return true
}

// headsUnread reports whether words that are no headings stand in columns that are not read:
// in a row of headings they head a column that the first ones do not have.
func (k *taking) headsUnread() bool {
	for i, cell := range k.cells {
		if cell == "" || startsAsFigure(cell) || k.above[strings.ToLower(cell)] || i < len(k.Mapping.Columns) && k.Mapping.Columns[i].Field != "" {
			continue
		}
		return true
	}
	return false
}

// isOfHeading reports whether a cell says the same as a heading, its beginning or its end.
func isOfHeading(cell, heading string) bool {
	cell, heading = strings.ToLower(cell), strings.ToLower(heading)
	return cell == heading || strings.HasPrefix(heading, cell+" ") || strings.HasSuffix(heading, " "+cell)
}

// itself is what the cell itself holds.
func (k *taking) itself(c *column) string {
	if c == nil || c.index < 0 || c.index >= len(k.cells) {
		return ""
	}
	return k.cells[c.index]
}

// cell is what the cell shows: that of a name or date which is merged with those
// below it holds for each of their rows.
func (k *taking) cell(c *column) string {
	text := k.itself(c)
	if text == "" && c != nil && c.info.measure < counts {
		if over := k.over(c); over != nil {
			return over.Text
		}
	}
	return text
}

// over is the merged cell from further up that the row at hand shows in a column.
func (k *taking) over(c *column) *tables.Tall { return k.overAt(c.index) }

func (k *taking) overAt(index int) *tables.Tall {
	of := k.tall[index]
	i := sort.Search(len(of), func(i int) bool { return of[i].Last >= k.row })
	if i == len(of) || of[i].First >= k.row {
		return nil
	}
	return &of[i]
}

// problem notes what is wrong with a cell of the row at hand, or with the row.
func (k *taking) problem(code Code, c *column, why message.Text, meant ...string) {
	p := Problem{Code: code, Row: k.row, Message: why, DidYouMean: meant, cell: k.cellName()}
	if c != nil {
		p.Field = c.Field
		if c.index >= 0 {
			p.Column, p.Heading, p.Sent = c.Column.Column, c.Heading, strings.TrimPrefix(k.cell(c), "'")
		} else {
			p.Sent = k.Mapping.Fixed[c.Field]
		}
	}
	k.bad = true
	if k.wide == nil || k.wide.place(&p, c) {
		k.add(p)
		if p.Row == k.row {
			return
		}
	}
	k.shownNow().isAsked(&p) // of a heading, or of a whole column, it is asked once, and open in each row
}

// problemOnce is problem of what one answer mends in all rows and columns.
func (k *taking) problemOnce(code Code, c *column, why message.Text, meant ...string) {
	p := Problem{Code: code, Row: k.row, Message: why, DidYouMean: meant, Field: c.Field, cell: k.cellName(), once: true}
	if c.index >= 0 {
		p.Column, p.Heading, p.Sent = c.Column.Column, c.Heading, strings.TrimPrefix(k.cell(c), "'")
	}
	if k.wide != nil {
		k.wide.where(&p, c)
	}
	k.bad = true
	k.add(p)
}

// stands says where a cell of the row at hand stands, as a problem that is none yet.
func (k *taking) stands(c *column) Problem {
	p := Problem{Row: k.row, Column: c.Column.Column, Heading: c.Heading}
	if k.wide != nil {
		k.wide.where(&p, c)
	}
	return p
}

// put holds an entry against the book and hands it on. It returns the id by which
// it is known: its own, or that of the same entry in the book. fact is what makes
// it the same; named things are the same by their names alone. sums is what it adds to
// those of the sheet, by what they are of.
func (k *taking) put(at time.Time, body ledger.Body, name string, sums map[string]int64) (ledger.ID, error) {
	e := &ledger.Entry{Kind: body.Kind(), OccurredAt: at.UTC().Truncate(time.Microsecond), RecordedBy: k.By, Via: ledger.ViaImport, Body: body}
	had, above := false, 0
	e.ID, had, above = k.identity(e, name)
	k.showEntry(e, name, had)
	if had {
		return e.ID, k.putAgain(e, sums)
	}
	if k.wasWithdrawn(e, name != "") {
		k.fresh = true // nothing that the book has
		return e.ID, nil
	}
	if len(k.typed) > 0 {
		e.AsEntered = k.typed
	}
	if _, has := k.occasionOf(at, body); has && above > 0 && k.standsTwice(e, above) {
		k.fresh = true // nothing that the book has
		return e.ID, nil
	}
	if above == 0 && k.standsOtherwise(e) {
		k.fresh = true
		return e.ID, nil
	}
	if k.waits(e, sums) {
		k.fresh = true
		return e.ID, nil
	}
	return e.ID, k.store(e, sums)
}

// store holds an entry against the book, counts it and hands it on.
func (k *taking) store(e *ledger.Entry, sums map[string]int64) error {
	if k.Waiting != nil {
		if err := k.Waiting(); err != nil {
			return err
		}
	}
	err := quality.Complete(k.book, e)
	if err == nil {
		err = k.book.Check(e, k.Now)
	}
	if err != nil {
		k.refused(err)
		return nil
	}
	k.fresh = true
	k.noteFresh(e)
	k.Entries[e.Kind]++
	for what, sum := range sums {
		k.Sums[what] += sum
	}
	if k.Each != nil || len(k.First) < shown {
		taken := Taken{Row: k.row, Cell: k.cellName(), Of: k.whose(), Entry: e}
		if len(k.First) < shown {
			k.First = append(k.First, taken)
		}
		if k.Each != nil {
			k.Each(taken)
		}
	}
	next := *e // what is emitted is given its number in the book elsewhere, at once
	if k.emit != nil && k.all == 0 {
		if err := k.emit(e); err != nil {
			return err
		}
	}
	return k.follow(&next)
}

// follow lets later rows name what an entry set up.
func (k *taking) follow(e *ledger.Entry) error {
	if e.Replaces != (ledger.ID{}) {
		return nil // what it names goes by the same name as before
	}
	switch e.Kind {
	case ledger.KindReading, ledger.KindTemperatureLog, ledger.KindMovement, ledger.KindPull, ledger.KindRunEnd, ledger.KindHiveCount, ledger.KindRunSupers, ledger.KindDispatch:
		return nil // nothing that follows names them
	}
	if k.followed++; k.followed > mostNamed {
		return fault.New(fault.TooLarge, "The sheet brings in more than %s new yards, runs, lots or containers. Nothing was stored. Bring it in as parts.", mostNamed)
	}
	e.Number = k.book.Len() + 1
	if err := k.book.Follow(e); err != nil {
		return err
	}
	for noun, index := range k.spelt {
		if kindOf[noun] == e.Kind {
			index.Add(k.book.Name(e.ID))
		}
	}
	return nil
}

// refused lists what the book says of an entry, at the cells that it is about.
func (k *taking) refused(err error) {
	var f *fault.Error
	if !errors.As(err, &f) {
		k.problem(RefusedByBook, nil, message.Verbatim(err.Error()))
		return
	}
	if len(f.Fields) == 0 {
		k.problem(RefusedByBook, nil, f.Message)
	}
	for _, field := range f.Fields {
		var meant []string
		if field.DidYouMean != nil {
			meant = []string{message.F("%s", asText(field.DidYouMean)).String()}
		}
		k.row = k.rowAt(field.Pointer)
		k.problem(RefusedByBook, k.columnAt(field.Pointer), field.Message, meant...)
	}
}

// Counts says how many entries are new of each kind, in the kinds' order: "12 pull".
func (r *Result) Counts() (out []string) {
	for _, k := range ledger.Kinds() {
		if n := r.Entries[k]; n > 0 {
			out = append(out, strconv.FormatInt(n, 10)+" "+strings.ReplaceAll(string(k), "_", " "))
		}
	}
	return out
}
