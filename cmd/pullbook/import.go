package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/google/uuid"

	"pullbook/api/bringin"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/progress"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

type importCommand struct {
	File    string `arg:"" type:"existingfile" help:"A table of older records: .xlsx, or CSV in UTF-8, UTF-16 or Windows-1252."`
	Kind    string `name:"kind" required:"" enum:"yards,pulls,runs,readings,lots,containers,temperature_logs,hive_counts,run_supers,transfers,sales" placeholder:"KIND" help:"What each row is: yards, pulls, runs, readings, lots, containers, temperature_logs, hive_counts, run_supers, transfers or sales."`
	Sheet   string `name:"sheet" placeholder:"NAME" help:"The sheet of the workbook that comes in. Without it: the first."`
	Mapping string `name:"mapping" type:"path" placeholder:"FILE" help:"File that says, as JSON, what each column is. Without it the program guesses."`
	WriteTo string `name:"write-mapping" type:"path" placeholder:"FILE" help:"File into which the program writes, as JSON, what it takes each column for, so that you can put it right."`
	Again   bool   `name:"as-last-time" help:"Answer as for the last sheet with the same headings. The program lists those answers and does not use them otherwise."`
	DryRun  bool   `name:"dry-run" help:"Only say what would be stored and what has to be put right first."`
	As      string `name:"as" placeholder:"PERSON" help:"The manager in whose name the sheet comes in. Needed if there are several."`
	outfitCommand
}

func (c *importCommand) Help() string {
	return `Reads a sheet of older records into an outfit's book: all of it or nothing. The program guesses what each column is, from its heading or from its values. It asks about whatever can mean two things, row by row; --mapping gives it a file with the answers, and --as-last-time those of the last sheet with the same headings. The same sheet again adds nothing.

To take all of it back, withdraw the import by its number.`
}

func (c *importCommand) Run(ctx context.Context, term *terminal) (err error) {
	order := bringin.Order{Kind: importing.Kind(c.Kind), Sheet: c.Sheet}
	if order.File, err = bringin.Open(ctx, c.File, filepath.Base(c.File)); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, order.File.Close()) }()
	if order.Mapping, err = readMapping(c.Mapping); err != nil {
		return err
	}
	if c.Again {
		if order.Mapping == nil {
			order.Mapping = &importing.Mapping{}
		}
		order.Mapping.AsLastTime = new(true)
	}
	return c.serveBooks(ctx, term, func(operator *db.DB, books *books.Books) error {
		p, err := c.manager(ctx, operator)
		if err != nil {
			return err
		}
		for _, notice := range order.File.Said(c.Sheet) {
			fmt.Fprintln(term.Out, notice)
		}
		watched, done := term.watch(ctx, "Bringing in "+brief(filepath.Base(c.File)), progress.Import)
		order.Progress = rowsTold(progress.From(watched))
		var result *importing.Result
		var made *ledger.Entry
		if c.DryRun {
			result, err = bringin.Check(watched, books, p, order)
		} else {
			result, made, err = bringin.Store(watched, books, p, uuid.New(), order)
		}
		done()
		if err != nil {
			return err
		}
		if err := c.writeMapping(result.Mapping); err != nil {
			return err
		}
		if err := term.importResult(result, made, c.DryRun); err != nil || made == nil {
			return err
		}
		return term.unsold(ctx, books, p, made)
	})
}

// serveBooks runs f with books that can be written to, beside a pullbook that may
// serve the same ones.
func (s operatorSettings) serveBooks(ctx context.Context, term *terminal, f func(*db.DB, *books.Books) error) (err error) {
	log, err := s.logger(term.Err)
	if err != nil {
		return err
	}
	where, err := s.openBeside(ctx, term, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, where.close()) }()
	if err := where.ready(ctx); err != nil {
		return err
	}
	operator, err := where.operator(ctx)
	if err != nil {
		return err
	}
	defer operator.Close()
	service, err := db.Open(ctx, where.urlFor(db.ServiceRole), db.ServiceRole, leastConnections)
	if err != nil {
		return err
	}
	defer service.Close()
	service.Room = where.mayStore
	books := books.Open(service, 1)
	defer books.Close()
	return f(operator, books)
}

