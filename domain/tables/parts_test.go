package tables_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"golang.org/x/text/encoding/charmap"

	"pullbook/domain/tables"
)

// A file is read part by part. A letter, a row or a line's end that stands across two parts
// is read like any other, in each encoding.
func TestALargeTextIsReadAsASmallOne(t *testing.T) {
	t.Parallel()
	const rows = 30_000
	var text strings.Builder
	yard := func(i int) string { return strings.Repeat("ñ", i%7) + fmt.Sprint("€", i) }
	for i := range rows {
		fmt.Fprintf(&text, "%s;\"a \"\"b\"\"\nc\";%d\r\n", yard(i), i)
	}
	latin, err := charmap.Windows1252.NewEncoder().String(text.String())
	if err != nil {
		t.Fatal(err)
	}
	for encoding, data := range map[string][]byte{
		tables.UTF8: []byte(text.String()), tables.Windows1252: []byte(latin),
		tables.UTF16LE: wide(text.String(), 0, 8), tables.UTF16BE: wide(text.String(), 8, 0),
	} {
		table, found, err := tables.CSV(data)
		if err != nil || found != encoding || table.Separator != ';' {
			t.Fatalf("%s: %s, %v", encoding, found, err)
		}
		for range 2 {
			n := 0
			err := table.Rows(func(row int, cells []string) bool {
				if want := [3]string{yard(n), "a \"b\"\nc", fmt.Sprint(n)}; row != n+1 || [3]string(cells) != want {
					t.Fatalf("%s: row %d is %q", encoding, row, cells)
				}
				n++
				return true
			})
			if err != nil || n != rows {
				t.Fatalf("%s: %d rows, %v", encoding, n, err)
			}
		}
	}
}

// wide is a text in UTF-16 with its mark, each letter's two bytes shifted so far.
func wide(text string, first, second int) (out []byte) {
	for _, letter := range utf16.Encode([]rune("\ufeff" + text)) {
		out = append(out, byte(letter>>first), byte(letter>>second))
	}
	return out
}

// One byte far down that is no UTF-8 makes the whole file Windows-1252, as the smallest file
// with it is.
func TestAByteFarDownTellsTheEncoding(t *testing.T) {
	t.Parallel()
	for n := range 5 {
		data := []byte(strings.Repeat("x", 65_534+n) + "\nCaf\xe9\n")
		_, encoding, err := tables.CSV(data)
		if err != nil || encoding != tables.Windows1252 {
			t.Errorf("%d letters before it: %s, %v", n, encoding, err)
		}
		data = []byte(strings.Repeat("x", 65_534+n) + "\nCafé\n")
		if _, encoding, err := tables.CSV(data); err != nil || encoding != tables.UTF8 {
			t.Errorf("%d letters before é: %s, %v", n, encoding, err)
		}
		data = []byte(strings.Repeat("x", 65_534+n) + "é")
		if _, encoding, err := tables.CSV(data); err != nil || encoding != tables.UTF8 {
			t.Errorf("é at the end after %d letters: %s, %v", n, encoding, err)
		}
	}
}

// A quotation mark that is never closed is told by its row, however far down it stands.
func TestAnOpenQuoteFarDownIsToldByItsRow(t *testing.T) {
	t.Parallel()
	table, _, err := tables.CSV([]byte(strings.Repeat("2026-07-06,Mill,3\n", 20_000) + "2026-07-06,\"Mill,3\n2026-07-07,Mill,3\n"))
	if err != nil {
		t.Fatal(err)
	}
	err = table.Rows(func(int, []string) bool { return true })
	if err == nil || !strings.Contains(err.Error(), "20001") && !strings.Contains(err.Error(), "20,001") {
		t.Errorf("%v", err)
	}
}
