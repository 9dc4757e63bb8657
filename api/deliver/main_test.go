package deliver_test

import (
	"context"
	"os"
	"testing"

	"pullbook/db/dbtest"
	"pullbook/migrations"
)

func TestMain(m *testing.M) {
	os.Exit(dbtest.Main(m, func(_ context.Context, url string) error { return migrations.Up(url) }))
}
