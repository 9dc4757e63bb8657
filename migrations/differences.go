package migrations

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
)

// Difference is something that protects the books and is not as this program
// sets it up.
type Difference struct {
	// Says is what differs and what that means.
	Says string
	// Mend are the statements that put it right; none where only a backup does.
	Mend []string
}

// Differences compares a database of this program's version with what the
// program sets up, through a transaction.
func Differences(ctx context.Context, tx pgx.Tx) ([]Difference, error) {
	want, err := Expected()
	if err != nil {
		return nil, err
	}
	have, err := Things(ctx, tx)
	if err != nil {
		return nil, fmt.Errorf("look at what protects the books: %w", err)
	}
	return differences(have, want), nil
}

type thingKey struct{ kind, on, name string }

func (t Thing) key() thingKey { return thingKey{t.Kind, t.On, t.Name} }

func differences(have, want []Thing) []Difference {
	wanted, had := map[thingKey]Thing{}, map[thingKey]Thing{}
	for _, t := range want {
		wanted[t.key()] = t
	}
	for _, t := range have {
		had[t.key()] = t
	}
	var out []Difference
	for _, t := range want {
		is, there := had[t.key()]
		_, hasTable := had[thingKey{"table", t.On, ""}]
		_, onTable := wanted[thingKey{"table", t.On, ""}]
		switch {
		case there && is.Is != t.Is:
			out = append(out, changed(is, t))
		case !there && onTable && !hasTable && t.Kind != "table":
			// The missing table is named once.
		case !there && t.Kind == "table":
			out = append(out, Difference{fmt.Sprintf("%s is missing, with all that it held", t.title()), nil})
		case !there:
			out = append(out, Difference{fmt.Sprintf("%s is missing: %s", t.title(), t.meaning()), statements(t.Make)})
		}
	}
	for _, t := range have {
		_, known := wanted[t.key()]
		_, onTable := wanted[thingKey{"table", t.On, ""}]
		if !known && t.matters(onTable) {
			out = append(out, Difference{fmt.Sprintf("%s is none of this program's (%s): %s", t.title(), t.Is, t.meaning()), statements(t.Unmake)})
		}
	}
	return out
}

// changed is a thing that is there and is otherwise than it should be.
func changed(is, want Thing) Difference {
	d := Difference{Says: fmt.Sprintf("%s is %q and should be %q: %s", want.title(), is.Is, want.Is, want.meaning())}
	switch want.Kind {
	case "trigger":
		if off, cut := strings.CutSuffix(is.Is, ", DISABLED"); cut && strings.HasPrefix(want.Is, off+", ") {
			d.Says = fmt.Sprintf("%s is disabled: %s", want.title(), want.meaning())
		}
		d.Mend = statements(is.Unmake, want.Make)
	case "policy", "constraint", "index":
		d.Mend = statements(is.Unmake, want.Make)
	case "grant":
		d.Mend = statements(is.Unmake, want.Make)
	case "function":
		d.Says = fmt.Sprintf("%s was changed (it is %s, and should be %s): %s", want.title(), is.Is, want.Is, want.meaning())
		d.Mend = statements(want.Make)
	default:
		d.Mend = statements(want.Make)
	}
	return d
}

func statements(all ...string) []string {
	var out []string
	for _, s := range all {
		if s != "" {
			out = append(out, s)
		}
	}
	return out
}

// matters reports whether a thing that this program did not make weakens what
// protects the books. What others keep beside the books does not.
func (t Thing) matters(onTable bool) bool {
	switch t.Kind {
	case "table":
		return false
	case "function":
		return strings.Contains(t.Is, "SECURITY DEFINER")
	case "index":
		return onTable && strings.Contains(t.Is, " UNIQUE ")
	case "grant":
		return onTable || strings.HasSuffix(t.Name, " TO pullbook_service") || strings.HasSuffix(t.Name, " TO pullbook_operator")
	case "membership", "setting":
		return true
	}
	return onTable
}

func (t Thing) title() string {
	title := "the " + t.Kind
	if t.Name != "" {
		title += " " + t.Name
	}
	if t.On != "" && t.Kind != "grant" {
		title += " on " + t.On
	}
	if t.Kind == "table" {
		title = "the table " + t.On
	}
	return title
}

// meaning is what hangs on a thing.
func (t Thing) meaning() string {
	switch t.Kind {
	case "trigger", "rule":
		return "somebody with the owner's rights could change or remove what was recorded"
	case "table":
		return "one outfit could see or change the rows of another, or a crash could lose them"
	case "policy":
		return "one outfit could see or change the rows of another"
	case "grant", "membership":
		return "the service or somebody else may do more or less with the books than they should"
	case "role":
		return "the service could pass what keeps outfits apart and entries unchanged"
	case "function":
		return "what may be recorded, who sees it and that it stays is decided in there"
	case "setting":
		return "triggers could be passed, or an entry be acknowledged that is not on the disk"
	}
	return "what cannot be could be recorded, or what can be refused"
}

// mostRounds bounds how often what is mended is looked at again: giving a table
// back to its owner, for one, takes grants away that have to be given again.
const mostRounds = 3

// Mend puts right what it can, in a transaction of the tables' owner, and says
// what it mended and what is left, which only a backup puts right.
func Mend(ctx context.Context, tx pgx.Tx) (mended, left []Difference, err error) {
	for range mostRounds {
		if left, err = Differences(ctx, tx); err != nil || len(left) == 0 {
			return mended, nil, err
		}
		// Constraints, policies and triggers call functions.
		slices.SortStableFunc(left, func(a, b Difference) int { return cmp.Compare(a.rank(), b.rank()) })
		for _, d := range left {
			for _, sql := range d.Mend {
				if _, err := tx.Conn().PgConn().Exec(ctx, sql).ReadAll(); err != nil {
					return nil, left, fmt.Errorf("%s: %w", sql, err)
				}
			}
		}
		mended = append(mended, left...)
	}
	left, err = Differences(ctx, tx)
	return mended, left, err
}

func (d Difference) rank() int {
	if len(d.Mend) > 0 && strings.HasPrefix(d.Mend[0], "CREATE OR REPLACE FUNCTION") {
		return 0
	}
	return 1
}
