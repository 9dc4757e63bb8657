package pages

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/bringin"
	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
	"pullbook/domain/tables"
	"pullbook/openapi"
)

// importView is the page for bringing old sheets in.
type importView struct {
	ID    string
	Kinds []form.Option
	// Answer is what came of the file that was sent; nil at first.
	Answer *importAnswerView
	Past   []pastImport
	// UnderWay says of each sheet that is on its way how far it is.
	UnderWay []string
}

type pastImport struct {
	ID, File, Kind, When, By, Rows string
	Withdrawn                      bool
}

// importAnswerView is what a file would come to, and what its columns are taken
// for; all of it can be changed and sent again.
type importAnswerView struct {
	// Mapping goes back as it is, with the table and sheet that it is of; what is
	// chosen beside it comes on top. MappingFile is the digest of the file.
	Mapping, MappingOf, MappingFile string
	Columns                         []importColumnView
	// Wide is how a wide sheet is read; nil where the kind of table is never wide.
	Wide *importWideView
	// Dates asks for the order of day and month.
	Dates, Sheets []form.Option
	// Year and Turned ask about dates where they have to be asked about.
	Year   *string
	Turned []form.Option
	// TakenOut asks about rows that were taken out, where there are some.
	TakenOut []form.Option
	// Alike and Twice ask what rows are that are like entries of the book, or like others.
	Alike, Twice    []form.Option
	Totals, Seasons bool
	// SeasonsMade are those that are set up, with their days.
	SeasonsMade []string
	Names       []importNameView
	// Offered is what the last sheet with the same headings was told; nil where it was
	// told nothing more.
	Offered  *offeredView
	Problems []importProblemView
	// Asked is what is asked below a problem, each once, and not among the columns.
	Asked                  map[string]bool
	AllProblems, MoreCount int
	New, Had, LeftOut      string
	Rows                   int64
	Counts, Sums, Notices  []string
	// Wrong is true where something that was typed could not be taken.
	Wrong bool
	// NotRead names the columns that are not read.
	NotRead []string
	// FirstRows are the first rows as they would stand in the book.
	FirstRows []importRowView
	// Findings are what would be odd in the book with it. Unlooked is true where that was not
	// looked for though nothing has to be put right.
	Findings []importFindingView
	Unlooked bool
	// Fixed asks for what holds for all rows, beside what problems ask for.
	Fixed     []importFixedView
	FixedOpen bool
	// Answered are rows and cells of which was said what they are; it can be said otherwise.
	Answered []answeredView
	// LeftOutRows are left out by their numbers; MoreLeftOut says how many more are.
	LeftOutRows []int
	MoreLeftOut string
	// Ready: nothing has to be put right, and something is new.
	Ready bool
	// Stored is the number of the import that was made; StoredID its entry.
	Stored, StoredID string
	// Unsold counts the old containers that it brought in and that were never sold, and Gone
	// is where it is said what became of them.
	UnsoldSays string
	Gone       string
}

type importColumnView struct {
	Column, Heading, From string
	Fields, Units, Marks  []form.Option
}

// importNameView asks what a name in the sheet means.
type importNameView struct {
	Noun, Name, Label string
	Options           []form.Option
	// Number is its own among the names that are asked about, by which the questions about a new
	// thing are named; Fields are those, and Open is true where they are likely to be needed.
	Number int
	Fields []*form.Field
	Open   bool
}

type importProblemView struct {
	Where, Sent, Message, More string
	// Row asks for an answer of its own where it has some.
	Row     int
	Answers []form.Option
	// Cell stands in the row's place in a wide sheet.
	Cell string
	// Fixed asks for values for all rows that would mend it.
	Fixed []importFixedView
	// Ask is what is asked below it for all rows, and At where it is answered elsewhere on the page;
	// empty where neither is.
	Ask, At string
	// LeaveOut is its row, where the page offers to leave that out here.
	LeaveOut int
}

func (p *pages) routeImport(e *echo.Echo, m ...echo.MiddlewareFunc) {
	e.GET(request.ImportPath, p.importPage, m...)
	e.POST(request.ImportPath, p.importSheet)
	e.GET(importProgressPath+"/:id", p.importProgress)
	e.GET(goneRoute, p.gone, m...)
	e.POST(goneRoute, p.newGone)
}

