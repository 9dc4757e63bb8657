package bringin_test

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"pullbook/api/bringin"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/tables"
)

const sheetsFolder = "../../testdata/sheets"

// outcome is what comes of one of the sheets of ten messy years; testdata/sheets/make says
// what each part is.
type outcome struct {
	File, Of, Sheet, After string
	Asked, Stored          []string
	Answers                map[string]json.RawMessage
	LeftOut                int `json:"left_out"`
}

func outcomes(t testing.TB) (out []outcome) {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(sheetsFolder, "outcomes.json"))
	must(t, err)
	must(t, json.Unmarshal(text, &out))
	return out
}

// Each sheet of ten messy years gives the figures that stand in it, or the questions that
// it raises, and with their answers the figures.
func TestASheetOfTenMessyYearsGivesWhatStandsInItOrAsks(t *testing.T) {
	t.Parallel()
	all := outcomes(t)
	byFile := map[string]outcome{}
	for _, o := range all {
		byFile[o.File] = o
	}
	for _, o := range all {
		t.Run(o.File, func(t *testing.T) {
			t.Parallel()
			outfit := ledgertest.NewOutfit()
			for _, before := range earlier(o, byFile) {
				store(t, outfit, before)
			}
			r, _ := taken(t, outfit, o, nil)
			if got := askedOf(r); !slices.Equal(got, o.Asked) {
				t.Errorf("asked is\n\t%q, and should be\n\t%q", got, o.Asked)
			}
			if len(o.Asked) > 0 && o.Answers == nil {
				return
			}
			came, book, leftOut := store(t, outfit, o)
			var stored []string
			for _, e := range came {
				stored = append(stored, toldOf(e, book))
			}
			slices.Sort(stored) // corrections come after what is new
			slices.Sort(o.Stored)
			if !slices.Equal(stored, o.Stored) || leftOut != o.LeftOut {
				t.Errorf("stored is\n\t%s\nand should be\n\t%s\n%d rows are left out, and %d should be", strings.Join(stored, "\n\t"), strings.Join(o.Stored, "\n\t"), leftOut, o.LeftOut)
			}
		})
	}
}

// earlier are the sheets that come in before one, in order.
func earlier(o outcome, byFile map[string]outcome) (out []outcome) {
	for o.After != "" {
		o = byFile[o.After]
		out = append([]outcome{o}, out...)
	}
	return out
}

// askedOf are the questions of a result, each with how many further rows raise it.
func askedOf(r *importing.Result) (out []string) {
	for i, said := range saidOf(r) {
		if more := r.Problems[i].More; more > 0 {
			said += fmt.Sprintf(" and %d more", more)
		}
		out = append(out, said)
	}
	return out
}

// taken takes a sheet, with its answers or without, into the book of an outfit as it is.
func taken(t testing.TB, outfit *ledgertest.Outfit, o outcome, emit func(*ledger.Entry) error) (*importing.Result, *bringin.File) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(sheetsFolder, o.File))
	must(t, err)
	file, err := bringin.Read(context.Background(), data, o.File)
	must(t, err)
	table, err := file.Table(o.Sheet)
	must(t, err)
	book, err := ledger.Open(time.UTC, outfit.Entries)
	must(t, err)
	sent := importing.Sent{SHA256: file.SHA256}
	if emit != nil && o.Answers != nil {
		sent.Mapping = answered(t, book, table, o)
	}
	m, last, err := importing.Settle(book, table, importing.Kind(o.Of), sent)
	must(t, err)
	r, err := importing.Take(book.Ahead(), table, m, importing.Options{
		Outfit: ledgertest.ID(77), By: "Ada", Now: time.Date(2026, 11, 20, 0, 0, 0, 0, time.UTC), File: file.Name, SHA256: file.SHA256, Last: last,
	}, emit)
	must(t, err)
	return r, file
}

