package dbtest

import (
	"testing"

	"pullbook/db/local"
)

var Sweep = sweep

// NewWithoutPostgreSQL is New on a machine that has none.
func NewWithoutPostgreSQL(tb testing.TB) string {
	c := &cluster{opts: local.Options{Search: []string{}}}
	tb.Cleanup(func() { _ = c.close() }) // nothing was started
	return c.database(tb)
}
