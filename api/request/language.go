package request

import (
	"net/url"
	"strings"

	"github.com/labstack/echo/v4"
	"golang.org/x/text/language"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/ledger"
)

const (
	LanguageCookie = "pullbook_language"
	LanguagePath   = "/language"
)

// LanguageOf is what the reader has chosen on this device, else what the browser
// asks for. A chosen language keeps the region that the browser names for it.
func LanguageOf(ctx echo.Context) locale.Language {
	asked := ctx.Request().Header.Get("Accept-Language")
	cookie, err := ctx.Cookie(CookieName(ctx, LanguageCookie))
	if err != nil {
		return locale.LanguageFor(asked)
	}
	tags, _, _ := language.ParseAcceptLanguage(asked)
	for _, tag := range tags {
		if base, _ := tag.Base(); base.String() == cookie.Value {
			return locale.LanguageFor(tag.String())
		}
	}
	return locale.LanguageFor(cookie.Value)
}

// VoiceFor returns the voice in which whoever asks reads about an outfit's book.
func VoiceFor(ctx echo.Context, o db.Outfit, b *ledger.Book) locale.Voice {
	return locale.NewVoice(LanguageOf(ctx), o.Units, b.Location())
}

// LanguageChoice is a line of the choice at the foot of every page, each in its
// own language.
type LanguageChoice struct {
	Lang, Name string
	Here       bool
}

// LanguageChoices returns the languages to choose from, with the one that is spoken here.
func LanguageChoices(here locale.Language) []LanguageChoice {
	return []LanguageChoice{
		{"en", "English", here.Lang == "en"},
		{"es", "Español", here.Lang == "es"},
	}
}

// PlaceHere is an address of this program, and the first page where it is
// anything else.
func PlaceHere(address string) string {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(address, "//") || strings.Contains(address, `\`) {
		return "/"
	}
	return u.RequestURI()
}
