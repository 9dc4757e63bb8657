package api

import (
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/go-playground/locales"
	"github.com/go-playground/locales/en"
	"github.com/go-playground/locales/en_AU"
	"github.com/go-playground/locales/en_CA"
	"github.com/go-playground/locales/en_GB"
	"github.com/go-playground/locales/en_NZ"
	"github.com/go-playground/locales/en_US"
	"github.com/go-playground/locales/en_ZA"
	"github.com/go-playground/locales/es"
	"github.com/go-playground/locales/es_AR"
	"github.com/go-playground/locales/es_CL"
	"github.com/go-playground/locales/es_MX"
	"github.com/go-playground/locales/es_US"
	"github.com/go-playground/locales/es_UY"
	"github.com/labstack/echo/v4"
	"golang.org/x/text/language"
)

// tongue is how a reader wants pages: the language of the words, and the way a
// region writes its figures and dates.
type tongue struct {
	// Lang is the language of the words: a key of catalogue, or "en".
	Lang string
	// Region writes figures and dates.
	Region locales.Translator
}

// tag is the tongue as HTML and browsers write it: "es-MX".
func (t tongue) tag() string { return strings.ReplaceAll(t.Region.Locale(), "_", "-") }

// regions are the ways of writing that are known, the first for readers who ask
// for none of them. English without a region writes the day before the month.
var regions = []locales.Translator{
	en_GB.New(), en.New(), en_US.New(), en_CA.New(), en_AU.New(), en_NZ.New(), en_ZA.New(),
	es.New(), es_MX.New(), es_AR.New(), es_CL.New(), es_UY.New(), es_US.New(),
}

var regionMatcher = language.NewMatcher(func() (tags []language.Tag) {
	for _, r := range regions {
		tags = append(tags, language.MustParse(strings.ReplaceAll(r.Locale(), "_", "-")))
	}
	return tags
}())

var english = tongueFor("en-GB")

// tongueFor is the tongue that serves the best of what is asked for, in the form
// of the Accept-Language header.
func tongueFor(asked ...string) tongue {
	_, at := language.MatchStrings(regionMatcher, asked...)
	region := regions[at]
	lang, _, _ := strings.Cut(region.Locale(), "_")
	return tongue{lang, region}
}

const (
	languageCookie = "pullbook_language"
	languagePath   = "/language"
)

// tongueOf is what the reader has chosen on this device, else what the browser
// asks for. A chosen language keeps the region that the browser names for it.
func tongueOf(ctx echo.Context) tongue {
	asked := ctx.Request().Header.Get("Accept-Language")
	cookie, err := ctx.Cookie(cookieName(ctx, languageCookie))
	if err != nil {
		return tongueFor(asked)
	}
	tags, _, _ := language.ParseAcceptLanguage(asked)
	for _, tag := range tags {
		if base, _ := tag.Base(); base.String() == cookie.Value {
			return tongueFor(tag.String())
		}
	}
	return tongueFor(cookie.Value)
}

// languageChoice is a line of the choice at the foot of every page, each in its
// own language.
type languageChoice struct {
	Lang, Name string
	Here       bool
}

func languageChoices(here tongue) []languageChoice {
	return []languageChoice{
		{"en", "English", here.Lang == "en"},
		{"es", "Español", here.Lang == "es"},
	}
}

// chooseLanguage keeps the reader's choice on this device and goes back to where
// it was made.
func (p *pages) chooseLanguage(ctx echo.Context) error {
	ctx.SetCookie(&http.Cookie{
		Name: cookieName(ctx, languageCookie), Value: tongueFor(ctx.FormValue("language")).Lang, Path: "/",
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
