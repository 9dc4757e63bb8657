package locale

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/fault"
)

func readerFrom(tag string) Voice {
	return NewVoice(LanguageFor(tag), "metric", nil)
}

func TestANumberIsReadAsTheReadersRegionWritesIt(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		tag, typed string
		want       float64
	}{
		{"en-GB", "17.4", 17.4}, {"en-GB", "17,4", 17.4}, {"en-GB", "1.234", 1.234}, {"en-GB", "1,234.5", 1234.5}, {"en-GB", "1.234,5", 1234.5},
		{"en-GB", "1,234,567", 1234567}, {"en-GB", " 1 200 ", 1200}, {"en-GB", "0,125", 0.125}, {"en-GB", "1.4935", 1.4935}, {"en-GB", ".5", 0.5},
		{"en-US", "-3", -3}, {"es-ES", "1 234,5", 1234.5},
		{"es-ES", "17,4", 17.4}, {"es-ES", "17.4", 17.4}, {"es-ES", "1,234", 1.234}, {"es-ES", "1.234,5", 1234.5}, {"es-ES", "1.234.567", 1234567},
		{"es-ES", "1,4935", 1.4935}, {"es-ES", "1.4935", 1.4935}, {"es-ES", "0.125", 0.125}, {"es-ES", "\u22125", -5}, {"es-ES", "-40", -40},
		{"es-MX", "17.4", 17.4}, {"es-MX", "1.234", 1.234}, {"es-AR", "1,234", 1.234}, {"es-ES", "12\u00a0345,6", 12345.6},
	} {
		if got, err := readerFrom(c.tag).Parse(c.typed); got != c.want || err != nil {
			t.Errorf("%s: %q is read as %v (%v), not %v", c.tag, c.typed, got, err, c.want)
		}
	}
}

func TestANumberThatMayBeTwoIsRefused(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ tag, typed, says string }{
		{"en-GB", "1,234", "Is that 1234 or 1.234? Write it without a mark between thousands."},
		{"es-MX", "1,234", "¿Es 1234 o 1.234?"},
		{"es-ES", "1.234", "¿Es 1234 o 1,234?"},
		{"es-AR", "-12.500", "¿Es -12500 o -12,500?"},
		{"es-ES", "seca", `"seca" no es un número. Se escribe como 17,4.`},
		{"en-GB", "dry", `"dry" is not a number. Write it like 17.4.`},
		{"en-GB", "1,2,3", `"1,2,3" is not a number`}, {"en-GB", "1e3", `"1e3" is not a number`}, {"en-US", "0x10", `"0x10" is not a number`},
		{"en-GB", "NaN", `"NaN" is not a number`}, {"en-GB", "--5", `"--5" is not a number`}, {"en-GB", "12,34,567", `"12,34,567" is not a number`},
		{"en-US", "61 lb", `"61 lb" is not a number`}, {"en-US", "", `"" is not a number`}, {"es-ES", "1,2,3", `"1,2,3" no es un número`},
	} {
		f := readerFrom(c.tag)
		_, err := f.Parse(c.typed)
		var refused *fault.Error
		if !errors.As(err, &refused) || !strings.HasPrefix(refused.Message.In(f), c.says) {
			t.Errorf("%s: %q is told %v", c.tag, c.typed, err)
		}
	}
}

// What the page writes can be typed back, wherever the reader is.
func TestWhatIsShownCanBeTypedBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := readerFrom(rapid.SampledFrom([]string{"en-GB", "en-US", "es-ES", "es-MX", "es-AR", "es-CL", "es-UY"}).Draw(t, "tag"))
		want := float64(rapid.IntRange(-10_000_000, 10_000_000).Draw(t, "tenths")) / 10
		for _, text := range []string{f.Number(want, 1), f.Typed(want, 1)} {
			if got, err := f.Parse(text); got != want || err != nil {
				t.Fatalf("%s is read as %v (%v)", text, got, err)
			}
		}
	})
}
