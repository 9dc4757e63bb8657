package honey

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
)

// publishedTable reads a table of testdata: one map a row, by column name.
func publishedTable(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open("../../testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	lines, err := reader.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := make(map[string]string)
		for i, column := range lines[0] {
			row[column] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	value, err := strconv.ParseFloat(row[column], 64)
	if err != nil {
		t.Fatalf("%s in %v: %v", column, row, err)
	}
	return value
}
