package ledger_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"testing"

	"pullbook/domain/document"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

func photo(of ledger.ID, words string) *ledger.Photo {
	digest := sha256.Sum256([]byte(words))
	return &ledger.Photo{EntryID: of, SHA256: hex.EncodeToString(digest[:]), MediaType: document.JPEG, Bytes: 200 << 10, FileName: words + ".jpg"}
}

// TestAPictureIsOfWhatItWasTakenWith: of the drum, its lot and its tank, through corrections,
// until it is withdrawn. It moves no honey.
func TestAPictureIsOfWhatItWasTakenWith(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(10, "1")
	o.Out(12, run, o.Settling, 1_400_000)
	lot := o.Write(24, &ledger.Lot{Code: "26-014"})
	drum := o.Fill(25, lot, o.Settling, "D-1", 290_000)
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	before := b.State().Totals()
	taken := o.Write(26, photo(drum, "label"))
	o.Correct(drum, 25, o.FillBody(lot, o.Settling, "D-1", 290_000))
	b, err = o.Open()
	if err != nil {
		t.Fatal(err)
	}
	if got := b.PhotosOf(drum); len(got) != 1 || got[0].ID != taken {
		t.Errorf("the corrected drum has the pictures %v", got)
	}
	e, _ := b.Entry(taken)
	for what, id := range map[string]ledger.ID{"its lot": lot, "its tank": o.Settling, "itself": drum} {
		if !b.About(e, id) {
			t.Errorf("the picture of a drum is not about %s", what)
		}
	}
	if after := b.State().Totals(); after != before || len(b.State().FlagsOn(taken)) > 0 {
		t.Errorf("a picture turned %+v into %+v", before, after)
	}
	o.Withdraw(taken)
	if b, err = o.Open(); err != nil || len(b.PhotosOf(drum)) != 0 {
		t.Errorf("a withdrawn picture stands: %v, %v", b.PhotosOf(drum), err)
	}
}

// TestAnEntryHasThreePicturesAtMost; one that is withdrawn makes room.
func TestAnEntryHasThreePicturesAtMost(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(10, "1")
	var first ledger.ID
	for i := range ledger.MostPhotosOfEntry {
		if id := o.Write(11, photo(run, fmt.Sprint("prism ", i))); i == 0 {
			first = id
		}
	}
	says := func(x *ledger.Photo) string {
		t.Helper()
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		var f *fault.Error
		if errors.As(b.Check(&ledger.Entry{ID: ledgertest.ID(9999), Kind: ledger.KindPhoto, OccurredAt: ledgertest.At(12), Body: x}, ledgertest.At(12)), &f) {
			return f.Fields[0].Message.String()
		}
		return ""
	}
	if got := says(photo(run, "one more")); !strings.Contains(got, "has 3 pictures") {
		t.Errorf("of a fourth is said %q", got)
	}
	if got := says(photo(run, "prism 1")); !strings.Contains(got, "this very picture already") {
		t.Errorf("of the same is said %q", got)
	}
	vast := photo(o.Settling, "vast")
	vast.Bytes = document.MostPictureBytes + 1
	if got := says(vast); !strings.Contains(got, "does not name a picture") {
		t.Errorf("of one that is too large is said %q", got)
	}
	o.Withdraw(first)
	if got := says(photo(run, "one more")); got != "" {
		t.Errorf("after one was withdrawn: %q", got)
	}
}
