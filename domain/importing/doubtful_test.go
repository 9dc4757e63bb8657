package importing_test

import (
	"fmt"
	"slices"
	"testing"

	"pullbook/domain/importing"
)

// A note that puts right what stands beside it would be kept as a note, and the wrong figure as
// the figure: it is asked about, row by row.
func TestANoteThatPutsAFigureRightIsAskedAbout(t *testing.T) {
	t.Parallel()
	for note, want := range map[string]string{
		"should be 412":         "2 doubtful_row",
		"Actually shallow":      "2 doubtful_row",
		"s/b 412":               "2 doubtful_row",
		"442 -> 412":            "2 doubtful_row",
		"debería ser 412":       "2 doubtful_row",
		"falsch, 412":           "2 doubtful_row",
		"incl. pallet of 25":    "2 doubtful_row",
		"minus the pallet":      "2 doubtful_row",
		"weight is for both":    "2 doubtful_row",
		"rain at noon":          "",
		"bees were cross":       "",
		"the wrongdoer's gate":  "",
		"412 is what they like": "",
	} {
		h := newHouse()
		text := "Date,Yard,Supers,Kind,Gross kg,Notes\n2026-07-14,Mill,12,deep,442," + fmt.Sprintf("%q", note) + "\n"
		if got := fmt.Sprint(problems(h.check(t, text, h.guess(t, importing.Pulls, text)))); got != "["+want+"]" {
			t.Errorf("of %q %s is asked, and %q should be", note, got, want)
		}
	}
}

func TestAColumnOfCorrectionsIsAskedAboutWhereItHasSome(t *testing.T) {
	t.Parallel()
	h := newHouse()
	text := "Date,Yard,Supers,Kind,Gross kg,Should be\n2026-07-14,Mill,12,deep,442,412\n2026-07-15,Ridge,8,deep,290,\n"
	m := h.guess(t, importing.Pulls, text)
	if got := problems(h.check(t, text, m)); !slices.Equal(got, []string{"2 doubtful_row"}) {
		t.Errorf("%q is asked", got)
	}
	m.Rows = map[int]importing.Alike{2: importing.Another}
	if r := h.check(t, text, m); len(r.Problems) > 0 || r.New() != 2 {
		t.Errorf("%q is asked, and %d entries come", problems(r), r.New())
	}
	m.Rows = map[int]importing.Alike{2: importing.LeftAside}
	if r := h.check(t, text, m); len(r.Problems) > 0 || r.New() != 1 || r.LeftOut != 1 {
		t.Errorf("%q is asked, %d entries come, and %d are left out", problems(r), r.New(), r.LeftOut)
	}
}

// What did not happen, or came back, is no pull and no sale, however the row says so.
func TestARowThatSaysThatItDidNotHappenIsAskedAbout(t *testing.T) {
	t.Parallel()
	const taken = "[2 row_taken_out]"
	for note, want := range map[string]string{
		"not pulled": taken, "Rained off": taken, "(ignore)": taken, "duplicate": taken, "planned": taken, "already counted on the 9th": taken, "no contar": taken, "storniert": taken,
		"ignored the gate": "[]", "planned for 14": "[]", "queen returned": "[]",
	} {
		h := newHouse()
		text := "Date,Yard,Supers,Kind,Notes\n2026-07-14,Mill,12,deep," + note + "\n"
		if got := fmt.Sprint(problems(h.check(t, text, h.guess(t, importing.Pulls, text)))); got != want {
			t.Errorf("of %q %s is asked, and %s should be", note, got, want)
		}
	}
	h := newHouse()
	text := "Date,Buyer,Drum,Status\n2026-09-01,packer,1,returned\n"
	if got := problems(h.check(t, text, h.guess(t, importing.Sales, text))); !slices.Equal(got, []string{"2 row_taken_out"}) {
		t.Errorf("of a drum that came back %q is asked", got)
	}
}
