package locale

import (
	"strings"

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
	"golang.org/x/text/language"
)

// A Language is the language of a reader's words and the way in which the reader's region
// writes figures and dates.
type Language struct {
	// Lang is the language of the words: a key of catalogue, or "en".
	Lang string
	// Region writes figures and dates.
	Region locales.Translator
}

// Tag returns the language as HTML and browsers write it: "es-MX".
func (t Language) Tag() string { return strings.ReplaceAll(t.Region.Locale(), "_", "-") }

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

// English is the language of readers who ask for none that is known.
var English = LanguageFor("en-GB")

// LanguageFor returns the language that serves best what is asked for, in the form of
// the Accept-Language header.
func LanguageFor(asked ...string) Language {
	_, at := language.MatchStrings(regionMatcher, asked...)
	region := regions[at]
	lang, _, _ := strings.Cut(region.Locale(), "_")
	return Language{lang, region}
}
