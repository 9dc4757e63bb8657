package trace

import "pullbook/domain/ledger"

// OpenExact readies a book for tracing as if all its weights and shares were right, so that
// bounds can be held against every way in which its grams can have gone.
func OpenExact(b *ledger.Book) *Tracer { return open(b, 0) }
