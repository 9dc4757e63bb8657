package api_test

import (
	"encoding/csv"
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// workbook is what an address of a page gives a manager to download.
func (s *outfit) workbook(t *testing.T, path string) []byte {
	t.Helper()
	status, book := fetch(t, s.browsing(t), s.url+path)
	if status != http.StatusOK {
		t.Fatalf("%s answered %d %s", path, status, book)
	}
	return []byte(book)
}

// typed is what somebody types into the first sheet of a workbook: into the row that begins with these words, and the
// column counted from 0.
type typed struct {
	Row    string  `json:"row"`
	Column int     `json:"column"`
	Value  float64 `json:"value"`
}

// reckonedCells is the first sheet of a workbook after LibreOffice reckoned it anew, changed as somebody types.
func reckonedCells(t *testing.T, book []byte, changes ...typed) [][]string {
	t.Helper()
	folder := t.TempDir()
	from, to := filepath.Join(folder, "plan.xlsx"), filepath.Join(folder, "changed.xlsx")
	if err := os.WriteFile(from, book, 0o600); err != nil {
		t.Fatal(err)
	}
	said, err := json.Marshal(changes)
	if err != nil {
		t.Fatal(err)
	}
	// Saved without what the formulas came to, so that LibreOffice has to reckon.
	python(t, `
import json, openpyxl, sys
book = openpyxl.load_workbook(sys.argv[1])
sheet = book.worksheets[0]
for change in json.loads(sys.argv[3]) or []:
    found = [row for row in sheet.iter_rows() if str(row[0].value or "").startswith(change["row"])]
    assert len(found) == 1, (change, len(found))
    found[0][change["column"]].value = change["value"]
book.save(sys.argv[2])`, from, to, string(said))
	libreOffice(t, folder, "", `csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false`, to)
	r := csv.NewReader(strings.NewReader(file(t, filepath.Join(folder, "changed.csv"))))
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// cellOf is a figure in the row that begins with a name.
func cellOf(t *testing.T, rows [][]string, name string, column int) float64 {
	t.Helper()
	for _, row := range rows {
		if strings.HasPrefix(row[0], name) {
			figure, percent := strings.CutSuffix(row[column], "%")
			v, err := strconv.ParseFloat(figure, 64)
			if err != nil {
				t.Fatalf("%s: %v in %q", name, err, row)
			}
			if percent {
				v /= 100
			}
			return v
		}
	}
	t.Fatalf("no row %s in %v", name, rows)
	return 0
}
