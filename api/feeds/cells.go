package feeds

import (
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"pullbook/domain/ledger"
)

// cells is where the values of a row go, one after another, in the order of the
// columns. Each form of feed has its own.
type cells interface {
	begin()
	end() error
	// size is how many bytes wait to be sent.
	size() int
	text(string)
	// id is a UUID; the zero one is written as no text.
	id(ledger.ID)
	whole(int64)
	decimal(value float64, places int)
	day(ledger.Date)
	// instant is the zero time where it is not known.
	instant(time.Time)
	yes(bool)
	// none is a number or time that is not known.
	none()
}

// formulaStarts are the characters with which a spreadsheet may take a text for
// a formula; seen in LibreOffice 7.4, the rest as common practice has it, also as
// wide as an ideograph.
const (
	formulaStarts = "=+-@\t\r\n"
	wideStarts    = "＝＋－＠"
)

// startsFormula reports whether a spreadsheet that reads CSV might run a text.
func startsFormula(text string) bool {
	if text == "" || text[0] < utf8.RuneSelf {
		return text != "" && strings.IndexByte(formulaStarts, text[0]) >= 0
	}
	first, _ := utf8.DecodeRuneInString(text)
	return strings.ContainsRune(wideStarts, first)
}

// putShare writes a part of a whole in percent; nothing where it is not known.
func putShare(out cells, share *float64) {
	if share == nil {
		out.none()
		return
	}
	out.decimal(100**share, 2)
}

// putKnown writes a figure that may not be known.
func putKnown(out cells, value *float64, places int) {
	if value == nil || math.IsNaN(*value) || math.IsInf(*value, 0) {
		out.none()
		return
	}
	out.decimal(*value, places)
}

// putCount writes a count that is not known where it is nothing.
func putCount(out cells, n int) {
	if n == 0 {
		out.none()
		return
	}
	out.whole(int64(n))
}
