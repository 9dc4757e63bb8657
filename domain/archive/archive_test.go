package archive_test

import (
	"bytes"
	"encoding/hex"
	"io"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/archive"
	"pullbook/domain/ledger"
)

// written is an archive of two yards.
func written(t testing.TB) []byte {
	t.Helper()
	var out bytes.Buffer
	w := archive.NewWriter(&out)
	m := archive.Manifest{Outfit: archive.Outfit{ID: uuid.MustParse("7a1c3f0e-1b2d-4c5e-8f90-a1b2c3d4e5f6"), Name: "Fern Gully Honey", TimeZone: "UTC", Units: "metric"}, Entries: 2}
	entries, err := w.Create(archive.EntriesFile)
	if err != nil {
		t.Fatal(err)
	}
	var digest [32]byte
	for n := int64(1); n <= 2; n++ {
		at := time.Date(2026, 7, int(n), 8, 0, 0, 123_000, time.UTC)
		// Content is kept byte for byte, whatever an encoder would make of it.
		content := []byte(`{"body": {"name":"<` + string(rune('A'+n)) + `> \u0026"}}`)
		e := &ledger.Entry{Number: n, ID: uuid.NewSHA1(uuid.Nil, []byte{byte(n)}), Kind: ledger.KindYard, OccurredAt: at, RecordedAt: at, RecordedBy: "Ada <&>"}
		digest = ledger.Chain(digest, n, e.Canonical(content))
		e.Digest = digest
		if _, err := entries.Write(archive.AppendEntry(nil, e, content)); err != nil {
			t.Fatal(err)
		}
	}
	m.Digest = hex.EncodeToString(digest[:])
	for _, name := range []string{archive.ClaimsFile, archive.PeopleFile} {
		if _, err := w.Create(name); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(m); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestEntriesAreReadByteForByteAsTheyWereWritten(t *testing.T) {
	t.Parallel()
	data := written(t)
	a, err := archive.Open(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	if err := a.Entries(func(s ledger.Sealed) error {
		n++
		if want := `{"body": {"name":"<` + string(rune('A'+n)) + `> \u0026"}}`; string(s.Content) != want || s.RecordedBy != "Ada <&>" || s.OccurredAt.Nanosecond() != 123_000 {
			t.Errorf("entry %d: %s, %+v", n, s.Content, s.Entry)
		}
		return nil
	}); err != nil || n != 2 {
		t.Errorf("%d entries, %v", n, err)
	}
}

// Every byte of an archive that is altered is noticed, or means nothing: then what
// is read is the same.
func TestNoAlteredByteGoesUnnoticed(t *testing.T) {
	t.Parallel()
	data := written(t)
	for i := range data {
		spoilt := bytes.Clone(data)
		spoilt[i] ^= 0x10
		a, err := archive.Open(bytes.NewReader(spoilt), int64(len(spoilt)))
		if err != nil {
			continue
		}
		if err := a.Entries(func(ledger.Sealed) error { return nil }); err != nil {
			continue
		}
		if a.Manifest.Entries != 2 {
			t.Errorf("byte %d: the book has %d entries", i, a.Manifest.Entries)
		}
	}
}

// Whatever bytes come, they are read as an archive or refused.
func FuzzOpen(f *testing.F) {
	f.Add(written(f))
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) {
		a, err := archive.Open(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			return
		}
		last := int64(0)
		if err := a.Entries(func(s ledger.Sealed) error {
			if last++; s.Number != last {
				return io.ErrUnexpectedEOF
			}
			return nil
		}); err == nil && last != a.Manifest.Entries {
			t.Errorf("%d entries, and the manifest says %d", last, a.Manifest.Entries)
		}
		_, _ = a.People()
		_, _ = a.Claims()
	})
}
