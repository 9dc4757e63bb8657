package say_test

import (
	"testing"
	"time"

	"pullbook/domain/say"
)

func TestASentenceSaysItsFigures(t *testing.T) {
	for _, c := range []struct {
		text say.Text
		want string
	}{
		{say.F("%s: weighed %s.", "Mill Yard", say.Kg(652.25)), "Mill Yard: weighed 652.3 kg."},
		{say.F("moisture %s %%", say.Number{V: 17.4, Places: 1}), "moisture 17.4 %"},
		{say.F("%s went in", say.Plural{N: 1, One: "%s super", Other: "%s supers"}), "1 super went in"},
		{say.F("%s went in", say.Plural{N: 31, One: "%s super", Other: "%s supers"}), "31 supers went in"},
		{say.F("lot|open"), "open"},
		{say.F("100 %%"), "100 %"},
		{say.F("%s", say.List{say.Verbatim("a"), say.Verbatim("b"), say.Verbatim("c")}), "a, b and c"},
		{say.Join(say.F("One."), say.F("Two.")), "One. Two."},
		{say.F("on %s", say.Day(time.Date(2026, 8, 3, 9, 0, 0, 0, time.UTC))), "on 3 August 2026"},
		{say.F("%s", say.Number{V: -0.001, Places: -1}), "0"},
		{say.Verbatim("50 % clover"), "50 % clover"},
	} {
		if got := c.text.String(); got != c.want {
			t.Errorf("%q says %q, not %q", c.text.Format, got, c.want)
		}
	}
}

// backwards is a language that puts the place after the figure.
type backwards struct{ say.English }

func (backwards) Format(english string) string {
	return map[string]string{"%s: weighed %s.": "%[2]s: %[1]s.", "%s and %s": "%s y %s"}[english]
}

func (backwards) Kg(v float64) string { return say.Plain(v/0.45359237, -1) + " lb" }

func TestAnotherLanguageMayPutThingsInAnotherOrderAndUnit(t *testing.T) {
	text := say.F("%s: weighed %s.", "Mill Yard", say.Kg(0.45359237*40))
	if got, want := text.In(backwards{}), "40 lb: Mill Yard."; got != want {
		t.Errorf("said %q, not %q", got, want)
	}
}

// A scale that shows 27.25 has a half that binary holds exactly: all round it the same
// way, to tenths with and without idle noughts.
func TestAHalfIsRoundedAwayFromNought(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		v      float64
		places int
		want   string
	}{
		{27.25, 1, "27.3"}, {27.25, -1, "27.3"}, {-27.25, 1, "-27.3"}, {0.5, 0, "1"}, {2.5, 0, "3"}, {-0.01, 1, "0.0"}, {27.23, 1, "27.2"}, {0.125, 2, "0.13"},
	} {
		if got := say.Plain(c.v, c.places); got != c.want {
			t.Errorf("%g to %d places is said as %s, not %s", c.v, c.places, got, c.want)
		}
	}
}