// answered is the mapping that a sheet is guessed to have, with its answers put on top.
func answered(t testing.TB, book *ledger.Book, table *tables.Table, o outcome) *importing.Mapping {
	t.Helper()
	m, err := importing.Guess(book, table, importing.Kind(o.Of))
	must(t, err)
	rest := maps.Clone(o.Answers)
	var columns map[string]importing.Column
	if of, has := rest["columns"]; has {
		must(t, json.Unmarshal(of, &columns))
		delete(rest, "columns")
	}
	for i, c := range m.Columns {
		if put, has := columns[c.Column]; has {
			c.Field, c.Unit, c.DecimalMark = cmp.Or(put.Field, c.Field), cmp.Or(put.Unit, c.Unit), cmp.Or(put.DecimalMark, c.DecimalMark)
			m.Columns[i] = c
		}
	}
	text, err := json.Marshal(rest)
	must(t, err)
	var answers importing.Mapping
	must(t, json.Unmarshal(text, &answers))
	m.Answer(answers)
	return &m
}

// store brings a sheet in with its answers, which leave nothing to be asked.
func store(t testing.TB, outfit *ledgertest.Outfit, o outcome) (came []*ledger.Entry, book *ledger.Book, leftOut int) {
	t.Helper()
	r, file := taken(t, outfit, o, func(e *ledger.Entry) error { came = append(came, e); return nil })
	for _, p := range r.Problems {
		t.Errorf("%s still asks: row %d, column %s: %s (%s)", o.File, p.Row, p.Column, p.Message, p.Code)
	}
	for _, e := range came {
		outfit.Put(*e)
	}
	mapping, err := json.Marshal(r.Mapping)
	must(t, err)
	outfit.SetUp(&ledger.Import{Of: o.Of, File: o.File, SHA256: file.SHA256, Entries: r.New(), Rows: r.Rows, Headings: importing.Headings(r.Mapping.Columns), Mapping: mapping})
	book, err = ledger.Open(time.UTC, outfit.Entries) // as a fresh process reads it
	must(t, err)
	return came, book, int(r.LeftOut)
}

// toldOf says in a line what an entry says.
func toldOf(e *ledger.Entry, book *ledger.Book) string {
	out := e.OccurredAt.Format("2006-01-02 15:04 ")
	if e.Replaces != (ledger.ID{}) {
		out += "corrects "
	}
	told, note := bodyOf(e.Body, book)
	out += told
	if note != "" {
		out += fmt.Sprintf("; note %q", note)
	}
	for _, name := range slices.Sorted(maps.Keys(e.AsEntered)) {
		out += fmt.Sprintf("; typed %s \"%s\"", name, e.AsEntered[name])
	}
	return out
}

// listed puts what is there into a list.
func listed(first string, rest ...string) string {
	return strings.Join(append([]string{first}, slices.DeleteFunc(rest, func(part string) bool { return part == "" })...), ", ")
}

// some is a figure with its words; empty where it is 0.
func some(format string, x int64) string {
	if x == 0 {
		return ""
	}
	return fmt.Sprintf(format, x)
}

