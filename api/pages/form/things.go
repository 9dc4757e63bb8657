package form

import (
	"fmt"
	"slices"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/google/uuid"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// Things are the entries that a form's questions may name. They are taken from a book, so
// that the form can be put into words once the book is free.
type Things struct {
	// of are the roots of the entries in force, by kind, in the order in which the book
	// learned of them.
	of map[ledger.Kind][]ledger.ID
	// names are those of of and of what was chosen, by root; roots are of what was chosen.
	names map[ledger.ID]message.Text
	roots map[ledger.ID]ledger.ID
	// own are the parameters that rule sets of the outfit name.
	own []standard.OwnParameter
}

// MostThings of a kind are offered, the latest; what was chosen is among them.
const MostThings = 300

// ThingsFor returns what the questions of a schema may name, and what the values name.
func ThingsFor(b *ledger.Book, schema *openapi3.Schema, values ...map[string]any) Things {
	t := Things{of: map[ledger.Kind][]ledger.ID{}, names: map[ledger.ID]message.Text{}, roots: map[ledger.ID]ledger.ID{}}
	if schema.Properties["measured"] != nil || schema.Properties["limits"] != nil {
		for _, o := range b.OwnParameters() {
			t.own = append(t.own, o.OwnParameter)
		}
	}
	t.offer(b, "", schema)
	for _, v := range values {
		t.choose(b, v)
	}
	return t
}

func (t Things) offer(b *ledger.Book, name string, s *openapi3.Schema) {
	if placeSchema(s) {
		for _, kind := range s.Properties["kind"].Value.Enum {
			t.offerKind(b, placeKind[fmt.Sprint(kind)])
		}
		return
	}
	if s.Format == "uuid" {
		t.offerKind(b, referred[name])
	}
	for name, p := range s.Properties {
		if inner := merged(p.Value); !recursive(inner) {
			t.offer(b, name, inner)
		}
	}
	if s.Items != nil {
		t.offer(b, name, merged(s.Items.Value))
	}
}

func (t Things) offerKind(b *ledger.Book, kind ledger.Kind) {
	if t.of[kind] != nil {
		return
	}
	roots := []ledger.ID{}
	b.InForceOf(kind, func(root ledger.ID, _ *ledger.Entry) bool {
		roots = append(roots, root)
		return true
	})
	t.of[kind] = roots
	for _, root := range roots[max(0, len(roots)-MostThings):] {
		t.names[root] = season.EntryName(b, root)
	}
}

// choose takes up what an answer names, whichever version of it.
func (t Things) choose(b *ledger.Book, answer any) {
	switch x := answer.(type) {
	case map[string]any:
		for _, inner := range x {
			t.choose(b, inner)
		}
	case []any:
		for _, inner := range x {
			t.choose(b, inner)
		}
	case string:
		if id, err := uuid.Parse(x); err == nil {
			t.roots[id] = b.Root(id)
			t.names[t.roots[id]] = season.EntryName(b, t.roots[id])
		}
	}
}

func (m Maker) things(kind ledger.Kind, chosen string) []Option {
	id, _ := uuid.Parse(chosen) // nothing is chosen where it is no id
	now := m.Things.roots[id]
	roots := m.Things.of[kind]
	if len(roots) > MostThings {
		late := roots[len(roots)-MostThings:]
		if now != uuid.Nil && !slices.Contains(late, now) {
			late = append([]ledger.ID{now}, late...)
		}
		roots = late
	}
	out := make([]Option, len(roots))
	for i, root := range roots {
		out[i] = Option{root.String(), m.Things.names[root].In(m), now == root}
		if out[i].Chosen {
			out[i].Value = chosen
		}
	}
	return out
}
