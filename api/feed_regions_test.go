package api_test

import (
	"encoding/json"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"pullbook/db/dbtest"
)

// region is where somebody's spreadsheet program is set to. The numbers of regions are those of Windows (MS-LCID).
type region struct{ name, locale, id, decimal, fields string }

var regions = []region{
	{"English", "en-US", "1033", "point", "44"}, {"German", "de-DE", "1031", "comma", "59"},
	{"Spanish", "es-ES", "3082", "comma", "59"}, {"French", "fr-FR", "1036", "comma", "59"},
}

// figures are a feed's figures by column, row by row; nil where a cell has none.
type figures map[string][]*float64

// jsonFigures reads a feed's columns of figures off its JSON lines.
func jsonFigures(t *testing.T, feed string, lines []byte) figures {
	t.Helper()
	out := figures{}
	for column, schema := range feedsOfContract(t)[feed].Properties {
		if schema.Value.Type.Is("number") || schema.Value.Type.Is("integer") {
			out[column] = nil
		}
	}
	for _, row := range jsonRows(t, lines) {
		for column := range out {
			text, has := row[column]
			if !has {
				delete(out, column) // of the other units
				continue
			}
			var figure *float64
			if v, err := strconv.ParseFloat(text, 64); err == nil {
				figure = &v
			}
			out[column] = append(out[column], figure)
		}
	}
	return out
}

// loaded are the figures that LibreOffice has in its sheets of all feeds, once it is set to a region and has loaded
// each feed's file of an ending.
func loaded(t *testing.T, in region, filter, folder, ending string) map[string]map[string][]*float64 {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*."+ending))
	if err != nil {
		t.Fatal(err)
	}
	into := t.TempDir()
	libreOfficeIn(t, in.locale, into, filter, "xlsx", files...)
	said := python(t, `
import glob, json, openpyxl, os, sys
out = {}
for path in glob.glob(os.path.join(sys.argv[1], "*.xlsx")):
    rows = openpyxl.load_workbook(path, read_only=True).worksheets[0].iter_rows(values_only=True)
    heads = next(rows)
    columns = {h: [] for h in heads}
    for row in rows:
        for head, v in zip(heads, row):
            columns[head].append(v if isinstance(v, (int, float)) and not isinstance(v, bool) else None)
    out[os.path.basename(path)[:-5]] = columns
print(json.dumps(out))`, into)
	var out map[string]map[string][]*float64
	if err := json.Unmarshal([]byte(said), &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// A figure reads the same in every region's spreadsheet program, or it is no figure there: LibreOffice set to German took
// 420.500 for 420,500 without a word. Every figure of every feed is looked at, and so its sum is the same.
func TestAFigureReadsTheSameInEveryRegion(t *testing.T) {
	t.Parallel()
	o := demoOutfit(t, openHouse(t))
	want := map[string]figures{}
	folders := map[string]string{"point": t.TempDir(), "comma": t.TempDir(), "xlsx": t.TempDir()}
	for feed := range feedsOfContract(t) {
		want[feed] = jsonFigures(t, feed, o.feed(t, feed+".jsonl").raw)
		for form, folder := range folders {
			file, asked := feed+".csv", "?decimal="+form
			if form == "xlsx" {
				file, asked = feed+".xlsx", ""
			}
			if err := os.WriteFile(filepath.Join(folder, file), o.feed(t, file+asked).raw, 0o600); err != nil {
				t.Fatal(err)
			}
		}
	}
	for _, in := range regions {
		if in.name != "German" && !dbtest.Whole() {
			continue
		}
		filter := "CSV:" + in.fields + ",34,76,1,," + in.id
		readsAlike(t, in.name+", CSV", want, loaded(t, in, filter, folders[in.decimal], "csv"), false)
		if dbtest.Whole() {
			readsAlike(t, in.name+", workbooks", want, loaded(t, in, "", folders["xlsx"], "xlsx"), false)
		}
		if in.decimal == "comma" { // somebody who did not say so
			readsAlike(t, in.name+", CSV with points", want, loaded(t, in, "CSV:44,34,76,1,,"+in.id, folders["point"], "csv"), true)
		}
	}
}

// readsAlike holds figures that were loaded against those of the JSON lines; or texts, where that may be.
func readsAlike(t *testing.T, where string, want map[string]figures, got map[string]map[string][]*float64, orText bool) {
	t.Helper()
	compared, sums := 0, 0
	for feed, columns := range want {
		for _, column := range slices.Sorted(maps.Keys(columns)) {
			cells := got[feed][column]
			if len(cells) != len(columns[column]) {
				t.Errorf("%s: %s has %d rows of %s, not %d", where, feed, len(cells), column, len(columns[column]))
				continue
			}
			var is, should float64
			for i, figure := range columns[column] {
				if figure == nil || orText && cells[i] == nil {
					continue
				}
				if compared++; cells[i] == nil {
					t.Errorf("%s: %s, row %d: %s is no figure", where, feed, i+1, column)
					break
				}
				is, should = is+*cells[i], should+*figure
			}
			if sums++; math.Abs(is-should) > 1e-9*max(1, math.Abs(should)) {
				t.Errorf("%s: the %s of %s sum to %v, not %v", where, column, feed, is, should)
			}
		}
	}
	if compared < 1000 || sums < 60 {
		t.Errorf("%s: only %d figures of %d columns were compared", where, compared, sums)
	}
}
