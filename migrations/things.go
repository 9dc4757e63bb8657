package migrations

import (
	"bufio"
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// The expected things are those of a database that was just brought up to date.
// A test holds the file against one, and writes it anew:
//
//go:generate go test . -run TestTheListOfWhatProtectsTheBooksIsCurrent -write

var (
	//go:embed listing.sql
	sqlThings string
	//go:embed things.jsonl
	expected []byte
)

// Thing is something in the database that protects the books, or could undo
// their protection.
type Thing struct {
	Kind string `json:"kind"`
	// On is the table that it is about, "" where it is about none.
	On   string `json:"on,omitempty"`
	Name string `json:"name,omitempty"`
	// Is is how it is.
	Is string `json:"is"`
	// Make and Unmake are statements that make it so and that remove it, "" where
	// there are none.
	Make   string `json:"make,omitempty"`
	Unmake string `json:"unmake,omitempty"`
}

// Things lists what a database has, through a transaction, of whatever role.
func Things(ctx context.Context, tx pgx.Tx) ([]Thing, error) {
	// Names are said without their schema where the search path has it.
	if _, err := tx.Exec(ctx, `SET LOCAL search_path = public`); err != nil {
		return nil, err
	}
	rows, err := tx.Query(ctx, sqlThings)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[Thing])
}

// Expected lists what a database of this program's version has.
func Expected() ([]Thing, error) {
	var all []Thing
	lines := bufio.NewScanner(bytes.NewReader(expected))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var t Thing
		if err := json.Unmarshal(lines.Bytes(), &t); err != nil {
			return nil, fmt.Errorf("the embedded list of what protects the books: %w", err)
		}
		all = append(all, t)
	}
	return all, lines.Err()
}
