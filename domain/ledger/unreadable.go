package ledger

import (
	"cmp"
	"iter"
	"slices"
)

// KindUnreadable is the kind, in an open book, of an entry that cannot be read: one
// whose content is not what this program writes, or at which the replay breaks down.
// No entry is stored as one.
const KindUnreadable Kind = "unreadable"

// Unreadable is the body of such an entry. The entry keeps its place in the book and
// its digest, and has no effect. It can be corrected or withdrawn as any other.
type Unreadable struct {
	// Was is the kind that the entry is stored as, and Raw its content as stored.
	Was Kind
	Raw []byte
	// Why says what is wrong with it, in English, for whoever keeps the program running.
	Why string
	// Missing is set where there is no such entry any more, and nothing is known of it but
	// its number.
	Missing bool
}

func (*Unreadable) Kind() Kind { return KindUnreadable }

// Spoil makes an entry an unreadable one. Its kind must be as it is stored.
func (e *Entry) Spoil(content []byte, why string) {
	e.Body = &Unreadable{Was: e.Kind, Raw: content, Why: why}
	e.Kind, e.AsEntered, e.Via = KindUnreadable, nil, ""
}

// spoilt is a copy of an entry that reads as an unreadable one.
func (e *Entry) spoilt(why string) (*Entry, error) {
	content, err := e.Content()
	if err != nil {
		return nil, err
	}
	out := *e
	out.Spoil(content, why)
	return &out, nil
}

// unreadable reports whether the fact itself cannot be read. What a root is known as
// may come from a later correction.
func (f *fact) unreadable() bool { return f.Entry.Kind == KindUnreadable }

// operators reports whether the fact is an entry of the operator, readable or not.
func (f *fact) operators() bool {
	u, is := f.Body.(*Unreadable)
	return f.Kind == KindOperator || is && u.Was == KindOperator
}

// Unreadable gives the entries that cannot be read, in order of their numbers, and
// with each the entry that replaces it; nil where none does. Of a gap it gives the first
// entry that is missing.
func (b *Book) Unreadable() iter.Seq2[*Entry, *Entry] {
	return func(yield func(e, by *Entry) bool) {
		for _, f := range b.ofKind[kindIndex[KindUnreadable]] {
			if f.Missing() && b.missingBefore(f.Entry) {
				continue
			}
			var by *Entry
			if f.by != nil {
				by = f.by.Entry
			}
			if !yield(f.Entry, by) {
				return
			}
		}
	}
}

// Tip is the latest entry of the chain that id names, whether it can be read or not,
// which is the one that a correction replaces; nil where there is none.
func (b *Book) Tip(id ID) *Entry {
	f := b.fact(id)
	if f == nil {
		return nil
	}
	for f.by != nil {
		f = f.by
	}
	return f.Entry
}

// putAside registers a fact that cannot be read: behind what it replaces, which goes
// on standing, or by itself.
func (b *Book) putAside(f *fact) {
	if old := b.fact(f.Replaces); old != nil && old.by == nil {
		f.root, old.by = old.root, f
		return
	}
	b.found(f)
	f.last, f.subject = f, f.Body
}

// adopt makes a chain that nothing readable has stood in a thing of the kind of its
// first correction, so that what names it finds it.
func (b *Book) adopt(root *fact, as *fact) {
	old := b.roots[root.kind]
	b.roots[root.kind] = slices.DeleteFunc(old, func(f *fact) bool { return f == root })
	root.Kind, root.kind = as.Kind, as.kind
	i, _ := slices.BinarySearchFunc(b.roots[root.kind], root, func(a, c *fact) int { return cmp.Compare(a.Number, c.Number) })
	b.roots[root.kind] = slices.Insert(b.roots[root.kind], i, root)
	b.giveSlot(root)
}

// readBefore is the last fact before f in its chain that can be read; nil where there
// is none.
func (b *Book) readBefore(f *fact) *fact {
	old := b.fact(f.Replaces)
	for old != nil && old.unreadable() {
		old = b.fact(old.Replaces)
	}
	return old
}

// readAfter is the next fact after f in its chain that can be read; nil where there
// is none.
func (f *fact) readAfter() *fact {
	next := f.by
	for next != nil && next.unreadable() {
		next = next.by
	}
	return next
}

// Overtaken reports whether a later entry took the place of the one that id names. One
// that cannot be read takes no place.
func (b *Book) Overtaken(id ID) bool {
	f := b.fact(id)
	return f != nil && f.readAfter() != nil
}

// unreadable finds what cannot be read and was neither corrected nor withdrawn.
func (v *survey) unreadable() {
	for _, f := range v.book.ofKind[kindIndex[KindUnreadable]] {
		if f.by == nil && !f.root.takenBack && !(f.Missing() && v.book.missingBefore(f.Entry)) {
			v.add(Flag{Code: EntryUnreadable, Entry: f.root.ID})
		}
	}
}

// spoiltIn reports whether an entry of the chain that id names cannot be read.
func (b *Book) spoiltIn(id ID) bool {
	for f := b.at(id); f != nil; f = f.by {
		if f.unreadable() {
			return true
		}
	}
	return false
}

// mend opens the book anew with one more entry after the replay broke down, and sets
// aside what it broke down at.
func (b *Book) mend(e *Entry) (Effect, error) {
	entries := make([]*Entry, 0, e.Number)
	for _, f := range b.facts[:e.Number-1] {
		entries = append(entries, f.Entry)
	}
	again, err := Restore(b.loc, append(entries, e))
	if err != nil {
		return Effect{}, err
	}
	again.goesOn = b.goesOn
	*b = *again
	b.state.book = b
	f := b.facts[e.Number-1]
	return Effect{Entry: f.Entry, Flags: b.state.FlagsOn(f.root.ID)}, nil
}
