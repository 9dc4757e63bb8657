package ledger

import (
	"slices"
	"strings"
)

// Claim is a name or code that an entry takes for its own: no other thing of
// the outfit may have it. Once claimed it stays claimed, so that a code on a
// label never means two things.
type Claim struct {
	Noun Kind
	Code string
	// Use counts how often a container's number was freed by taking the honey
	// back out, and how often another name was by withdrawing the import that
	// took it.
	Use int
	// Root is the thing that claims it.
	Root ID
}

// Claims is what an entry claims.
func (b *Book) Claims(e *Entry) []Claim {
	root := e.ID
	if e.Replaces != (ID{}) {
		root = b.rootID(e.Replaces)
	}
	name, ok := nameOf(e.Body)
	if !ok {
		return nil
	}
	use := 0
	if fill, ok := e.Body.(*Fill); !ok {
		use = b.neverWas(e.Kind, claimKey(name))
	} else if b.hadContainer(e, fill) {
		return nil
	} else {
		use = b.freed(name)
	}
	return []Claim{{e.Kind, claimKey(name), use, root}}
}

// claimKey is a name as it is told from others: case and outer blanks are not.
func claimKey(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// nameOf is the name or code that a body claims; false where it claims none.
func nameOf(x Body) (name string, ok bool) {
	switch x := x.(type) {
	case *Season:
		return x.Name, true
	case *Yard:
		return x.Name, true
	case *SuperKind:
		return x.Name, true
	case *ContainerKind:
		return x.Name, true
	case *Room:
		return x.Name, true
	case *Tank:
		return x.Name, true
	case *Instrument:
		return x.Name, true
	case *Buyer:
		return x.Name, true
	case *RuleSet:
		return x.Name, true
	case *Lot:
		return x.Code, true
	case *Fill:
		return x.Container, true
	}
	return "", false
}

// nameKey is a name or code of a kind of thing, as names are told apart.
type nameKey struct {
	noun Kind
	name string
}

// takeName notes that a chain of corrections has, or had, the name that a fact gives it.
func (b *Book) takeName(f *fact, name string) {
	key := nameKey{f.root.Kind, claimKey(name)}
	if had := b.owners[key]; !slices.Contains(had, f.root) {
		b.owners[key] = append(slices.Clip(had), f.root) // Ahead shares the list
	}
}

// freed counts how often a container number was freed.
func (b *Book) freed(number string) int {
	n := 0
	for _, f := range b.owners[nameKey{KindFill, containerKey(number)}] {
		if b.freedIts(f, number) {
			n++
		}
	}
	return n
}

// hadContainer reports whether a fill before e in its chain of corrections had
// the same container, so that e need not claim it once more.
func (b *Book) hadContainer(e *Entry, fill *Fill) bool {
	old := b.fact(e.Replaces)
	if old == nil {
		return false
	}
	for f := old.root; f != nil && f.ID != e.ID; f = f.by {
		if was, ok := f.Body.(*Fill); ok && containerKey(was.Container) == containerKey(fill.Container) {
			return true
		}
	}
	return false
}

// claimed is the root of what has or once had a name; nil where it is free. now
// is true where it is the name that the thing goes by.
func (b *Book) claimed(noun Kind, name string) (root *fact, now bool) {
	for _, r := range b.owners[nameKey{noun, name}] {
		if r.takenBack {
			continue
		}
		last, ok := nameOf(r.last.Body) // a withdrawal goes by none
		return r, ok && claimKey(last) == name
	}
	return nil, false
}

// neverWas counts the things that took a name with an import that was withdrawn
// whole: it is free again, so that the sheet can be brought in put right.
func (b *Book) neverWas(noun Kind, name string) (n int) {
	for _, r := range b.owners[nameKey{noun, name}] {
		if r.takenBack {
			n++
		}
	}
	return n
}
