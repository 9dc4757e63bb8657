package bringin

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
)

// shelf keeps the rows of a workbook, packed one after the other: those of a small one in
// memory, those beyond on the disk.
type shelf struct {
	memory []byte
	disk   *os.File
	onDisk int64
}

// mostInMemory is what a shelf keeps in memory, in bytes; a season's sheet takes less.
const mostInMemory = 8 << 20

// end is where the next bytes come to stand.
func (s *shelf) end() int64 { return int64(len(s.memory)) + s.onDisk }

func (s *shelf) add(some []byte) error {
	if s.disk == nil && len(s.memory)+len(some) <= mostInMemory {
		s.memory = append(s.memory, some...)
		return nil
	}
	if s.disk == nil {
		disk, err := os.CreateTemp("", "pullbook-import-*")
		if err != nil {
			return noRoom(err)
		}
		s.disk = disk
		_ = os.Remove(disk.Name()) // where that goes while it is open, nothing stays behind after a crash
	}
	n, err := s.disk.WriteAt(some, s.onDisk)
	s.onDisk += int64(n)
	return noRoom(err)
}

// noRoom says what the disk was wanted for.
func noRoom(err error) error {
	if err == nil {
		return nil
	}
	return fmt.Errorf("keep the rows of a workbook on the disk while it is read: %w", err)
}

// between reads what stands from one place to another.
func (s *shelf) between(from, to int64) io.Reader {
	inMemory := int64(len(s.memory))
	first := bytes.NewReader(s.memory[min(from, inMemory):min(to, inMemory)])
	if s.disk == nil || to <= inMemory {
		return first
	}
	from = max(from, inMemory)
	return io.MultiReader(first, io.NewSectionReader(s.disk, from-inMemory, to-from))
}

// Close lets go of what is on the disk.
func (s *shelf) Close() error {
	if s.disk == nil {
		return nil
	}
	err := s.disk.Close()
	if gone := os.Remove(s.disk.Name()); !errors.Is(gone, os.ErrNotExist) {
		err = errors.Join(err, gone)
	}
	s.disk = nil
	return err
}

// appendRow packs a row: its length, its number, how many cells it has, and each cell as
// the place of a shared text or as its own.
func appendRow(out []byte, row int, cells []cell) []byte {
	at := len(out)
	out = binary.AppendUvarint(out, uint64(row))
	out = binary.AppendUvarint(out, uint64(len(cells)))
	for _, c := range cells {
		if c.shared > 0 {
			out = binary.AppendUvarint(out, uint64(c.shared)<<1|1)
			continue
		}
		out = binary.AppendUvarint(out, uint64(len(c.text))<<1)
		out = append(out, c.text...)
	}
	long := binary.AppendUvarint(nil, uint64(len(out)-at))
	out = append(out, long...)
	copy(out[at+len(long):], out[at:len(out)-len(long)])
	copy(out[at:], long)
	return out
}

// rowsIn walks the rows that a reader of a shelf gives.
func rowsIn(in io.Reader, texts *sharedTexts, yield func(row int, cells []string) bool) error {
	const room = 1 << 16
	from := bufio.NewReaderSize(in, room)
	var packed []byte
	var cells []string
	for {
		long, err := binary.ReadUvarint(from)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err == nil {
			packed = append(packed[:0], make([]byte, long)...)
			_, err = io.ReadFull(from, packed)
		}
		if err != nil {
			return fmt.Errorf("the rows of a workbook on the disk: %w", err)
		}
		var row int
		if row, cells = unpackRow(packed, texts, cells[:0]); !yield(row, cells) {
			return nil
		}
	}
}

// longRow is above what most rows take, in bytes. The cells of a shorter row share one
// text; who keeps one of a longer row does not keep that whole row.
const longRow = 256

// unpackRow is the inverse of appendRow, without the length.
func unpackRow(packed []byte, texts *sharedTexts, room []string) (row int, cells []string) {
	whole := ""
	if len(packed) <= longRow {
		whole = string(packed)
	}
	at := 0
	next := func() int {
		n, long := binary.Uvarint(packed[at:])
		at += long
		return int(n)
	}
	row, cells = next(), room
	for range next() {
		n := next()
		switch {
		case n&1 == 1:
			cells = append(cells, texts.get(n>>1-1))
			continue
		case whole != "":
			cells = append(cells, whole[at:at+n>>1])
		default:
			cells = append(cells, string(packed[at:at+n>>1]))
		}
		at += n >> 1
	}
	return row, cells
}

// sharedTexts are the texts that cells share, in blocks: they take little more room than
// their letters.
type sharedTexts struct {
	blocks []string
	filled []byte // the block at hand
	places [][]place
	n      int
	bytes  int
}

// place is where a text stands: its block, and from where until where in it.
type place struct {
	block    uint16
	from, to uint32
}

const (
	// blockBytes is what a block holds before the next is begun, and blockPlaces how many
	// places stand together.
	blockBytes  = 1 << 20
	blockPlaces = 1 << 14
)

func (s *sharedTexts) add(text string) {
	if s.n%blockPlaces == 0 {
		s.places = append(s.places, make([]place, 0, blockPlaces))
	}
	if len(s.filled) >= blockBytes {
		s.endBlock()
	}
	from := len(s.filled)
	s.filled = append(s.filled, text...)
	last := &s.places[len(s.places)-1]
	*last = append(*last, place{uint16(len(s.blocks)), uint32(from), uint32(len(s.filled))})
	s.n++
	s.bytes += len(text)
}

// endBlock ends the block at hand, as has to be done before any text is read.
func (s *sharedTexts) endBlock() {
	s.blocks = append(s.blocks, string(s.filled))
	s.filled = s.filled[:0]
}

// get is a text by its place, from 0.
func (s *sharedTexts) get(n int) string {
	p := s.places[n/blockPlaces][n%blockPlaces]
	return s.blocks[p.block][p.from:p.to]
}