const importProgressPath = request.ImportPath + "/progress"

// importProgress tells a page that waits how far its sheet has been read. A sheet that has
// not begun to arrive is no fault of the page's.
func (p *pages) importProgress(ctx echo.Context) error {
	id, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		return echo.ErrNotFound
	}
	who, err := p.Visitor(ctx)
	if err != nil {
		return err
	}
	progress, known := p.ProgressOf(who.Outfit, id)
	out := openapi.ImportProgress{ID: id, State: "done", Rows: progress.Rows}
	switch {
	case !known:
		out.State = "coming"
	case progress.Before > 0:
		out.State, out.WaitsFor = "waiting", new(progress.Before)
	case progress.Reading:
		out.State = "reading"
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	return ctx.JSON(http.StatusOK, out)
}

func (p *pages) importPage(ctx echo.Context) error {
	v, who, f, err := p.importView(ctx, "")
	if err != nil {
		return err
	}
	for _, s := range p.SheetsUnderWay(who.Outfit) {
		says := f.Say("A file is being read: %s so far.", message.Plural{N: float64(s.Rows), One: "%s row", Other: "%s rows"})
		if s.Before > 0 {
			says = f.Say("A file waits until others are read. Files before it: %s.", s.Before)
		}
		v.UnderWay = append(v.UnderWay, says)
	}
	return p.page(ctx, http.StatusOK, "import.html", v)
}

// importView is the page without an answer, for a manager.
func (p *pages) importView(ctx echo.Context, kind importing.Kind) (v *importView, who db.Principal, f locale.Voice, err error) {
	var past []*ledger.Entry
	var withdrawn []bool
	err = p.manage(ctx, func(w db.Principal, o db.Outfit, b *ledger.Book) error {
		who, f = w, request.VoiceFor(ctx, o, b)
		for e := range b.RecordedOf(ledger.KindImport, 0) {
			past, withdrawn = append(past, e), append(withdrawn, b.InForce(e.ID) == nil)
		}
		return nil
	})
	v = &importView{ID: uuid.NewString()}
	if err != nil {
		return v, who, f, err
	}
	for _, k := range importing.Kinds() {
		v.Kinds = append(v.Kinds, form.Option{Value: string(k), Label: f.Say("table|" + strings.ReplaceAll(string(k), "_", " ")), Chosen: k == kind})
	}
	for n, e := range slices.Backward(past) {
		i := e.Body.(*ledger.Import)
		v.Past = append(v.Past, pastImport{
			ID: e.ID.String(), File: i.File, Kind: f.Say("table|" + strings.ReplaceAll(i.Of, "_", " ")), When: f.Minute(e.RecordedAt),
			By: e.RecordedBy, Rows: f.Say("%s", message.Plural{N: float64(i.Rows), One: "%s row", Other: "%s rows"}), Withdrawn: withdrawn[n],
		})
	}
	return v, who, f, nil
}

// importSheet looks at a file, or brings it in, and shows what came of it.
func (p *pages) importSheet(ctx echo.Context) error {
	_, _, f, err := p.importView(ctx, "")
	if err != nil {
		return err // before the file is read
	}
	m := form.NewMaker(f, form.Things{})
	sheet, typed, err := p.readImportForm(ctx, m)
	if sheet != nil {
		defer sheet.Remove()
	}
	if err != nil {
		return err
	}
	v, who, _, err := p.importView(ctx, sheet.Kind)
	if err != nil {
		return err
	}
	v.ID = sheet.Id.String()
	file, result, made, err := entries.BringIn(p.Service, ctx, who, sheet)
	if err != nil {
		return err
	}
	var known namedThings
	var own []ledger.NamedParameter
	unsold := 0
	err = p.look(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		m.Voice, known, own = request.VoiceFor(ctx, o, b), thingsNamed(b, result), b.OwnParameters()
		if made != nil {
			unsold = len(b.Unsold(made.ID))
		}
		return nil
	})
	if err != nil {
		return err
	}
	if v.Answer, err = importAnswer(m, importAbout{known, own, p.recorded, typed}, file, result); err != nil {
		return err
	}
	if made != nil {
		v.Answer.Ready, v.Answer.Unlooked, v.Answer.Stored, v.Answer.StoredID = false, false, m.Count(int(made.Number)), made.ID.String()
		v.Answer.Names, v.Answer.LeftOutRows, v.Answer.Answered = nil, nil, nil // they are settled
		v.Answer.UnsoldSays, v.Answer.Gone = unsoldSays(f, unsold), gonePath(made.ID)
		v.ID = uuid.NewString() // for what is brought in next
	}
	return p.page(ctx, http.StatusOK, "import.html", v)
}

