package ledger_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// stored is a book as a database has it.
type stored struct {
	end     ledger.End
	entries []ledger.Sealed
	claims  []ledger.Claim
}

// store numbers and chains entries, with the names that each takes.
func store(t rapid.TB, entries []*ledger.Entry) *stored {
	t.Helper()
	s := &stored{}
	for _, e := range entries {
		before, err := ledger.Open(time.UTC, bare(s.entries))
		if err != nil {
			t.Fatal(err)
		}
		kept := *e
		content, err := kept.Content()
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range before.Claims(&kept) {
			if !slices.Contains(s.claims, c) {
				s.claims = append(s.claims, c)
			}
		}
		kept.Digest = ledger.Chain(s.end.Digest, kept.Number, kept.Canonical(content))
		s.end = ledger.End{Number: kept.Number, Digest: kept.Digest}
		s.entries = append(s.entries, ledger.Sealed{Entry: &kept, Content: content})
	}
	return s
}

func bare(sealed []ledger.Sealed) []*ledger.Entry {
	out := make([]*ledger.Entry, len(sealed))
	for i, e := range sealed {
		out[i] = e.Entry
	}
	return out
}

func (s *stored) audit() (*ledger.Book, error) {
	return ledger.Audit(time.UTC, s.end, s.entries, s.claims)
}

// twoDays is a short book: entries 12 to 17 are a pull, a run, its supers, 100
// kg into the sump, 95 kg of it into the settling tank, and that corrected.
func twoDays() []*ledger.Entry {
	o := ledgertest.NewOutfit()
	pull := o.Pull(1, o.Mill, 20, 0)
	run := o.Run(2, "first")
	o.Supers(2.5, run, pull, 20)
	o.Out(3, run, o.Sump, 100_000)
	moved := o.Write(4, ledgertest.Move(ledger.PlaceTank, o.Sump, ledger.PlaceTank, o.Settling, 95_000))
	o.Correct(moved, 4, ledgertest.Move(ledger.PlaceTank, o.Sump, ledger.PlaceTank, o.Settling, 96_000))
	return o.Entries
}

func TestAWholeBookPassesItsAudit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := store(t, ledgertest.Random(t, 30).Entries)
		book, err := s.audit()
		if err != nil {
			t.Fatal(err)
		}
		if book.Len() != s.end.Number {
			t.Fatalf("the audit read %d entries of %d", book.Len(), s.end.Number)
		}
	})
}

func TestAnEmptyBookPassesItsAudit(t *testing.T) {
	t.Parallel()
	if _, err := (&stored{}).audit(); err != nil {
		t.Fatal(err)
	}
}

func TestTheAuditNamesTheFirstBreak(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name   string
		alter  func(*stored)
		number int64
		says   string
	}{
		{"a mass altered", func(s *stored) {
			s.entries[14].Content = []byte(strings.Replace(string(s.entries[14].Content), "100000", "100001", 1))
		}, 15, "was altered"},
		{"the order of the bytes altered", func(s *stored) {
			s.entries[14].Content = append(s.entries[14].Content, ' ')
		}, 15, "was altered"},
		{"an hour moved", func(s *stored) {
			s.entries[12].OccurredAt = s.entries[12].OccurredAt.Add(time.Microsecond)
		}, 13, "was altered"},
		{"the time of recording moved", func(s *stored) {
			s.entries[12].RecordedAt = s.entries[12].RecordedAt.Add(time.Hour)
		}, 13, "was altered"},
		{"another name under it", func(s *stored) { s.entries[12].RecordedBy = "Bo" }, 13, "was altered"},
		{"another reason", func(s *stored) { s.entries[16].Reason = "other" }, 17, "was altered"},
		{"the last entry altered", func(s *stored) { s.entries[16].Kind = ledger.KindWash }, 17, "was altered"},
		{"a digest altered", func(s *stored) { s.entries[9].Digest[0]++ }, 10, "has an altered digest"},
		{"two entries swapped", func(s *stored) {
			s.entries[12], s.entries[13] = s.entries[13], s.entries[12]
			s.entries[12].Number, s.entries[13].Number = 13, 14
		}, 13, "is not the one recorded under this number"},
		{"an entry in the middle gone", func(s *stored) { s.entries = slices.Delete(s.entries, 12, 13) }, 13, "is missing: entry 14 comes in its place"},
		{"the first entry gone", func(s *stored) { s.entries = s.entries[1:] }, 1, "is missing"},
		{"the last entry gone", func(s *stored) { s.entries = s.entries[:16] }, 17, "is missing: the book counts 17 entries and has 16"},
		{"all entries gone", func(s *stored) { s.entries = nil }, 1, "is missing"},
		{"an entry not counted", func(s *stored) { s.end.Number = 16 }, 17, "is not counted"},
		{"another end written down", func(s *stored) { s.end.Digest[31]++ }, 17, "is not the end that the book wrote down"},
		{"a name no longer kept as taken", func(s *stored) { s.claims = s.claims[1:] }, 1, `takes the season "2026"`},
		{"a name kept for nothing", func(s *stored) {
			s.claims = append(s.claims, ledger.Claim{Noun: ledger.KindLot, Code: "26-001", Root: ledgertest.ID(99)})
		}, 0, `the lot "26-001"`},
		{"a name kept for another", func(s *stored) { s.claims[1].Root = ledgertest.ID(3) }, 0, `the yard "mill"`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := store(t, twoDays())
			if _, err := s.audit(); err != nil {
				t.Fatalf("before the alteration: %v", err)
			}
			tt.alter(s)
			_, err := s.audit()
			var found *ledger.Break
			if !errors.As(err, &found) {
				t.Fatalf("the audit gave %v", err)
			}
			if found.Number != tt.number || !strings.Contains(found.Error(), tt.says) {
				t.Errorf("the audit named entry %d: %v; want entry %d: %q", found.Number, found, tt.number, tt.says)
			}
		})
	}
}

// A forger who chains everything anew is not found by the digests, but what
// cannot be a book still is.
func TestTheAuditReadsTheBook(t *testing.T) {
	t.Parallel()
	entries := twoDays()
	for _, tt := range []struct {
		name  string
		alter func(*ledger.Entry)
		says  string
	}{
		{"a correction of nothing", func(e *ledger.Entry) { e.Replaces = ledgertest.ID(99) }, "which is not in the book"},
		{"a correction by another kind", func(e *ledger.Entry) { e.Body, e.Kind = &ledger.Wash{}, ledger.KindWash }, "cannot replace"},
		{"the id of another entry", func(e *ledger.Entry) { e.ID = ledgertest.ID(1) }, "has the id"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := store(t, entries[:16])
			forged := *entries[16]
			tt.alter(&forged)
			content, err := forged.Content()
			if err != nil {
				t.Fatal(err)
			}
			forged.Digest = ledger.Chain(s.end.Digest, 17, forged.Canonical(content))
			s.end = ledger.End{Number: 17, Digest: forged.Digest}
			s.entries = append(s.entries, ledger.Sealed{Entry: &forged, Content: content})
			if _, err := s.audit(); err == nil || !strings.Contains(err.Error(), tt.says) {
				t.Errorf("the audit gave %v, want %q", err, tt.says)
			}
		})
	}
}
