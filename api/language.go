package api

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/labstack/echo/v4"
	"golang.org/x/text/language"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/ledger"
)

const (
	languageCookie = "pullbook_language"
	languagePath   = "/language"
)

// languageOf is what the reader has chosen on this device, else what the browser
// asks for. A chosen language keeps the region that the browser names for it.
func languageOf(ctx echo.Context) locale.Language {
	asked := ctx.Request().Header.Get("Accept-Language")
	cookie, err := ctx.Cookie(cookieName(ctx, languageCookie))
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

// voiceFor returns the voice in which whoever asks reads about an outfit's book.
func voiceFor(ctx echo.Context, o db.Outfit, b *ledger.Book) locale.Voice {
	return locale.NewVoice(languageOf(ctx), o.Units, b.Location())
}

// languageChoice is a line of the choice at the foot of every page, each in its
// own language.
type languageChoice struct {
	Lang, Name string
	Here       bool
}

func languageChoices(here locale.Language) []languageChoice {
	return []languageChoice{
		{"en", "English", here.Lang == "en"},
		{"es", "Español", here.Lang == "es"},
	}
}

// chooseLanguage keeps the reader's choice on this device and goes back to where
// it was made.
func (p *pages) chooseLanguage(ctx echo.Context) error {
	ctx.SetCookie(&http.Cookie{
		Name: cookieName(ctx, languageCookie), Value: locale.LanguageFor(ctx.FormValue("language")).Lang, Path: "/",
		Expires: p.Now().Add(365 * 24 * time.Hour), HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: ctx.Scheme() == "https",
	})
	return ctx.Redirect(http.StatusSeeOther, placeHere(ctx.FormValue("back")))
}

// placeHere is an address of this program, and the first page where it is
// anything else.
func placeHere(address string) string {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(address, "//") || strings.Contains(address, `\`) {
		return "/"
	}
	return u.RequestURI()
}
