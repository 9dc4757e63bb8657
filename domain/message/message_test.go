package message_test

import (
	"testing"
	"time"

	"pullbook/domain/message"
)

func TestASentenceSaysItsFigures(t *testing.T) {
	for _, c := range []struct {
		text message.Text
		want string
	}{
		{message.F("%s: weighed %s.", "Mill Yard", message.Kg(652.25)), "Mill Yard: weighed 652.3 kg."},
		{message.F("moisture %s %%", message.Number{V: 17.4, Places: 1}), "moisture 17.4 %"},
		{message.F("%s went in", message.Plural{N: 1, One: "%s super", Other: "%s supers"}), "1 super went in"},
		{message.F("%s went in", message.Plural{N: 31, One: "%s super", Other: "%s supers"}), "31 supers went in"},
		{message.F("lot|open"), "open"},
		{message.F("100 %%"), "100 %"},
		{message.F("%s", message.List{message.Verbatim("a"), message.Verbatim("b"), message.Verbatim("c")}), "a, b and c"},
		{message.Join(message.F("One."), message.F("Two.")), "One. Two."},
		{message.F("on %s", message.Day(time.Date(2026, 8, 3, 9, 0, 0, 0, time.UTC))), "on 3 August 2026"},
		{message.F("%s", message.Number{V: -0.001, Places: -1}), "0"},
		{message.Verbatim("50 % clover"), "50 % clover"},
	} {
		if got := c.text.String(); got != c.want {
			t.Errorf("%q says %q, not %q", c.text.Format, got, c.want)
		}
	}
}

// backwards is a language that puts the place after the figure.
type backwards struct{ message.English }

func (backwards) Format(english string) string {
	return map[string]string{"%s: weighed %s.": "%[2]s: %[1]s.", "%s and %s": "%s y %s"}[english]
}

func (backwards) Kg(v float64) string { return message.Plain(v/0.45359237, -1) + " lb" }

func TestAnotherLanguageMayPutThingsInAnotherOrderAndUnit(t *testing.T) {
	text := message.F("%s: weighed %s.", "Mill Yard", message.Kg(0.45359237*40))
	if got, want := text.In(backwards{}), "40 lb: Mill Yard."; got != want {
		t.Errorf("said %q, not %q", got, want)
	}
}

// A scale that shows 27.25 has a half that binary holds exactly: all round it the same
// way, to tenths with and without idle zeros.
func TestAHalfIsRoundedAwayFromNought(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		v      float64
		places int
		want   string
	}{
		{27.25, 1, "27.3"}, {27.25, -1, "27.3"}, {-27.25, 1, "-27.3"}, {0.5, 0, "1"}, {2.5, 0, "3"}, {-0.01, 1, "0.0"}, {27.23, 1, "27.2"}, {0.125, 2, "0.13"},
	} {
		if got := message.Plain(c.v, c.places); got != c.want {
			t.Errorf("%g to %d places is said as %s, not %s", c.v, c.places, got, c.want)
		}
	}
}