// unsoldSays says of how many containers nobody knows what became of them; empty of none.
func unsoldSays(f locale.Voice, containers int) string {
	if containers == 0 {
		return ""
	}
	return f.Say("The book has no sale of %s of this sheet, filled more than a year before.", message.Plural{N: float64(containers), One: "%s container", Other: "%s containers"})
}

// readImportForm reads the page's form: the parts of the contract's, and what was
// chosen about columns and names. The file is its last part.
func (p *pages) readImportForm(ctx echo.Context, m form.Maker) (*entries.ImportForm, url.Values, error) {
	parts, err := ctx.Request().MultipartReader()
	if err != nil {
		return nil, nil, errNoForm
	}
	f, typed := &entries.ImportForm{}, url.Values{}
	left := int64(mostChosen)
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return f, typed, errNoFile
		}
		if err != nil {
			return f, typed, entries.NotWhole(err)
		}
		if part.FormName() == "file" {
			if f.Name = part.FileName(); f.Name == "" {
				return f, typed, errNoFile
			}
			if err := p.chosenImport(f, typed, m); err != nil {
				return f, typed, err
			}
			f.Path, err = entries.Spool(part, ctx.Request().Body)
			return f, typed, err
		}
		text, err := io.ReadAll(io.LimitReader(part, left+1))
		if err != nil {
			return f, typed, entries.NotWhole(err)
		}
		if left -= int64(len(text)) + int64(len(part.FormName())); left < 0 {
			return f, typed, errNoForm
		}
		typed.Add(part.FormName(), string(text))
	}
}

// mostChosen bounds what is chosen on the page beside the file.
const mostChosen = 4 << 20

var (
	errNoForm = fault.New(fault.Malformed, "The form did not arrive whole. Please send it again.")
	errNoFile = fault.New(fault.Invalid, "Please choose a file: CSV as spreadsheets write it, or XLSX.")
)

// chosenImport makes the order out of what was typed.
func (p *pages) chosenImport(f *entries.ImportForm, typed url.Values, m form.Maker) (err error) {
	if f.Id, err = uuid.Parse(typed.Get("id")); err != nil {
		return errNoForm
	}
	if f.Kind = importing.Kind(typed.Get("kind")); len(importing.FieldsOf(f.Kind)) == 0 {
		return fault.New(fault.Invalid, "Please say what each row of the sheet is.")
	}
	f.Sheet, f.Store = typed.Get("sheet"), typed.Get("do") == "store"
	if typed.Get("mapping") == "" || typed.Get("mapping_of") != string(f.Kind)+" "+f.Sheet {
		return nil // the columns are guessed
	}
	if typed.Get("do") == "again" {
		f.Mapping, err = entries.ReadImportMapping(p.Service, []byte(typed.Get("offered")))
		return err
	}
	if f.Mapping, err = entries.ReadImportMapping(p.Service, []byte(typed.Get("mapping"))); err != nil {
		return err
	}
	f.MappingOf = typed.Get("mapping_file")
	choose(f.Mapping, f.Kind, typed, m)
	f.Store = f.Store && len(m.Errors) == 0
	return nil
}

