package db_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/books/bookstest"
	"pullbook/domain/ledger"
)

// draft is an entry on its way into the house's book.
func (h *honeyHouse) draft(t testing.TB, body ledger.Body) *db.Draft {
	t.Helper()
	e := bookstest.Entry(body)
	e.OccurredAt, e.RecordedBy = db.Microseconds(e.OccurredAt), "Mirren"
	e, content, err := ledger.ReadBack(e)
	if err != nil {
		t.Fatal(err)
	}
	e.RecordedAt = db.Microseconds(time.Now())
	return &db.Draft{Outfit: h.Outfit, Access: h.Manager.Access, Entry: e, Content: content}
}

func (h *honeyHouse) counts(t testing.TB, yard ledger.ID, n int) []*db.Draft {
	t.Helper()
	drafts := make([]*db.Draft, n)
	for i := range drafts {
		drafts[i] = h.draft(t, &ledger.HiveCount{YardID: yard, Hives: i + 1})
	}
	return drafts
}

// again is a draft of an entry that is in the book.
func again(d *db.Draft) *db.Draft {
	twin := *d
	twin.Entry = bookstest.Again(d.Entry)
	return &twin
}

func (h *honeyHouse) append(t testing.TB, drafts []*db.Draft, want ...bool) {
	t.Helper()
	stored, err := h.Service.Append(t.Context(), drafts)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(stored, want) {
		t.Errorf("of the drafts were stored %v and not %v", stored, want)
	}
}

// Entries that one statement stores are numbered and chained as each by itself: h.Stored
// looks at every digest.
func TestEntriesThatComeTogetherAreChainedOneBehindTheOther(t *testing.T) {
	t.Parallel()
	h := open(t)
	yard := h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"}).Entry.ID
	counts := h.counts(t, yard, 6)
	counts[4].Entry.Reason, counts[4].Entry.Replaces = "miscounted", counts[1].Entry.ID
	claiming := h.draft(t, &ledger.Yard{Name: "Birch Hollow"})
	claiming.Claims = []ledger.Claim{{Noun: "yard", Code: "birch hollow", Root: claiming.Entry.ID}}
	drafts := []*db.Draft{counts[0], counts[1], counts[2], claiming, counts[3], again(counts[3]), counts[4], counts[5]}
	h.append(t, drafts, true, true, true, true, true, false, true, true)
	entries := h.Stored(t, h.Outfit)
	stored := slices.Delete(drafts, 5, 6)
	for i, e := range entries[len(entries)-len(stored):] {
		if want := stored[i].Entry; e.ID != want.ID || e.Number != want.Number || e.Digest != want.Digest || e.Replaces != want.Replaces || !e.RecordedAt.Equal(want.RecordedAt) {
			t.Errorf("the draft\n%+v\nis in the book as\n%+v", want, e)
		}
	}
	if err := h.Audit(t); err != nil {
		t.Error(err)
	}
}

func TestAnEntryThatIsInTheBookKeepsNoOtherOut(t *testing.T) {
	t.Parallel()
	h := open(t)
	yard := h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"}).Entry.ID
	first, more := h.counts(t, yard, 3), h.counts(t, yard, 3)
	h.append(t, first, true, true, true)
	h.append(t, []*db.Draft{again(first[0]), more[0], again(first[2]), more[1], again(first[1]), more[2]}, false, true, false, true, false, true)
	h.append(t, []*db.Draft{again(first[0]), again(more[0])}, false, false)
	if got := len(h.Stored(t, h.Outfit)); got != bookstest.Founded+1+6 {
		t.Errorf("the book has %d entries", got)
	}
}

func TestARunIsNotStoredOncePeopleChanged(t *testing.T) {
	t.Parallel()
	h := open(t)
	yard := h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"}).Entry.ID
	drafts := h.counts(t, yard, 3)
	if err := h.Operator.CreatePerson(t.Context(), h.Outfit, db.Person{ID: uuid.New(), Name: "Odell", Role: db.Crew}); err != nil {
		t.Fatal(err)
	}
	h.append(t, drafts, false, false, false)
	h.Stored(t, h.Outfit)
}

// A run that is chained already is stored where it was chained to, or not at all.
func TestAChainedRunIsStoredInItsPlace(t *testing.T) {
	t.Parallel()
	h := open(t)
	yard := h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"}).Entry.ID
	chained := func(after *ledger.Entry) []*db.Draft {
		drafts := h.counts(t, yard, 3)
		number, digest := after.Number, after.Digest
		for _, d := range drafts {
			d.Chained, d.After = true, number
			number++
			d.Entry.Number, d.Entry.RecordedAt = number, d.Entry.OccurredAt
			digest = ledger.Chain(digest, number, d.Entry.Canonical(d.Content))
			d.Entry.Digest = digest
		}
		return drafts
	}
	all := h.Stored(t, h.Outfit)
	late := chained(all[len(all)-1])
	h.append(t, chained(all[len(all)-1]), true, true, true)
	h.append(t, late, false, false, false)
	all = h.Stored(t, h.Outfit)
	next := chained(all[len(all)-1])
	next[1].Entry.ID = all[len(all)-1].ID
	h.append(t, next, false, false, false)
	all = h.Stored(t, h.Outfit)
	forged := chained(all[len(all)-1])
	forged[1].Entry.Digest[0]++
	if _, err := h.Service.Append(t.Context(), forged); err == nil {
		t.Error("nobody is told that a run has other digests than were said")
	}
	h.Stored(t, h.Outfit)
}

// Phones that get no answer send again, and several processes take what they send.
func TestTheSameEntriesFromAllSidesAreBookedOnce(t *testing.T) {
	t.Parallel()
	h := open(t)
	yard := h.Record(t, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"}).Entry.ID
	h.Record(t, h.Books, h.Manager, &ledger.Season{Name: "all", First: "2000-01-01", Last: "2099-12-31"})
	processes := []*books.Books{h.Books, h.AnotherProcess(t)}
	const sent, phones = 40, 8
	entries := make([]*ledger.Entry, sent)
	for i := range entries {
		entries[i] = bookstest.Entry(&ledger.HiveCount{YardID: yard, Hives: i + 1})
	}
	var all sync.WaitGroup
	for phone := range phones {
		order := rand.New(rand.NewPCG(7, uint64(phone))).Perm(sent)
		for part := range slices.Chunk(order, sent/4) {
			all.Go(func() {
				for _, i := range part {
					if _, err := processes[phone%len(processes)].Append(t.Context(), h.Manager, bookstest.Again(entries[i])); err != nil {
						t.Error(err)
					}
				}
			})
		}
	}
	all.Wait()
	if got := len(h.Stored(t, h.Outfit)); got != bookstest.Founded+2+sent {
		t.Errorf("%d entries are in the book as %d", sent, got-bookstest.Founded-2)
	}
}

// BenchmarkAppend stores so many entries of one outfit in one transaction, as a writer does.
func BenchmarkAppend(b *testing.B) {
	for _, together := range []int{1, 2, 4, 8, 32} {
		b.Run(fmt.Sprint(together), func(b *testing.B) {
			h := open(b)
			yard := h.Record(b, h.Books, h.Manager, &ledger.Yard{Name: "Alder Bend"}).Entry.ID
			b.ReportAllocs()
			for b.Loop() {
				b.StopTimer()
				drafts := h.counts(b, yard, together)
				b.StartTimer()
				if _, err := h.Service.Append(b.Context(), drafts); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N*together), "µs/entry")
		})
	}
}
