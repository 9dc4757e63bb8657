package bringin_test

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pullbook/api/bringin"
)

// The rows of a large workbook go over the disk, and come back as they were, as often as they
// are asked for: those of a sheet that begins in memory, and of one that is on the disk alone.
// Nothing stays behind.
func TestTheRowsOfALargeWorkbookComeBackFromTheDisk(t *testing.T) {
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	const rows = 70_000
	note := func(i int) string { return strings.Repeat(fmt.Sprint("jar ", i, " "), 20) }
	data := packed(t, 2, map[string]func(io.Writer){
		"xl/worksheets/sheet1.xml": func(w io.Writer) {
			fmt.Fprint(w, open)
			for i := range rows {
				fmt.Fprintf(w, `<row r="%d"><c><v>%d</v></c><c t="s"><v>%d</v></c><c t="inlineStr"><is><t>%s</t></is></c></row>`, i+1, i, i%3, note(i))
			}
			fmt.Fprint(w, end)
		},
		"xl/sharedStrings.xml": text(head + "<sst><si><t>Mill</t></si><si><t> Ridge </t></si><si><t/></si></sst>"),
	})
	file, err := bringin.Read(t.Context(), data, "large.xlsx")
	must(t, err)
	if len(file.Tables) != 2 {
		t.Fatalf("%d sheets", len(file.Tables))
	}
	for range 2 {
		for _, table := range file.Tables {
			i := 0
			must(t, table.Rows(func(row int, cells []string) bool {
				want := [...]string{fmt.Sprint(i), [...]string{"Mill", "Ridge", ""}[i%3], strings.TrimSpace(note(i))}
				if row != i+1 || [3]string(cells) != want {
					t.Fatalf("row %d of %s is %q", row, table.Name, cells)
				}
				i++
				return true
			}))
			if i != rows {
				t.Errorf("%s has %d rows", table.Name, i)
			}
		}
	}
	must(t, file.Close())
	if left, err := filepath.Glob(filepath.Join(folder, "pullbook-import-*")); err != nil || len(left) > 0 {
		t.Errorf("%q stays behind, %v", left, err)
	}
}

// A file that another program changes while it is read is not read half as it was and half
// as it is.
func TestAFileThatChangesWhileItIsReadIsRefused(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "pulls.csv")
	row := "2026-07-06,Mill,12\n"
	must(t, os.WriteFile(path, []byte("Date,Yard,Supers\n"+strings.Repeat(row, 20_000)), 0o600))
	for what, change := range map[string]func(*os.File) error{
		"it got shorter": func(f *os.File) error { return f.Truncate(100_000) },
		"it got longer":  func(f *os.File) error { _, err := f.WriteString(row); return err },
	} {
		file, err := bringin.Open(t.Context(), path, "pulls.csv")
		must(t, err)
		other, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND, 0)
		must(t, err)
		err = file.Tables[0].Rows(func(row int, _ []string) bool {
			if row == 10 {
				must(t, change(other))
			}
			return true
		})
		if err == nil || !strings.Contains(err.Error(), "changed while it was read") {
			t.Errorf("%s: %v", what, err)
		}
		must(t, file.Close())
		must(t, other.Close())
	}
}