// choose puts what was chosen on the page on top of a mapping. What cannot be taken is among the
// maker's errors.
func choose(m *importing.Mapping, kind importing.Kind, typed url.Values, f form.Maker) {
	for i := range m.Columns {
		c := &m.Columns[i]
		field, own, _ := strings.Cut(typed.Get("field "+c.Column), " ")
		if importing.Field(field) != c.Field || own != "" && own != c.Of {
			c.Field, c.Of, c.Unit, c.DecimalMark, c.From = importing.Field(field), own, importing.UnitIn(c.Heading, importing.Field(field)), "", ""
			continue
		}
		c.Unit, c.DecimalMark = importing.Unit(typed.Get("unit "+c.Column)), importing.DecimalMark(typed.Get("mark "+c.Column))
	}
	m.Dates = tables.Order(typed.Get("dates"))
	if typed.Has("year") {
		if m.Year, _ = strconv.Atoi(strings.TrimSpace(typed.Get("year"))); m.Year < tables.FirstYear || m.Year > tables.LastYear {
			m.Year = 0 // and is asked about again
		}
	}
	if typed.Has("turned") {
		m.Turned = importing.Turned(typed.Get("turned"))
	}
	if typed.Has("alike") {
		m.Alike = importing.Alike(typed.Get("alike"))
	}
	if typed.Has("twice") {
		m.Twice = importing.Alike(typed.Get("twice"))
	}
	chooseRows(m, typed)
	chooseCells(m, typed)
	chooseWide(m, typed)
	if typed.Has("taken-out") {
		m.TakenOut = importing.TakenOut(typed.Get("taken-out"))
	}
	m.LeaveOutTotals, m.MakeSeasons = typed.Has("totals"), typed.Has("seasons")
	chooseFixed(m, kind, typed, f)
	chooseLeftOut(m, typed)
	chooseNames(m, typed, f)
}

// chooseRows takes the answers about single rows.
func chooseRows(m *importing.Mapping, typed url.Values) {
	for key := range typed {
		number, is := strings.CutPrefix(key, "row ")
		row, err := strconv.Atoi(number)
		if !is || err != nil {
			continue
		}
		if m.Rows == nil {
			m.Rows = map[int]importing.Alike{}
		}
		if m.Rows[row] = importing.Alike(typed.Get(key)); m.Rows[row] == "" {
			delete(m.Rows, row)
		}
	}
}

// shownProblems is how many the page lists, and askedNames is of how many names it asks
// what they mean; more come once these are answered.
const (
	shownProblems = 200
	askedNames    = 100
)

// importAbout is what an answer is put into words with: things that names may mean, parameters of
// the outfit's own, the forms of what can be set up, and what was typed.
type importAbout struct {
	known namedThings
	own   []ledger.NamedParameter
	forms map[ledger.Kind]request.Recorded
	typed url.Values
}

func importAnswer(m form.Maker, about importAbout, file *bringin.File, r *importing.Result) (*importAnswerView, error) {
	mapping, err := json.Marshal(r.Mapping)
	if err != nil {
		return nil, fmt.Errorf("the mapping of a sheet: %w", err)
	}
	v := &importAnswerView{
		Mapping: string(mapping), MappingFile: file.SHA256, MappingOf: string(r.Mapping.Of) + " " + r.Mapping.Sheet, Totals: r.Mapping.LeaveOutTotals, Seasons: r.Mapping.MakeSeasons, AllProblems: int(r.AllProblems),
		New: m.Count(int(r.Rows - r.HadRows - r.LeftOut)), Had: m.Count(int(r.HadRows)), LeftOut: m.Count(int(r.LeftOut)), Rows: r.Rows,
		Wrong: len(m.Errors) > 0, NotRead: importNotRead(m, r), FirstRows: importRows(m, r), Findings: importFindings(m, r),
	}
	for _, s := range r.Seasons {
		v.SeasonsMade = append(v.SeasonsMade, importing.SaidSeason(s).In(m))
	}
	v.Ready = r.AllProblems == 0 && r.New() > 0 && !v.Wrong
	v.Unlooked = v.Ready && !r.Looked
	for _, c := range r.Mapping.Columns {
		v.Columns = append(v.Columns, importColumn(m, r.Mapping.Of, about.own, c))
	}
	v.Wide = importWide(m, r)
	v.Dates = options(m, "dates|", r.Mapping.Dates, tables.DayFirst, tables.MonthFirst)
	askOfAll(v, m, r)
	for _, t := range file.Tables {
		if t.Name != "" {
			v.Sheets = append(v.Sheets, form.Option{Value: t.Name, Label: t.Name, Chosen: t.Name == r.Mapping.Sheet})
		}
	}
	for _, n := range file.Said(r.Mapping.Sheet) {
		v.Notices = append(v.Notices, n.In(m))
	}
	for _, k := range ledger.Kinds() {
		if n := r.Entries[k]; n > 0 {
			v.Counts = append(v.Counts, m.Say("%s: %s", k.Noun(), n))
		}
	}
	for what, sum := range r.Sums {
		if name, mass := entries.MassName(what); mass && sum != 0 {
			v.Sums = append(v.Sums, m.Say(form.LabelOf(name))+" "+m.Grams(sum)+" "+m.Mass)
		}
	}
	slices.Sort(v.Sums)
	if v.Offered, err = offered(m, r); err != nil {
		return nil, err
	}
	v.Problems, v.Names = importProblems(m, r), importNames(m, about, r)
	askFixed(v, m, about.known, r, about.typed)
	askBelow(v, r)
	askLeftOut(v, m, r)
	v.MoreCount = int(r.AllProblems)
	for _, p := range r.Problems[:len(v.Problems)] {
		v.MoreCount -= 1 + int(p.More)
	}
	askAnswered(v, m, r)
	return v, nil
}

