package ledger_test

import (
	"bytes"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// FuzzReadBack reads whatever stands for an entry's content. What is read is written as
// something that reads as the same again, and what is not is refused without a panic.
func FuzzReadBack(f *testing.F) {
	for _, e := range ledgertest.Large(200, 3) {
		content, err := e.Content()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(e.Kind), content, e.Reason)
	}
	f.Add("pull", []byte(`{"body":{"supers":[{}],"yard_id":1}}`), "\x00")
	f.Add("reading", []byte(`{"body":{"moisture":{"as_read":1e999}},"as_entered":{"":null}}`), "\xff")
	f.Add("withdrawal", []byte(`{"body":null}`), "")
	f.Fuzz(func(t *testing.T, kind string, content []byte, reason string) {
		e := &ledger.Entry{ID: ledgertest.ID(7), Kind: ledger.Kind(kind), OccurredAt: time.Date(2026, 7, 6, 12, 0, 0, 0, time.UTC), Reason: reason, RecordedBy: "Ada"}
		if e.SetContent(content) != nil {
			return
		}
		read, written, err := ledger.ReadBack(e)
		if err != nil {
			return
		}
		_, again, err := ledger.ReadBack(read)
		if err != nil || !bytes.Equal(written, again) {
			t.Errorf("%s %q is written as %q, and read back as %q, %v", kind, content, written, again, err)
		}
		if _, err := ledger.Restore(time.UTC, []*ledger.Entry{{Number: 1, ID: e.ID, Kind: e.Kind, OccurredAt: e.OccurredAt, Body: read.Body}}); err != nil {
			t.Logf("alone in a book: %v", err)
		}
	})
}
