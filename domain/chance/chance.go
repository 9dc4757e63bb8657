// Package chance says in words how likely chance alone explains a figure that
// looks wrong.
package chance

import "pullbook/domain/message"

// An outfit reads and weighs about a thousand things a season. Once among a
// thousand good figures, one comes out as far off as this by chance, so rarer ones
// are hardly good. One in twenty is the usual bar below which a difference is taken
// to mean something.
const (
	oncePerSeason = 0.001
	usualBar      = 0.05
)

// InWords returns one of three steps for p, the probability that good figures are
// that far off: "hardly chance", "seldom chance" or "may be chance". The text is
// empty where p is 0, which says that nobody worked it out.
func InWords(p float64) message.Text {
	switch {
	case p <= 0:
		return message.Text{}
	case p < oncePerSeason:
		return message.F("hardly chance")
	case p < usualBar:
		return message.F("seldom chance")
	}
	return message.F("may be chance")
}
