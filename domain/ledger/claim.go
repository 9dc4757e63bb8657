package ledger

import "strings"

// Claim is a name or code that an entry takes for its own: no other thing of
// the outfit may have it. Once claimed it stays claimed, so that a code on a
// label never means two things.
type Claim struct {
	Noun Kind
	Code string
	// Use counts how often a container's number was freed by taking the honey
	// back out; 0 for everything else.
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
	name := ""
	use := 0
	switch x := e.Body.(type) {
	case *Season:
		name = x.Name
	case *Yard:
		name = x.Name
	case *SuperKind:
		name = x.Name
	case *ContainerKind:
		name = x.Name
	case *Room:
		name = x.Name
	case *Tank:
		name = x.Name
	case *Instrument:
		name = x.Name
	case *Buyer:
		name = x.Name
	case *Lot:
		name = x.Code
	case *Fill:
		name = x.Container
		use = b.freed(name)
	default:
		return nil
	}
	return []Claim{{e.Kind, strings.ToLower(strings.TrimSpace(name)), use, root}}
}

// freed counts how often a container number was freed.
func (b *Book) freed(number string) int {
	n := 0
	for _, f := range b.containers[containerKey(number)] {
		if b.freedIts(f, number) {
			n++
		}
	}
	return n
}

// Claimed is the thing that has a name already; nil where it is free.
func (b *Book) Claimed(noun Kind, name string) *Entry {
	key := strings.ToLower(strings.TrimSpace(name))
	var found *Entry
	b.Of(noun, func(_ ID, e *Entry) bool {
		for _, c := range b.Claims(e) {
			if c.Code == key {
				found = e
			}
		}
		return found == nil
	})
	return found
}
