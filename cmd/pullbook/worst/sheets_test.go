package worst

import (
	"encoding/json"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/bringin/bringintest"
	"pullbook/db/dbtest"
)

// mostForASheet is how much memory a sheet may take, in bytes, above what the program
// takes at rest.
const mostForASheet = 200_000_000

// mostForACopy is how much the copy of a book may take that a sheet is checked against, in
// bytes for each entry of the book.
const mostForACopy = 500

// TestASheetTakesLittleMemory sends files that were made to fill the memory, and large real
// ones, to the program at work: the worst few before each commit, and beside a large book too
// where PULLBOOK_TEST_WHOLE is set. PULLBOOK_TEST_SHEET names others, or all: with the race
// detector all take a quarter of an hour to make, and nothing of that is about memory.
func TestASheetTakesLittleMemory(t *testing.T) {
	t.Setenv("PULLBOOK_REQUEST_TIMEOUT", "10m") // how soon a large book opens on a busy machine is not the question
	p := startDemo(t)
	warm(t, p)
	table, rested := strings.Builder{}, int64(0)
	for _, s := range bringintest.Sheets() {
		if only := os.Getenv("PULLBOOK_TEST_SHEET"); only == "" && !s.Quick || only != "all" && !strings.Contains(s.Name, only) {
			continue
		}
		if rested > rests {
			p.restart(t)
		}
		rested = p.weigh(t, &table, s, mostForASheet)
	}
	p.ofWhatTheBookHas(t, &table)
	t.Logf("\n%s", table.String())
	if where := os.Getenv("PULLBOOK_WRITE_SHEETS"); where != "" {
		if err := os.WriteFile(where, []byte(aboutSheets+table.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// restart has the program forget what earlier requests left.
func (p *program) restart(t *testing.T) {
	p.stop()
	p.start(t)
	warm(t, p)
}

// ofWhatTheBookHas brings a large real file in, looks at it again, and at one that says
// otherwise.
func (p *program) ofWhatTheBookHas(t *testing.T, table *strings.Builder) {
	t.Helper()
	s, otherwise := bringintest.Twice(readings())
	if status, text := p.bring(t, s, written(t, s), true); status != http.StatusCreated {
		t.Fatalf("%d %.2000s", status, text)
	}
	for _, s := range []bringintest.Sheet{s, otherwise} {
		p.restart(t)
		p.weigh(t, table, s, mostForASheet+int64(mostForACopy*readings()))
	}
}

// readings is how many readings the book has beside the demo's.
func readings() int {
	if dbtest.Whole() {
		return 250_000
	}
	return 25_000
}

// aboutSheets stands above the table.
const aboutSheets = `# What a sheet takes that is looked at

Written by ` + "`PULLBOOK_TEST_WHOLE=1 PULLBOOK_TEST_SHEET=all PULLBOOK_WRITE_SHEETS=sheets.md go test ./cmd/pullbook/worst -run Sheet -timeout 40m`" + `. Memory is how far the program's
resident memory rose above what it was before, garbage counted; PostgreSQL's is not in it, nor is what stands on the disk: the
file, and the rows of a workbook from 8 MB on. The demo's book is open. For the last two files it has 250,000 readings more,
and the copy of the book against which a sheet is checked counts as well: 200 MB and 500 bytes for each entry of the book may be
taken then, else 200 MB. With a million readings more, tried once, the last two took 310 and 300 MB.

| file | MB | answer | memory above rest at the most, MB | s |
| --- | --- | --- | --- | --- |
`

// weigh has the program look at a sheet, writes a line about it, and gives the memory that
// it took, which may be so much.
func (p *program) weigh(t *testing.T, table *strings.Builder, s bringintest.Sheet, most int64) int64 {
	t.Helper()
	path := written(t, s)
	defer os.Remove(path)
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	p.forget(t)
	before, _ := p.resident(t)
	began := time.Now()
	status, text := p.bring(t, s, path, false)
	took := time.Since(began)
	_, highest := p.resident(t)
	memory := highest - before
	line := fmt.Sprintf("| %s | %.1f | %s | %.0f | %.1f |\n", s.Name, float64(info.Size())/1e6, said(status, text), float64(memory)/1e6, took.Seconds())
	t.Log(line)
	table.WriteString(line)
	if memory > most {
		t.Errorf("%s takes %.0f MB", s.Name, float64(memory)/1e6)
	}
	if s.Real && (status != http.StatusOK || !strings.Contains(text, `"all_problems":0,`)) {
		t.Errorf("%s: %d %.2000s", s.Name, status, text)
	}
	if status >= http.StatusInternalServerError {
		t.Errorf("%s: status %d: %s", s.Name, status, text)
	}
	return memory
}

// written is a file on the disk.
func written(t *testing.T, s bringintest.Sheet) (path string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "sheet")
	out, err := os.Create(path)
	if err == nil {
		err = s.Write(out)
	}
	if err == nil {
		err = out.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// bring sends a file from the disk to the program, which only looks at it or stores it.
func (p *program) bring(t *testing.T, s bringintest.Sheet, path string, store bool) (status int, text string) {
	t.Helper()
	in, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	body, to := io.Pipe()
	form := multipart.NewWriter(to)
	go func() {
		parts := [][2]string{{"id", uuid.NewString()}, {"kind", string(s.Kind)}, {"store", strconv.FormatBool(store)}}
		if s.Answers != "" {
			parts = append(parts, [2]string{"mapping", s.Answers})
		}
		var err error
		for _, part := range parts {
			if err == nil {
				err = form.WriteField(part[0], part[1])
			}
		}
		var file io.Writer
		if err == nil {
			file, err = form.CreateFormFile("file", "sheet")
		}
		if err == nil {
			_, err = io.Copy(file, in)
		}
		if err == nil {
			err = form.Close()
		}
		to.CloseWithError(err)
	}()
	q, err := http.NewRequestWithContext(t.Context(), http.MethodPost, p.base+"/v1/imports", body)
	if err != nil {
		t.Fatal(err)
	}
	q.Header.Set("Authorization", "Bearer "+p.tokens["manager"])
	q.Header.Set("Content-Type", form.FormDataContentType())
	return answerTo(t, q)
}

// said is what the program answered, in a few words.
func said(status int, text string) string {
	var answer struct {
		Detail      string
		Rows        int64
		AllProblems int64 `json:"all_problems"`
	}
	if err := json.Unmarshal([]byte(text), &answer); err != nil {
		return fmt.Sprintf("%d, and no JSON", status)
	}
	if answer.Detail != "" {
		return fmt.Sprintf("%d: %s", status, answer.Detail)
	}
	return fmt.Sprintf("%d: %d rows, %d problems", status, answer.Rows, answer.AllProblems)
}
