package books_test

import (
	"pullbook/db/books/bookstest"
	"testing"
	"time"

	"pullbook/domain/ledger"
)

func TestASeasonIsStoredAndReadBack(t *testing.T) {
	t.Parallel()
	h := open(t)
	year := time.Now().Format("2006")
	season := bookstest.Entry(&ledger.Season{Name: year, First: ledger.Date(year + "-01-01"), Last: ledger.Date(year + "-12-31")})
	yard := bookstest.Entry(&ledger.Yard{Name: "Alder Bend"})
	for _, e := range []*ledger.Entry{season, yard} {
		got, err := h.Books.Append(t.Context(), h.Manager, e)
		if err != nil {
			t.Fatal(err)
		}
		if got.Again {
			t.Error("a first entry was taken for one sent again")
		}
	}
	again := *yard
	got, err := h.Books.Append(t.Context(), h.Manager, &again)
	if err != nil || !got.Again || got.Entry.Number != bookstest.Founded+2 {
		t.Errorf("the same yard sent again: %+v, %v", got, err)
	}
	entries, err := h.Service.EntriesAfter(t.Context(), h.Outfit, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != bookstest.Founded+2 || entries[bookstest.Founded+1].Body.(*ledger.Yard).Name != "Alder Bend" {
		t.Fatalf("read back %d entries", len(entries))
	}
	var before [32]byte
	for _, e := range entries {
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		if before = ledger.Chain(before, e.Number, e.Canonical(content)); before != e.Digest {
			t.Errorf("entry %d: the digest in the database is not the one of its content", e.Number)
		}
	}
}
