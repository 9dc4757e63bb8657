package honey

import (
	"testing"

	"pullbook/domain/publishedtest"
)

// publishedTable reads a table of testdata: one map a row, by column name.
func publishedTable(t *testing.T, name string) []map[string]string {
	t.Helper()
	return publishedtest.Rows(t, "../../testdata/"+name)
}

func number(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	return publishedtest.Number(t, row[column])
}
