package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// An outfit leaves one installation by export and comes to another by
// import-archive, with the same last digest.
func TestAnOutfitMovesFromOneInstallationToAnother(t *testing.T) {
	t.Parallel()
	here, there, work := folder(t), folder(t), t.TempDir()
	newOutfit(t, "--data", here)
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
	spoilt[len(spoilt)/4] ^= 1
	bad := filepath.Join(work, "bad.zip")
	if err := os.WriteFile(bad, spoilt, 0o600); err != nil {
		t.Fatal(err)
	}
	refused(t, exitFailed, []string{"nothing was stored"}, "import-archive", bad, "--data", folder(t))
}