// askOfAll asks what holds for all rows, where it matters: the year of dates without one,
// whether real dates among texts were turned round, what becomes of rows taken out.
func askOfAll(v *importAnswerView, m form.Maker, r *importing.Result) {
	asks := func(code importing.Code) bool {
		return slices.ContainsFunc(r.Problems, func(p *importing.Problem) bool { return p.Code == code })
	}
	if year := ""; r.Mapping.Year != 0 || asks(importing.NoYear) {
		if r.Mapping.Year != 0 {
			year = strconv.Itoa(r.Mapping.Year)
		}
		v.Year = &year
	}
	if r.Mapping.Turned != "" || asks(importing.TurnedDates) {
		v.Turned = options(m, "turned|", r.Mapping.Turned, importing.AsTheyStand, importing.TurnedRound)
	}
	if r.Mapping.Alike != "" || asks(importing.LikeRecorded) {
		can := []importing.Alike{importing.Corrects, importing.Another, importing.LeftAside}
		for _, p := range r.Problems { // what the book would refuse of one is no answer for all
			can = slices.DeleteFunc(can, func(a importing.Alike) bool {
				return p.Code == importing.LikeRecorded && !slices.Contains(alikes(p), a)
			})
		}
		v.Alike = alikeOptions(m, r.Mapping.Alike, can...)
	}
	if r.Mapping.Twice != "" || asks(importing.StandsTwice) {
		v.Twice = alikeOptions(m, r.Mapping.Twice, importing.Another, importing.LeftAside)
	}
	if r.Mapping.TakenOut != "" || asks(importing.RowTakenOut) {
		v.TakenOut = options(m, "taken out|", r.Mapping.TakenOut, importing.LeaveOut, importing.BringIn)
	}
}

// alikes are what a row can be that is asked about.
func alikes(p *importing.Problem) (out []importing.Alike) {
	for _, answer := range p.DidYouMean {
		out = append(out, importing.Alike(answer))
	}
	return out
}

// options are the words of a list to choose from.
func options[W ~string](m form.Maker, list string, chosen W, all ...W) (out []form.Option) {
	for _, word := range all {
		out = append(out, form.Option{Value: string(word), Label: m.Say(list + strings.ReplaceAll(string(word), "_", " ")), Chosen: word == chosen})
	}
	return out
}

