package ledger

// NamedAsKnown is Named as it was when the book's last entry was the one
// numbered n. It does not replay, so that a long answer can go on about one
// moment while the book goes on.
func NamedAsKnown[T any](b *Book, id ID, n int64) *T {
	t, _ := any(b.subjectAsKnown(id, n)).(*T)
	return t
}

// NameAsKnown is Name as it was then.
func (b *Book) NameAsKnown(id ID, n int64) string { return calledBy(b.subjectAsKnown(id, n)) }

func (b *Book) subjectAsKnown(id ID, n int64) (subject Body) {
	f := b.fact(id)
	if f == nil {
		return nil
	}
	for f = f.root; f != nil && f.Number <= n; f = f.by {
		if f.Entry.Kind != KindWithdrawal && (subject == nil || !f.unreadable()) {
			subject = f.Body
		}
	}
	return subject
}

// InForceAt reports whether an entry was in force, neither replaced nor a withdrawal,
// when the book's last entry was the one numbered n.
func (b *Book) InForceAt(e *Entry, n int64) bool {
	f := b.fact(e.ID)
	return f != nil && e.Number <= n && e.Kind != KindWithdrawal && (f.readAfter() == nil || f.readAfter().Number > n) && !b.takenBackBy(f.root, n)
}