func bodyOf(body ledger.Body, book *ledger.Book) (told, note string) {
	name := book.Name
	switch b := body.(type) {
	case *ledger.Season:
		return "season " + b.Name, ""
	case *ledger.Yard:
		place := ""
		if b.Latitude != nil {
			place = fmt.Sprintf("%g %g", *b.Latitude, *b.Longitude)
		}
		return listed("yard "+b.Name, b.Registration, place), b.Note
	case *ledger.SuperKind:
		return fmt.Sprintf("kind of super %s, %d frames, %d g, %d g, %d g", b.Name, b.FramesPerSuper, b.TareG, b.UsualNetG, b.FullestNetG), ""
	case *ledger.Pull:
		var parts []string
		for _, s := range b.Supers {
			parts = append(parts, fmt.Sprintf("%d %s", s.Supers, name(s.SuperKindID)))
		}
		return listed("pull "+name(b.YardID), append(parts, some("%d g", b.GrossG), some("%d hives", int64(b.HivesWorked)))...), b.Note
	case *ledger.Run:
		return fmt.Sprintf("run %s, %d a side", b.Name, b.FramesPerSide), b.Note
	case *ledger.HiveCount:
		return listed(fmt.Sprintf("%d hives at %s", b.Hives, name(b.YardID)), b.Name), ""
	case *ledger.RunSupers:
		return fmt.Sprintf("%d %s of %s into %s", b.Supers, name(b.SuperKindID), name(ledger.Named[ledger.Pull](book, b.PullID).YardID), name(b.RunID)), ""
	case *ledger.Dispatch:
		var drums []string
		for _, id := range b.Containers {
			drums = append(drums, name(id))
		}
		left := strings.Join(drums, ", ") + " left for " + name(b.BuyerID)
		if b.BeforeBook {
			left += " before the book began"
		}
		return listed(left, b.Reference), b.Note
	case *ledger.RunEnd:
		return fmt.Sprintf("end of %s, %d g of wax", name(b.RunID), b.WaxG), b.Note
	case *ledger.Movement:
		return fmt.Sprintf("%d g of %s into %s", b.MassG, name(b.From.ID), name(b.To.ID)), b.Note
	case *ledger.Lot:
		store := ""
		if b.StoreID != (ledger.ID{}) {
			store = "in " + name(b.StoreID)
		}
		return listed("lot "+b.Code, b.Product, store), b.Note
	case *ledger.Fill:
		seal := ""
		if b.Seal != "" {
			seal = "seal " + b.Seal
		}
		return listed(fmt.Sprintf("container %s of %s from %s", b.Container, name(b.LotID), name(b.TankID)), name(b.ContainerKindID), some("%d g gross", b.GrossG), some("%d g tare", b.TareG), seal), b.Note
	case *ledger.Reading:
		return readingOf(b, name), b.Note
	case *ledger.TemperatureLog:
		var points []string
		for _, p := range b.Points {
			points = append(points, fmt.Sprintf("%s %g", p.At.Format("15:04"), p.TemperatureC))
		}
		return "log " + name(b.On.ID) + ": " + strings.Join(points, ", "), ""
	}
	return fmt.Sprintf("%T", body), ""
}

func readingOf(b *ledger.Reading, name func(ledger.ID) string) string {
	var parts []string
	if m := b.Moisture; m != nil {
		part := fmt.Sprintf("%s %g", map[string]string{ledger.ScaleMoisture: "moisture_pct", ledger.ScaleBrix: "brix_deg", ledger.ScaleRefractiveIndex: "refractive_index"}[m.Scale], m.AsRead)
		if m.SampleC != nil {
			part += fmt.Sprintf(" at %g C", *m.SampleC)
		}
		if b.InstrumentID != (ledger.ID{}) {
			part += " by " + name(b.InstrumentID)
		}
		parts = append(parts, part)
	}
	for _, m := range b.Measured {
		less := ""
		if m.LessThan {
			less = "<"
		}
		parts = append(parts, strings.TrimSpace(fmt.Sprintf("%s %s%g %s", m.Quantity, less, m.Value, m.Method)))
	}
	return listed(strings.TrimSpace("reading "+name(b.On.ID)+" "+string(b.Point)), parts...)
}

// The files are those that the program beside them makes.
func TestTheFolderOfSheetsIsWhatItsProgramMakes(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	made := exec.Command("go", "run", "./make", "-to", folder)
	made.Dir = sheetsFolder
	if said, err := made.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, said)
	}
	names := map[string]bool{}
	for _, dir := range []string{folder, sheetsFolder} {
		files, err := os.ReadDir(dir)
		must(t, err)
		for _, f := range files {
			names[f.Name()] = !f.IsDir()
		}
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		want, _ := os.ReadFile(filepath.Join(folder, name))
		if got, _ := os.ReadFile(filepath.Join(sheetsFolder, name)); names[name] && !bytes.Equal(got, want) {
			t.Errorf("%s is not what go run ./testdata/sheets/make writes", name)
		}
	}
}
