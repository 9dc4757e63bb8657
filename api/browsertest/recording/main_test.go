package recording_test

import (
	"context"
	"os"
	"testing"

	"pullbook/db/dbtest"
	"pullbook/migrations"
)

func TestMain(m *testing.M) {
	dbtest.Waiting() // for drawings, touches and answers
	os.Exit(dbtest.Main(m, func(_ context.Context, url string) error { return migrations.Up(url) }))
}
