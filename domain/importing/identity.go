package importing

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"strconv"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// identity gives an entry the id that follows from what it says, so that the same
// row brought in again, from whatever file, is the same entry. Rows that say the
// same within one sheet are told apart by counting them. What was withdrawn with
// its import is not there: it gets a new id. So does what was withdrawn by itself, which
// k.withdrawn is then. had is true where the book has it, and above
// is the row that said the same before; 0 where none did.
func (k *taking) identity(e *ledger.Entry, name string) (id ledger.ID, had bool, above int) {
	k.withdrawn = nil
	k.fact = append(append(k.fact[:0], e.Kind...), 0)
	if name != "" {
		k.fact = append(k.fact, sameName(name)...)
	} else {
		k.fact = binary.BigEndian.AppendUint64(k.fact, uint64(e.OccurredAt.UnixMicro()))
		k.fact = appendBody(k.fact, e.Body)
	}
	first := uuid.NewSHA1(k.Outfit, k.fact)
	n := 0
	if name == "" {
		last := k.seen[first]
		n, above = int(last.times), int(last.row)
		k.seen[first] = seen{last.times + 1, int32(k.row)}
	}
	id = first
	if n > 0 {
		id = uuid.NewSHA1(first, []byte("row "+strconv.Itoa(n)))
	}
	for again := 1; ; again++ {
		entry, _ := k.book.Entry(id)
		switch {
		case entry == nil:
			return id, false, above
		case entry.Kind != e.Kind: // somebody recorded something else under this id
		case k.book.InForce(id) != nil:
			k.withdrawn = nil
			return id, true, above
		case !k.book.TakenBack(id):
			k.withdrawn = entry
		}
		id = uuid.NewSHA1(first, []byte("row "+strconv.Itoa(n)+" again "+strconv.Itoa(again)))
	}
}

// seen is how often the sheet said something so far, and in which row last. There may be
// a million of them.
type seen struct{ times, row int32 }

// appendBody adds what a body says. A reading of nothing but a moisture, of which
// there may be a million, goes without JSON.
func appendBody(fact []byte, body ledger.Body) []byte {
	if r, ok := body.(*ledger.Reading); ok && r.Moisture != nil {
		rest, m := *r, r.Moisture
		rest.On, rest.Point, rest.InstrumentID, rest.Moisture = ledger.Place{}, "", ledger.ID{}, nil
		if reflect.ValueOf(rest).IsZero() {
			fact = append(append(append(fact, r.On.Kind...), 0), r.On.ID[:]...)
			fact = append(append(append(fact, r.InstrumentID[:]...), r.Point...), 0)
			fact = append(append(fact, m.Scale...), 0)
			fact = binary.BigEndian.AppendUint64(fact, math.Float64bits(m.AsRead))
			if m.SampleC != nil {
				fact = binary.BigEndian.AppendUint64(fact, math.Float64bits(*m.SampleC))
			}
			return fact
		}
	}
	text, err := json.Marshal(body)
	if err != nil {
		panic(fmt.Sprintf("bodies always marshal: %v", err))
	}
	return append(fact, text...)
}

// sameMapping reports whether a sheet was brought in with these settings.
func sameMapping(kept json.RawMessage, m Mapping) bool {
	var was Mapping
	if json.Unmarshal(kept, &was) != nil {
		return false
	}
	for _, x := range []*Mapping{&was, &m} {
		x.Columns = append([]Column(nil), x.Columns...)
		for i := range x.Columns {
			x.Columns[i].From = ""
		}
	}
	a, errA := json.Marshal(was)
	b, errB := json.Marshal(m)
	return errA == nil && errB == nil && bytes.Equal(a, b)
}

func asText(v any) string {
	if x, ok := v.(float64); ok {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return fmt.Sprint(v)
}
