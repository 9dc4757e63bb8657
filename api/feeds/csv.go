package feeds

import (
	"bytes"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"pullbook/domain/ledger"
)

// csvForm is how a CSV is written.
type csvForm struct {
	// mark is whether it begins with a byte order mark.
	mark bool
	// comma is whether decimals stand behind a comma, and semicolons part the fields.
	comma bool
}

// csvCells writes RFC 4180: commas, CRLF, every text in quotes and no number or
// date. A text that a spreadsheet would run as a formula, or show as a figure, day or
// time, stands behind an apostrophe.
type csvCells struct {
	buf   []byte
	clock stamps
	comma bool
	began bool
}

// newCSV begins a feed with the names of its columns.
func newCSV(loc *time.Location, names []string, form csvForm) *csvCells {
	c := &csvCells{clock: stamps{loc: loc}, comma: form.comma}
	if form.mark {
		c.buf = append(c.buf, "\ufeff"...)
	}
	c.buf = append(c.buf, strings.Join(names, string(c.between()))...)
	c.buf = append(c.buf, "\r\n"...)
	return c
}

func (c *csvCells) begin() { c.began = false }

func (c *csvCells) end() error {
	c.buf = append(c.buf, "\r\n"...)
	return nil
}

func (c *csvCells) size() int { return len(c.buf) }

func (c *csvCells) flush(to io.Writer) error {
	_, err := to.Write(c.buf)
	c.buf = c.buf[:0]
	return err
}

// between is what parts two fields.
func (c *csvCells) between() byte {
	if c.comma {
		return ';'
	}
	return ','
}

func (c *csvCells) next() {
	if c.began {
		c.buf = append(c.buf, c.between())
	}
	c.began = true
}

func (c *csvCells) text(s string) {
	c.next()
	c.buf = append(c.buf, '"')
	for s = withApostrophe(s); ; {
		i := strings.IndexByte(s, '"')
		if i < 0 {
			break
		}
		c.buf = append(append(c.buf, s[:i+1]...), '"')
		s = s[i+1:]
	}
	c.buf = append(append(c.buf, s...), '"')
}

func (c *csvCells) id(id ledger.ID) {
	c.next()
	c.buf = append(c.buf, '"')
	c.buf = appendID(c.buf, id)
	c.buf = append(c.buf, '"')
}

func (c *csvCells) whole(n int64) {
	c.next()
	c.buf = strconv.AppendInt(c.buf, n, 10)
}

// misreadPlaces are as many as a group of thousands has figures: a program that is set to
// another region takes 1134.435 for a million. With one more it takes it for a text.
const misreadPlaces = 3

func (c *csvCells) decimal(value float64, places int) {
	c.next()
	from := len(c.buf)
	c.buf = appendDecimal(c.buf, value, places)
	if places == misreadPlaces {
		c.buf = append(c.buf, '0')
	}
	if i := bytes.IndexByte(c.buf[from:], '.'); c.comma && i >= 0 {
		c.buf[from+i] = ','
	}
}

func (c *csvCells) day(d ledger.Date) {
	c.next()
	c.buf = append(c.buf, d...)
}

func (c *csvCells) instant(t time.Time) {
	c.next()
	c.buf = c.clock.append(c.buf, t, ' ')
}

func (c *csvCells) yes(b bool) {
	c.next()
	if b {
		c.buf = append(c.buf, "TRUE"...)
	} else {
		c.buf = append(c.buf, "FALSE"...)
	}
}

func (c *csvCells) none() { c.next() }

const hexDigits = "0123456789abcdef"

// appendID writes a UUID; nothing for the zero one.
func appendID(buf []byte, id ledger.ID) []byte {
	if id == (ledger.ID{}) {
		return buf
	}
	for i, b := range id {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			buf = append(buf, '-')
		}
		buf = append(buf, hexDigits[b>>4], hexDigits[b&15])
	}
	return buf
}

// wholeUpTo is below where a float64 tells all thousandths apart.
const wholeUpTo = 1 << 40

// appendDecimal writes a figure with so many places, zero without a sign.
func appendDecimal(buf []byte, value float64, places int) []byte {
	scale := [...]float64{1, 10, 100, 1000}
	if places >= len(scale) || math.Abs(value) > wholeUpTo {
		return strconv.AppendFloat(buf, value, 'f', places, 64)
	}
	n := int64(math.Round(value * scale[places]))
	if n < 0 {
		buf, n = append(buf, '-'), -n
	}
	whole := int64(scale[places])
	buf = strconv.AppendInt(buf, n/whole, 10)
	if places == 0 {
		return buf
	}
	buf = append(buf, '.')
	for rest, digit := n%whole, whole/10; digit > 0; digit /= 10 {
		buf = append(buf, byte('0'+rest/digit%10))
	}
	return buf
}
