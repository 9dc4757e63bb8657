package pages

import (
	"testing"
	"time"

	"pullbook/api/locale"
	"pullbook/db/progress"
)

func TestHowFarABookIsOpenedIsSaidInTheReadersWords(t *testing.T) {
	reading := progress.State{Step: progress.Read, Done: 430_000, Of: 1_000_000, Share: 0.258, Left: 2900 * time.Millisecond}
	replaying := progress.State{Step: progress.Replayed, Done: 990_000, Of: 1_000_000, Share: 0.996, Left: 40 * time.Millisecond}
	for _, c := range []struct {
		language string
		state    progress.State
		want     openingView
	}{
		{"en", reading, openingView{"430,000 of 1,000,000 entries are read.", "It takes about 3 seconds more.", 25, "/"}},
		{"en", replaying, openingView{"All entries are read, and 990,000 of 1,000,000 are in the book.", "It takes about 1 second more.", 99, "/"}},
		{"es", reading, openingView{"Asientos leídos: 430.000 de 1.000.000.", "Tiempo que falta, más o menos: 3 segundos.", 25, "/"}},
		{"es", replaying, openingView{"Todos los asientos están leídos; en el libro están ya 990.000 de 1.000.000.", "Tiempo que falta, más o menos: 1 segundo.", 99, "/"}},
		{"en", progress.State{Step: progress.Read}, openingView{"", "", 0, "/"}},
	} {
		f := locale.NewVoice(locale.LanguageFor(c.language), "", time.UTC)
		if got := viewOfOpening(f, c.state, "/"); got != c.want {
			t.Errorf("%s: %+v\nwant %+v", c.language, got, c.want)
		}
	}
}
