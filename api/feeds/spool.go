package feeds

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"sync/atomic"
	"syscall"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// rowSpool keeps rows of cells that are written to it, for other cells to have later: a
// few in memory, more in a temporary file. So a report of any length is worked out
// while the book is held and sent when it is free.
type rowSpool struct {
	buf  []byte
	file *os.File
	// filed is how many bytes the file has.
	filed int64
	from  *bufio.Reader
}

const (
	// spoolKept is about how many bytes are kept in memory.
	spoolKept = 256 << 10
	// mostSpooled is how many bytes the files of all answers under way may have.
	mostSpooled = 8 << 30
)

// spooledNow is how many bytes the files of all answers under way have.
var spooledNow atomic.Int64

// What a cell is, before its value; after the last cell of a row comes cellEnd.
const (
	cellEnd = iota
	cellText
	cellID
	cellWhole
	cellDecimal
	cellDay
	cellInstant
	cellTrue
	cellFalse
	cellNone
)

func (s *rowSpool) begin() {}

func (s *rowSpool) size() int { return 0 }

func (s *rowSpool) end() error {
	s.buf = append(s.buf, cellEnd)
	if len(s.buf) < spoolKept {
		return nil
	}
	return s.spill()
}

// spill moves what is in memory to the file. The file has no name any more, so that it
// is gone with the program whatever ends that.
func (s *rowSpool) spill() error {
	if s.file == nil {
		file, err := os.CreateTemp("", "pullbook-rows-*")
		if err != nil {
			return spoolFault(err)
		}
		s.file = file
		if err := os.Remove(file.Name()); err != nil {
			return spoolFault(err)
		}
	}
	if spooledNow.Add(int64(len(s.buf))) > mostSpooled {
		spooledNow.Add(-int64(len(s.buf)))
		return fault.New(fault.Busy, "The tables that are being sent fill the room for tables. Ask again once they have arrived, or ask for less: narrow the feed by season, from or to.")
	}
	s.filed += int64(len(s.buf))
	_, err := s.file.Write(s.buf)
	s.buf = s.buf[:0]
	return spoolFault(err)
}

// spoolFault says so where a table found no room on the disk.
func spoolFault(err error) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return fault.New(fault.Full, "The disk has no room to prepare this table, so nothing of it was sent. The book is as it was. Free space where the service keeps temporary files, or ask for less: narrow the feed by season, from or to.")
	}
	if err != nil {
		return fmt.Errorf("spool: %w", err)
	}
	return nil
}

// rewind ends the writing and goes back to the first row.
func (s *rowSpool) rewind() error {
	if s.file == nil {
		s.from = bufio.NewReader(bytes.NewReader(s.buf))
		return nil
	}
	if err := s.spill(); err != nil {
		return err
	}
	s.buf = nil
	_, err := s.file.Seek(0, io.SeekStart)
	s.from = bufio.NewReaderSize(s.file, stepBytes)
	return spoolFault(err)
}

// close frees the room of the rows.
func (s *rowSpool) close() {
	if s.file == nil {
		return
	}
	_ = s.file.Close() // nothing of it is wanted any more
	spooledNow.Add(-s.filed)
	s.file = nil
}

// some gives the next rows as rowSteps does.
func (s *rowSpool) some(_ *view, out cells, most int) (more bool, err error) {
	for range most {
		if out.size() >= stepBytes {
			break
		}
		if _, err := s.from.Peek(1); err == io.EOF {
			return false, nil
		}
		out.begin()
		for more := true; more; {
			if more, err = s.cell(out); err != nil {
				return false, spoolFault(err)
			}
		}
		if err := out.end(); err != nil {
			return false, err
		}
	}
	return true, nil
}

// cell gives the next cell; after the last of a row it says that there is none.
func (s *rowSpool) cell(out cells) (more bool, err error) {
	what, err := s.from.ReadByte()
	if err != nil {
		return false, err
	}
	switch what {
	case cellEnd:
		return false, nil
	case cellTrue, cellFalse:
		out.yes(what == cellTrue)
	case cellNone:
		out.none()
	default:
		err = s.value(what, out)
	}
	return err == nil, err
}

func (s *rowSpool) value(what byte, out cells) error {
	n, err := binary.ReadVarint(s.from)
	if err != nil {
		return err
	}
	switch what {
	case cellWhole:
		out.whole(n)
		return nil
	case cellInstant:
		nanos, err := binary.ReadVarint(s.from)
		out.instant(time.Unix(n, nanos).UTC())
		return err
	case cellDecimal:
		var bits [8]byte
		_, err := io.ReadFull(s.from, bits[:])
		out.decimal(math.Float64frombits(binary.LittleEndian.Uint64(bits[:])), int(n))
		return err
	}
	text := make([]byte, n)
	if _, err := io.ReadFull(s.from, text); err != nil {
		return err
	}
	switch what {
	case cellID:
		out.id(ledger.ID(text))
	case cellDay:
		out.day(ledger.Date(text))
	default:
		out.text(string(text))
	}
	return nil
}

// put writes what a cell is and a number: its value, or what that begins with.
func (s *rowSpool) put(what byte, n int64) { s.buf = binary.AppendVarint(append(s.buf, what), n) }

func (s *rowSpool) text(text string) {
	s.put(cellText, int64(len(text)))
	s.buf = append(s.buf, text...)
}

func (s *rowSpool) id(id ledger.ID) {
	s.put(cellID, int64(len(id)))
	s.buf = append(s.buf, id[:]...)
}

func (s *rowSpool) whole(n int64) { s.put(cellWhole, n) }

func (s *rowSpool) decimal(value float64, places int) {
	s.put(cellDecimal, int64(places))
	s.buf = binary.LittleEndian.AppendUint64(s.buf, math.Float64bits(value))
}

func (s *rowSpool) day(d ledger.Date) {
	s.put(cellDay, int64(len(d)))
	s.buf = append(s.buf, d...)
}

func (s *rowSpool) instant(t time.Time) {
	s.put(cellInstant, t.Unix())
	s.buf = binary.AppendVarint(s.buf, int64(t.Nanosecond()))
}

func (s *rowSpool) yes(yes bool) {
	if yes {
		s.buf = append(s.buf, cellTrue)
		return
	}
	s.buf = append(s.buf, cellFalse)
}

func (s *rowSpool) none() { s.buf = append(s.buf, cellNone) }
