package recording_test

import (
	"context"
	"os"
	"testing"

	"pullbook/db/dbtest"
	"pullbook/migrations"
)

func TestMain(m *testing.M) {
	if !dbtest.Whole() {
		dbtest.Waiting() // for drawings, touches and answers; all origins at once would keep each device waiting too long
	}
	os.Exit(dbtest.Main(m, func(_ context.Context, url string) error { return migrations.Up(url) }))
}
