package certificate

import (
	"time"

	"pullbook/api/locale"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Quoted is what the book says, or what stands as it was published, in Lang.
type Quoted struct{ Text, Lang string }

// Quote marks what was published in another language than the reader's. What the
// outfit wrote itself is in whichever it speaks.
func Quote(f locale.Voice, t message.Text, own bool) Quoted {
	q := Quoted{Text: t.In(f)}
	if lang := standard.LanguageOf(t); !own && lang != f.Lang {
		q.Lang = lang
	}
	return q
}

// SetName is how a rule set is called: its title, and which edition or version.
type SetName struct {
	Title Quoted
	Rest  string
}

func (n SetName) String() string { return n.Title.Text + ", " + n.Rest }

// SetName has a version for the outfit's own, which are called as the outfit
// calls them.
func NameOfSetEdition(f locale.Voice, title, edition string, version int) SetName {
	if version > 0 {
		return SetName{Quoted{Text: title}, f.Say("%s, version %s", edition, version)}
	}
	return SetName{Quote(f, standard.SayTitle(title), false), standard.SayEdition(edition).In(f)}
}

// Span is the days from first to last.
func Span(f locale.Voice, first, last time.Time) string {
	if from, to := f.Day(first), f.Day(last); from != to {
		return from + " " + locale.Missing + " " + to
	}
	return f.Day(first)
}