func importColumn(m form.Maker, of importing.Kind, own []ledger.NamedParameter, c importing.Column) importColumnView {
	v := importColumnView{Column: c.Column, Heading: c.Heading}
	if c.From != "" {
		v.From = m.Say("from|" + fromWords[c.From])
	}
	for _, f := range importing.FieldsOf(of) {
		if f == importing.FieldOwn {
			v.Fields = append(v.Fields, ownFields(m, own, c)...)
			continue
		}
		v.Fields = append(v.Fields, form.Option{Value: string(f), Label: columnLabel(m, f), Chosen: f == c.Field})
	}
	if c.Field == "" {
		return v
	}
	if c.Field == importing.FieldOwn {
		for _, u := range importing.OwnUnits(own, c.Of) {
			v.Units = append(v.Units, form.Option{Value: string(u), Label: string(u), Chosen: u == c.Unit})
		}
	}
	for _, u := range importing.UnitsOf(c.Field) {
		v.Units = append(v.Units, form.Option{Value: string(u), Label: m.Say("sheet unit|" + strings.ReplaceAll(string(u), "_", " ")), Chosen: u == c.Unit})
	}
	if importing.HasFigures(c.Field) {
		v.Marks = options(m, "mark|", c.DecimalMark, importing.Point, importing.Comma)
	}
	return v
}

// fromWords say by what a column was taken for something.
var fromWords = map[string]string{"heading": "by its heading", "values": "by what stands in it", "kept": "as the last time"}

// ownFields offers the parameters that rule sets of the outfit name, each once.
func ownFields(m form.Maker, own []ledger.NamedParameter, c importing.Column) (out []form.Option) {
	for _, o := range own {
		value := string(importing.FieldOwn) + " " + o.Name
		if !slices.ContainsFunc(out, func(had form.Option) bool { return had.Value == value }) {
			out = append(out, form.Option{Value: value, Label: columnLabel(m, importing.FieldOwn) + ": " + o.SaidLabel(), Chosen: c.Field == importing.FieldOwn && c.Of == o.Name})
		}
	}
	return out
}

// nounKind is the kind of thing that a noun of a sheet names, where one can be
// chosen for another.
var nounKind = map[importing.Noun]ledger.Kind{
	importing.NounYard: ledger.KindYard, importing.NounRoom: ledger.KindRoom, importing.NounTank: ledger.KindTank, importing.NounSuperKind: ledger.KindSuperKind,
	importing.NounContainerKind: ledger.KindContainerKind, importing.NounInstrument: ledger.KindInstrument, importing.NounLot: ledger.KindLot, importing.NounBuyer: ledger.KindBuyer,
}

// aboutNames are the sorts of problem that saying what a name means mends.
var aboutNames = []importing.Code{importing.UnknownName, importing.AlikeNames, importing.LooksLikeSum}

// importProblems lists problems.
func importProblems(m form.Maker, r *importing.Result) (out []importProblemView) {
	for _, p := range r.Problems[:min(len(r.Problems), shownProblems)] {
		v := importProblemView{Sent: p.Sent, Message: p.Message.In(m)}
		switch {
		case p.Row > 0 && p.Column != "":
			v.Where = m.Say("row %s, column %s", p.Row, p.Column)
		case p.Row > 0:
			v.Where = m.Say("row %s", p.Row)
		case p.Column != "":
			v.Where = m.Say("column %s", p.Column)
		}
		switch {
		case p.Code == importing.TwoValues && p.Row == 0 && len(p.DidYouMean) > 0:
			v.Where, v.Answers = m.Say("the sheet's name"), nameOptions(m, "")
		case p.Code == importing.LooksLikeSum && p.DidYouMean == nil: // of all such rows it is said at once
		case p.Code == importing.LikeRecorded, p.Code == importing.OtherTotal, p.Code == importing.DoubtfulRow, p.Code == importing.StandsTwice, p.Code == importing.LooksLikeSum:
			v.Row, v.Answers = p.Row, alikeOptions(m, "", alikes(p)...)
		}
		if p.Code == importing.WideSheet && p.Row > 0 { // else it is asked above
			v.Row, v.Answers = p.Row, alikeOptions(m, "", alikes(p)...)
		}
		if r.Mapping.IsWide() && p.Column != "" {
			v.Cell = p.Column + strconv.Itoa(p.Row)
		}
		if p.More > 0 {
			v.More = m.Say("and in %s", message.Plural{N: float64(p.More), One: "%s more row", Other: "%s more rows"})
		}
		out = append(out, v)
	}
	return out
}

