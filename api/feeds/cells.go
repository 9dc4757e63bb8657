package feeds

import (
	"math"
	"time"

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
