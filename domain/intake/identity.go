package intake

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"strconv"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// identity gives an entry the id that follows from what it says, so that the same
// row brought in again, from whatever file, is the same entry. Rows that say the
// same within one sheet are told apart by counting them. What was withdrawn with
// its import is not there: it gets a new id. had is true where the book has it.
func (k *taking) identity(e *ledger.Entry, name string) (id ledger.ID, had bool) {
	var fact []byte
	if name != "" {
		fact = []byte(string(e.Kind) + "\x00" + sameName(name))
	} else {
		body, err := json.Marshal(e.Body)
		if err != nil {
			panic(fmt.Sprintf("bodies always marshal: %v", err))
		}
		fact = append(fact, e.Kind...)
		fact = binary.BigEndian.AppendUint64(append(fact, 0), uint64(e.OccurredAt.UnixMicro()))
		fact = append(fact, body...)
	}
	first := uuid.NewSHA1(k.Outfit, fact)
	n := 0
	if name == "" {
		n = k.seen[first]
		k.seen[first]++
	}
	id = first
	if n > 0 {
		id = uuid.NewSHA1(first, []byte("row "+strconv.Itoa(n)))
	}
	for again := 1; ; again++ {
		entry, _ := k.book.Entry(id)
		switch {
		case entry == nil:
			return id, false
		case !k.book.TakenBack(id):
			return id, true
		}
		id = uuid.NewSHA1(first, []byte("row "+strconv.Itoa(n)+" again "+strconv.Itoa(again)))
	}
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
