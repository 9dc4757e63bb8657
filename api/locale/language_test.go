package locale

import "testing"

func TestALanguageIsChosenByTheBrowserWithItsRegion(t *testing.T) {
	t.Parallel()
	for _, test := range []struct{ asked, tag string }{
		{"", "en-GB"},
		{"fr-FR,fr;q=0.9", "en-GB"},
		{"en-US,en;q=0.9", "en-US"},
		{"es-MX,es;q=0.9,en;q=0.5", "es-MX"},
		{"es-ES", "es"},
		{"fr-CA, es;q=0.8", "es"},
		{"not a language at all;;;", "en-GB"},
	} {
		if got := LanguageFor(test.asked).Tag(); got != test.tag {
			t.Errorf("%q is served in %s, not %s", test.asked, got, test.tag)
		}
	}
}
