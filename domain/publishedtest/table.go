// Package publishedtest reads the tables of published figures that tests are held against. Only tests
// import it.
package publishedtest

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
)

// Lines are the rows of a table below the names of its columns. The path is from the folder of the
// test. Lines that begin with # say where the figures come from.
func Lines(t testing.TB, path string) [][]string {
	t.Helper()
	return read(t, path)[1:]
}

// Rows are Lines by the names of the columns.
func Rows(t testing.TB, path string) (out []map[string]string) {
	t.Helper()
	all := read(t, path)
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = line[i]
		}
		out = append(out, row)
	}
	return out
}

func read(t testing.TB, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	if len(all) < 2 {
		t.Fatalf("%s holds no rows", path)
	}
	return all
}

// Number is a figure of a table.
func Number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
