package importing

import (
	"math"
	"slices"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// sides are the latitudes and longitudes of the outfit's yards, of its book and of the sheet: a
// minus that one of them lacks puts a yard on another continent.
type sides map[Field][]float64

// ofBook takes the places of the book's yards.
func (s sides) ofBook(book *ledger.Book) {
	book.InForceOf(ledger.KindYard, func(_ ledger.ID, e *ledger.Entry) bool {
		if y, is := e.Body.(*ledger.Yard); is && y.Latitude != nil && y.Longitude != nil {
			s[FieldLatitude] = append(s[FieldLatitude], *y.Latitude)
			s[FieldLongitude] = append(s[FieldLongitude], *y.Longitude)
		}
		return true
	})
}

// note takes a cell of the sheet.
func (s sides) note(c *column, cell string) {
	if c.Field != FieldLatitude && c.Field != FieldLongitude || len(s[c.Field]) >= mostNamed {
		return
	}
	x, err := tables.ParseFigure(cell, tables.MarkPoint)
	if err != nil {
		return
	}
	if sign := hemisphere(c.Field, x.Unit); sign != 0 && x.Value >= 0 {
		x.Value *= sign
	}
	s[c.Field] = append(s[c.Field], x.Value)
}

// sort puts all in order, once they are known.
func (s sides) sort() {
	for _, values := range s {
		slices.Sort(values)
	}
}

// farOff is in degrees, beyond what the yards of one outfit lie from each other; common practice.
const farOff = 30

// lacksSign reports whether a place lies among the others only with the other sign.
func (s sides) lacksSign(f Field, v float64) bool {
	values := s[f]
	if len(values) < 2 {
		return false
	}
	zero, _ := slices.BinarySearch(values, 0)
	below, above := values[:zero], values[zero:]
	others := below
	if v < 0 {
		others = above
	}
	if len(others) < len(values)-len(others) || len(others) == 0 {
		return false // it is of the greater part itself
	}
	middle := others[len(others)/2]
	return math.Abs(v-middle) > farOff && math.Abs(-v-middle) < farOff
}

// apart180 is how far two longitudes lie from each other, in degrees.
func apart180(a, b float64) float64 {
	return math.Abs(math.Remainder(a-b, 360))
}

// offClocks reports whether a longitude lies where the outfit's clocks are, but only with the
// other sign: an hour is 15 degrees, and clocks are at most some hours off the sun.
func (k *taking) offClocks(v float64) bool {
	const perSecond, most = 15. / 3600, 60
	_, offset := k.setUpAt().Zone()
	sun := float64(offset) * perSecond
	return apart180(v, sun) > most && apart180(-v, sun) < most
}

// askSign asks about a latitude or longitude that lies among the others, or where the outfit's
// clocks are, only with the other sign, and has no letter that gives it.
func (k *taking) askSign(f Field, v float64, given bool) {
	if !given || k.bad {
		return
	}
	if x, err := tables.ParseFigure(k.text(f), tables.MarkPoint); err == nil && hemisphere(f, x.Unit) != 0 {
		return
	}
	switch {
	case k.sides.lacksSign(f, v):
		k.problem(OutOfRange, k.columns[f], message.F("The outfit's other yards are on the other side of zero: is the minus missing, or one too many? Type it as %s, or as it is with its letter, N, S, E or W, if it is right.", asText(-v)), asText(-v))
	case f == FieldLongitude && k.offClocks(v):
		k.problem(OutOfRange, k.columns[f], message.F("The outfit's clocks, of %s, are on the other side of zero: is the minus missing, or one too many? Type it as %s, or as it is with its letter, E or W, if it is right.", k.book.Location().String(), asText(-v)), asText(-v))
	}
}