// manager is the person in whose name a sheet is brought in.
func (c *importCommand) manager(ctx context.Context, d *db.DB) (db.Principal, error) {
	o, err := c.find(ctx, d)
	if err != nil {
		return db.Principal{}, err
	}
	people, err := d.People(ctx, o.ID)
	if err != nil {
		return db.Principal{}, err
	}
	var managers []string
	for _, p := range people {
		if p.Role == db.Manager && p.Left == nil && (c.As == "" || strings.EqualFold(p.Name, c.As)) {
			managers = append(managers, p.Name)
		}
	}
	switch {
	case len(managers) == 0 && c.As != "":
		return db.Principal{}, fmt.Errorf("%s has no manager %q", o.Name, c.As)
	case len(managers) == 0:
		return db.Principal{}, fmt.Errorf("%s has no manager yet: add one with `pullbook person add --role manager`", o.Name)
	case len(managers) > 1:
		return db.Principal{}, fmt.Errorf("%s has several managers: say with --as in whose name it is brought in (%s)", o.Name, strings.Join(managers, ", "))
	}
	head, err := d.Head(ctx, o.ID)
	return db.Principal{Outfit: o.ID, Name: managers[0], Role: db.Manager, Access: head.Access}, err
}

func readMapping(path string) (*importing.Mapping, error) {
	if path == "" {
		return nil, nil
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	m := new(importing.Mapping)
	if err := json.Unmarshal(text, m); err != nil {
		return nil, fmt.Errorf("%s is no mapping: %w", path, err)
	}
	return m, nil
}

func (c *importCommand) writeMapping(m importing.Mapping) error {
	if c.WriteTo == "" {
		return nil
	}
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	return os.WriteFile(c.WriteTo, append(text, '\n'), 0o644)
}

// rowsTold is who is told of the rows of a sheet. A large one is walked twice: once to see
// whether all of it can be stored, and once more to store it.
func rowsTold(tell progress.Tell) func(rows int64) {
	var last, all int64
	return func(rows int64) {
		if rows < last && all == 0 {
			all = last
		}
		last = rows
		if all > 0 {
			tell(progress.Stored, rows, all)
			return
		}
		tell(progress.Rows, rows, 0)
	}
}

// shownProblems is how many problems a terminal is given at once.
const shownProblems = 40

// importResult says what a sheet comes to.
func (t *terminal) importResult(r *importing.Result, made *ledger.Entry, dry bool) error {
	if err := t.columns(r.Mapping); err != nil {
		return err
	}
	if err := t.wide(r); err != nil {
		return err
	}
	t.notRead(r.NotRead)
	t.offered(r.Offered)
	for _, s := range r.Seasons {
		fmt.Fprintf(t.Out, "This makes %s.\n", importing.SaidSeason(s))
	}
	if r.AllProblems > 0 {
		return t.problems(r)
	}
	counts := r.Counts()
	switch {
	case len(counts) == 0:
		fmt.Fprintf(t.Out, "Nothing new: the book has all of the %d rows.\n", r.Rows)
	case dry:
		fmt.Fprintf(t.Out, "It would store %s, from %d rows%s.\n", strings.Join(counts, ", "), r.Rows, aside(r))
		t.findings(r)
	default:
		fmt.Fprintf(t.Out, "Import %d stored %s, from %d rows%s.\nTo take all of it back, withdraw entry %d (%s).\n",
			made.Number, strings.Join(counts, ", "), r.Rows, aside(r), made.Number, made.ID)
	}
	return nil
}

// unsold asks what became of old containers that came in and were never sold.
func (t *terminal) unsold(ctx context.Context, books *books.Books, p db.Principal, made *ledger.Entry) error {
	n := 0
	err := books.Read(ctx, p, func(_ db.Outfit, b *ledger.Book) error {
		n = len(b.Unsold(made.ID))
		return nil
	})
	if n > 0 {
		fmt.Fprintf(t.Out, "%d of its containers had been filled more than a year before, and the book has no sale of them. Are they still here?\nBring in a sheet of sales, or say on the page (Findings) what became of them.\n", n)
	}
	return err
}

// aside says which rows brought nothing new.
func aside(r *importing.Result) string {
	out := ""
	if r.HadRows > 0 {
		out += fmt.Sprintf("; %d rows were in the book before", r.HadRows)
	}
	if r.LeftOut > 0 {
		out += message.F("; %s", message.Plural{N: float64(r.LeftOut), One: "%s was left out", Other: "%s were left out"}).String()
	}
	return out
}

func (t *terminal) columns(m importing.Mapping) error {
	rows := [][]string{{"column", "heading", "taken for", "unit", "by"}}
	for _, c := range m.Columns {
		if c.Field != "" {
			what := string(c.Field)
			if c.Of != "" {
				what += " of " + c.Of
			}
			rows = append(rows, []string{c.Column, brief(c.Heading), what, string(c.Unit), c.From})
		}
	}
	if err := t.table(rows); err != nil {
		return err
	}
	_, err := io.WriteString(t.Out, "\n")
	return err
}

// offered lists what the last sheet with the same headings was told.
func (t *terminal) offered(last *importing.Last) {
	if last == nil {
		return
	}
	fmt.Fprintf(t.Out, "%s (import %d) had the same headings. It was told, and --as-last-time says it again:\n", last.File, last.Number)
	for _, a := range last.Answers {
		fmt.Fprintf(t.Out, "  %s\n", answerLine(a))
	}
	fmt.Fprintln(t.Out)
}

// answerLine is one answer in the words of a mapping.
func answerLine(a importing.Answer) string {
	switch {
	case a.Column != nil && a.Column.Field == "":
		return fmt.Sprintf("column %s %s: not read", a.Column.Column, brief(a.Column.Heading))
	case a.Column != nil:
		parts := strings.Fields(strings.Join([]string{string(a.Column.Field), a.Column.Of, string(a.Column.Unit), string(a.Column.DecimalMark)}, " "))
		return fmt.Sprintf("column %s %s: %s", a.Column.Column, brief(a.Column.Heading), strings.Join(parts, " "))
	case a.Field != "":
		return fmt.Sprintf("%s: %s in all rows", a.Field, a.Value)
	case a.Choice.Is != "":
		return fmt.Sprintf("%s %s: is %s", a.Noun, a.Name, a.Choice.Is)
	case a.Noun != "":
		return fmt.Sprintf("%s %s: set up", a.Noun, a.Name)
	case a.Dates != "":
		return "dates: " + string(a.Dates)
	case a.Year != 0:
		return fmt.Sprintf("year: %d", a.Year)
	case a.Turned != "":
		return "turned_dates: " + string(a.Turned)
	case a.Wide != nil:
		return strings.TrimSuffix(fmt.Sprintf("wide: %s across, cells %s", a.Wide.Across, a.Wide.Cells), ", cells ")
	case a.Totals:
		return "leave_out_totals"
	}
	return "make_seasons"
}

func (t *terminal) problems(r *importing.Result) error {
	rows := [][]string{{"row", "column", "cell", "what is wrong, and what would mend it"}}
	for i, p := range r.Problems {
		if i == shownProblems {
			break
		}
		row, more := "", ""
		if p.Row > 0 {
			row = fmt.Sprint(p.Row)
		}
		if p.More > 0 {
			more = fmt.Sprintf(" (and %s)", message.F("%s", message.Plural{N: float64(p.More), One: "%s more row", Other: "%s more rows"}))
		}
		if len(p.DidYouMean) > 0 {
			more += " [" + strings.Join(p.DidYouMean, ", ") + "]"
		}
		rows = append(rows, []string{row, p.Column, brief(p.Sent), p.Message.String() + more})
	}
	if err := t.table(rows); err != nil {
		return err
	}
	if n := len(r.Problems) - shownProblems; n > 0 {
		fmt.Fprintf(t.Out, "and %d more\n", n)
	}
	return fmt.Errorf("nothing was stored: %s to be put right first", message.F("%s", message.Plural{N: float64(r.AllProblems), One: "%s cell has", Other: "%s cells have"}))
}

// brief keeps a cell from breaking a table.
func brief(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	if short := []rune(text); len(short) > 30 {
		return string(short[:29]) + "…"
	}
	return text
}
