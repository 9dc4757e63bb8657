package main

import (
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pullbook/domain/archive"
)

// An outfit leaves one installation by export and comes to another by
// import-archive, with the same last digest.
func TestAnOutfitMovesFromOneInstallationToAnother(t *testing.T) {
	t.Parallel()
	here, _ := foundedFolder(t)
	there, work := blank(t), t.TempDir()
	sheet := filepath.Join(work, "yards.csv")
	if err := os.WriteFile(sheet, []byte("Yard\nAlder Bend\nMill Race\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	must(t, "import", sheet, "--kind", "yards", "--data", here)
	book := filepath.Join(work, "book.zip")
	written := must(t, "export", "--data", here)
	if err := os.WriteFile(book, []byte(written), 0o600); err != nil {
		t.Fatal(err)
	}
	if out := must(t, "import-archive", book, "--data", there); !strings.Contains(out, fmt.Sprintf("%d entries, %[1]d of them new", founded+3)) {
		t.Errorf("%s", out)
	}
	if was, is := must(t, "audit", "--data", here), must(t, "audit", "--data", there); was != is || !strings.Contains(is, fmt.Sprintf("whole; %d entries", founded+3)) {
		t.Errorf("here %s there %s", was, is)
	}
	if out := must(t, "import-archive", book, "--data", there); !strings.Contains(out, "Nothing new") {
		t.Errorf("%s", out)
	}
	spoilt := []byte(written)
	spoilt[middleOf(t, spoilt, archive.EntriesFile)] ^= 1
	bad := filepath.Join(work, "bad.zip")
	if err := os.WriteFile(bad, spoilt, 0o600); err != nil {
		t.Fatal(err)
	}
	refused(t, exitFailed, []string{"nothing was stored"}, "import-archive", bad, "--data", blank(t))
}

// middleOf is where the packed bytes of a file in an archive have their middle. A
// byte of a header might be one that nobody reads.
func middleOf(t *testing.T, data []byte, name string) int64 {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		if f.Name == name {
			from, err := f.DataOffset()
			if err != nil {
				t.Fatal(err)
			}
			return from + int64(f.CompressedSize64/2)
		}
	}
	t.Fatalf("the archive has no %s", name)
	return 0
}
