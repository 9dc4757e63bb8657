package request

import (
	"sync"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
	"pullbook/domain/trace"
)

// tracers keeps the tracers of the latest books asked for.
type tracers struct {
	mu   sync.Mutex
	kept map[uuid.UUID]*keptTracer
}

type keptTracer struct {
	mu     sync.Mutex
	tracer *trace.Tracer
}

// mostTracers bounds what is kept: a tracer is some megabytes for a season.
const mostTracers = 8

// Of readies a book for tracing, or takes the tracer that is ready. Of earlier books
// it is made anew for each request and not kept.
func (t *tracers) Of(outfit uuid.UUID, b *ledger.Book, now bool) *trace.Tracer {
	if !now {
		return trace.Open(b)
	}
	t.mu.Lock()
	k := t.kept[outfit]
	if k == nil {
		if t.kept == nil || len(t.kept) >= mostTracers {
			t.kept = map[uuid.UUID]*keptTracer{}
		}
		k = new(keptTracer)
		t.kept[outfit] = k
	}
	t.mu.Unlock()
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.tracer == nil || !k.tracer.Of(b) && !k.tracer.GoOn(b) {
		k.tracer = trace.Open(b)
	}
	return k.tracer
}
