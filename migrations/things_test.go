package migrations_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"testing"

	"github.com/jackc/pgx/v5"

	"pullbook/db/dbtest"
	"pullbook/migrations"
)

var write = flag.Bool("write", false, "write things.jsonl anew")

func TestTheListOfWhatProtectsTheBooksIsCurrent(t *testing.T) {
	address := dbtest.New(t)
	up(t, address)
	var things []migrations.Thing
	err := pgx.BeginFunc(t.Context(), connect(t, address), func(tx pgx.Tx) (err error) {
		things, err = migrations.Things(t.Context(), tx)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	var now bytes.Buffer
	lines := json.NewEncoder(&now)
	lines.SetEscapeHTML(false)
	for _, thing := range things {
		if err := lines.Encode(thing); err != nil {
			t.Fatal(err)
		}
	}
	if *write {
		if err := os.WriteFile("things.jsonl", now.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	was, err := os.ReadFile("things.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(was, now.Bytes()) {
		t.Error("the migrations make another schema than things.jsonl says: run `go generate ./migrations`, look at what changed in the file, and commit it")
	}
}