// askedName is a name in a sheet that has to be explained.
type askedName struct {
	noun importing.Noun
	*importing.Problem
}

// namesAsked are the names that the problems of a sheet ask about, and then those that were
// answered, so that the answers can be changed.
func namesAsked(r *importing.Result) []askedName {
	asked := namesInQuestion(r)
	return append(asked, answeredNames(r, asked)...)
}

func namesInQuestion(r *importing.Result) (out []askedName) {
	type name struct {
		noun importing.Noun
		sent string
	}
	seen := map[name]bool{}
	for _, p := range r.Problems {
		noun := importing.NounOf(r.Mapping.Of, p.Field)
		key := name{noun, p.Sent}
		if !slices.Contains(aboutNames, p.Code) || noun == "" || p.Sent == "" || seen[key] || len(out) == askedNames {
			continue
		}
		seen[key] = true
		out = append(out, askedName{noun, p})
	}
	return out
}

// namedThings are the things that a noun of a sheet may mean, in the order in which the book
// learned of them.
type namedThings map[importing.Noun][]namedThing

type namedThing struct {
	name string
	said message.Text
}

// thingsNamed takes from a book what the names that a sheet asks about may mean, no more of a
// noun than are offered beside what is alike.
func thingsNamed(b *ledger.Book, r *importing.Result) namedThings {
	most := map[importing.Noun]int{}
	for _, n := range namesAsked(r) {
		most[n.noun] = max(most[n.noun], form.MostThings+len(n.DidYouMean))
	}
	for _, field := range importing.CanBeFixed(r.Mapping.Of) {
		if noun := importing.NounOf(r.Mapping.Of, field); importing.SortOf(r.Mapping.Of, field) == importing.SortName && nounKind[noun] != "" {
			most[noun] = max(most[noun], form.MostThings)
		}
	}
	out := namedThings{}
	for noun, most := range most {
		b.InForceOf(nounKind[noun], func(root ledger.ID, _ *ledger.Entry) bool {
			out[noun] = append(out[noun], namedThing{b.Name(root), season.EntryName(b, root)})
			return len(out[noun]) < most
		})
	}
	return out
}

func importNames(m form.Maker, about importAbout, r *importing.Result) (out []importNameView) {
	for i, n := range namesAsked(r) {
		out = append(out, importName(m, about, n, r.Mapping.Names[n.noun], i))
	}
	return out
}

// importName asks what a name means: what is most alike first, then a new one, then the others.
// Of a new one it asks what has to be said.
func importName(m form.Maker, about importAbout, p askedName, said map[string]importing.Choice, number int) importNameView {
	choice := said[p.Sent]
	is := func(name string) bool { return choice.Is != "" && strings.EqualFold(choice.Is, name) }
	v := importNameView{Noun: string(p.noun), Name: p.Sent, Label: m.Say("What is %s?", p.Sent), Number: number}
	for _, name := range p.DidYouMean {
		v.Options = append(v.Options, form.Option{Value: "is " + name, Label: m.Say("%s, spelt otherwise", name), Chosen: is(name)})
	}
	if _, can := importing.ThingFields(p.noun); can {
		v.Options = append(v.Options, form.Option{Value: "new", Label: m.Say("a new one: set it up"), Chosen: choice.Create != nil})
		v.Fields = thingFields(m, about.forms, p.noun, p.Sent, number, choice.Create, about.typed)
		v.Open = choice.Create != nil || len(p.DidYouMean) == 0 && choice.Is == ""
	}
	for _, x := range about.known[p.noun] {
		if slices.Contains(p.DidYouMean, x.name) {
			continue
		}
		v.Options = append(v.Options, form.Option{Value: "is " + x.name, Label: x.said.In(m), Chosen: is(x.name)})
		if len(v.Options) >= form.MostThings {
			break
		}
	}
	if choice.Is != "" && !slices.ContainsFunc(v.Options, func(o form.Option) bool { return o.Chosen }) {
		v.Options = append(v.Options, form.Option{Value: "is " + choice.Is, Label: choice.Is, Chosen: true})
	}
	return v
}
