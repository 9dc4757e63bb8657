package feeds

import (
	"encoding/json"
	"io"
	"strconv"
	"time"

	"pullbook/domain/ledger"
)

// jsonCells writes JSON lines: an object a row, with the columns' names. A
// number or time that is not known is null.
type jsonCells struct {
	buf   []byte
	keys  []string
	at    int
	clock stamps
}

func newJSONL(loc *time.Location, names []string) *jsonCells {
	c := &jsonCells{clock: stamps{loc: loc}}
	for i, name := range names {
		key := strconv.Quote(name) + ":"
		if i > 0 {
			key = "," + key
		}
		c.keys = append(c.keys, key)
	}
	return c
}

func (c *jsonCells) begin() {
	c.at = 0
	c.buf = append(c.buf, '{')
}

func (c *jsonCells) end() error {
	c.buf = append(c.buf, "}\n"...)
	return nil
}

func (c *jsonCells) size() int { return len(c.buf) }

func (c *jsonCells) flush(to io.Writer) error {
	_, err := to.Write(c.buf)
	c.buf = c.buf[:0]
	return err
}

func (c *jsonCells) next() {
	c.buf = append(c.buf, c.keys[c.at]...)
	c.at++
}

func (c *jsonCells) text(s string) {
	c.next()
	for i := range len(s) {
		if b := s[i]; b < 0x20 || b == '"' || b == '\\' || b >= 0x80 {
			quoted, _ := json.Marshal(s) // a string always marshals
			c.buf = append(c.buf, quoted...)
			return
		}
	}
	c.buf = append(append(append(c.buf, '"'), s...), '"')
}

func (c *jsonCells) id(id ledger.ID) {
	c.next()
	c.buf = append(c.buf, '"')
	c.buf = appendID(c.buf, id)
	c.buf = append(c.buf, '"')
}

func (c *jsonCells) whole(n int64) {
	c.next()
	c.buf = strconv.AppendInt(c.buf, n, 10)
}

func (c *jsonCells) decimal(value float64, places int) {
	c.next()
	c.buf = appendDecimal(c.buf, value, places)
}

func (c *jsonCells) day(d ledger.Date) {
	if d == "" {
		c.none()
		return
	}
	c.next()
	c.buf = append(append(append(c.buf, '"'), d...), '"')
}

// instant is RFC 3339, which programs read with its offset.
func (c *jsonCells) instant(t time.Time) {
	if t.IsZero() {
		c.none()
		return
	}
	c.next()
	c.buf = append(c.buf, '"')
	c.buf = c.clock.append(c.buf, t, 'T')
	c.buf = c.clock.appendZone(c.buf)
	c.buf = append(c.buf, '"')
}

func (c *jsonCells) yes(b bool) {
	c.next()
	c.buf = strconv.AppendBool(c.buf, b)
}

func (c *jsonCells) none() {
	c.next()
	c.buf = append(c.buf, "null"...)
}
