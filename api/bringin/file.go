// Package bringin opens the files that people bring in and takes them over into a
// book: for the interface and for the command line.
package bringin

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"slices"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// File is a text file or workbook that was opened.
type File struct {
	// Name is what it is called, SHA256 the hexadecimal digest of its bytes.
	Name, SHA256 string
	// Encoding is that of a text file; empty for a workbook.
	Encoding string
	// Tables are its sheets; a text file has one.
	Tables []*tables.Table
	// Notices are what a person should know of it.
	Notices []message.Text
	// on is the file on the disk, where it is there, and shelf has the rows of a workbook.
	on    *os.File
	shelf shelf
}

// Close lets go of the file. Its tables have no rows from then on; whatever else is known
// of it stays.
func (f *File) Close() error {
	if f.on == nil {
		return f.shelf.Close()
	}
	return errors.Join(f.on.Close(), f.shelf.Close())
}

// MostBytes is the largest file that is opened: a million readings with room to
// spare. The contract says so too, as what the body of an import may hold.
const MostBytes = 256 << 20

// Open opens a file by what it holds, not by what it is called. name is what it is
// called by whoever brings it. What cannot be read is a fault. It ends early where
// nobody waits for it any more. The file stays open until it is closed, and is read
// whenever the rows of its tables are walked: its size costs no memory.
func Open(ctx context.Context, path, name string) (*File, error) {
	in, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	f := &File{Name: name, on: in}
	about, err := in.Stat()
	if err == nil {
		err = f.open(&source{ctx: ctx, in: in, size: about.Size(), on: in, changed: about.ModTime()})
	}
	if err != nil {
		f.Close() // what is wrong is said already
		return nil, err
	}
	return f, nil
}

// Read is Open for the bytes of a file, which it keeps.
func Read(ctx context.Context, data []byte, name string) (*File, error) {
	f := &File{Name: name}
	if err := f.open(&source{ctx: ctx, in: bytes.NewReader(data), size: int64(len(data))}); err != nil {
		f.Close() // what is wrong is said already
		return nil, err
	}
	return f, nil
}

func (f *File) open(s *source) error {
	if s.size > MostBytes {
		return fault.New(fault.TooLarge, "The file is larger than %s MB: bring it in as parts.", MostBytes>>20)
	}
	head, empty, err := f.digest(s)
	switch {
	case err != nil:
		return err
	case empty:
		return fault.New(fault.Malformed, "The file is empty.")
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		if err := f.workbook(s.ctx, s, s.size); err != nil {
			return err
		}
		return s.unchanged()
	case bytes.HasPrefix(head, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
		return fault.New(fault.Malformed, "This is an old workbook (.xls) or one with a password, which cannot be read: save it as .xlsx without a password, or as CSV.")
	case isDocument(head):
		return fault.New(fault.Malformed, "This is a web page, a PDF or another document, whatever it is called: open it, and save its table as CSV or .xlsx.")
	}
	return f.text(s)
}

// text opens a text file.
func (f *File) text(s *source) error {
	table, encoding, err := tables.CSVFrom(s, s.size)
	if zeroBytes := new(tables.ZeroBytesError); errors.As(err, &zeroBytes) {
		return fault.New(fault.Malformed, "Line %s of the file holds zero bytes, which are not text: the file was damaged when it was written, or it is not a table. Take them out, or save the table anew as CSV or .xlsx.", zeroBytes.Line)
	}
	if errors.Is(err, tables.ErrNoText) {
		return fault.New(fault.Malformed, "This is neither a text file with a table nor a workbook: save the sheet as CSV or .xlsx.")
	}
	if err != nil {
		return err
	}
	rows := table.Rows
	table.Rows = func(yield func(int, []string) bool) error { return errors.Join(rows(yield), s.unchanged()) }
	f.Encoding, f.Tables = encoding, []*tables.Table{table}
	return s.ctx.Err()
}

// digest works out the SHA-256 of a file, which takes a second where it is large. It gives
// the beginning of the file, and whether there is nothing but blanks in it.
func (f *File) digest(s *source) (head []byte, empty bool, err error) {
	digest := sha256.New()
	some, empty := make([]byte, 1<<16), true
	in := io.NewSectionReader(s, 0, s.size)
	for {
		n, err := io.ReadFull(in, some)
		digest.Write(some[:n])
		if head == nil {
			head = bytes.Clone(some[:min(n, 1024)])
		}
		empty = empty && len(bytes.TrimSpace(some[:n])) == 0
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			f.SHA256 = hex.EncodeToString(digest.Sum(nil))
			return head, empty, s.ctx.Err()
		case err != nil:
			return nil, false, err
		}
	}
}

// source is a file that is read part by part, and not any more once nobody waits for it.
type source struct {
	ctx  context.Context
	in   io.ReaderAt
	size int64
	// on is the file on the disk, where it is there, and changed when it was changed last.
	on      *os.File
	changed time.Time
}

func (s *source) ReadAt(into []byte, at int64) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := s.in.ReadAt(into, at)
	if errors.Is(err, io.EOF) && at+int64(n) < s.size {
		err = errChanged
	}
	return n, err
}

// unchanged sees to it that what was read is what was there at first.
func (s *source) unchanged() error {
	if s.on == nil {
		return nil
	}
	about, err := s.on.Stat()
	if err == nil && (about.Size() != s.size || !about.ModTime().Equal(s.changed)) {
		err = errChanged
	}
	return err
}

var errChanged = fault.New(fault.Malformed, "The file was changed while it was read, so nothing of it was stored: close it in the other program, and bring it in again.")

// documents begin with one of these.
var documents = []string{"%pdf-", "{\\rtf", "<!doctype", "<html", "<table", "<?xml", "<head", "<body", "<meta"}

func isDocument(head []byte) bool {
	head = bytes.ToLower(head)
	head = bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")
	return slices.ContainsFunc(documents, func(start string) bool { return bytes.HasPrefix(head, []byte(start)) })
}

// Table gives a sheet by its name; the first that holds anything where none is
// named.
func (f *File) Table(name string) (*tables.Table, error) {
	var names message.List
	for _, t := range f.Tables {
		if t.Name == name || name == "" {
			return t, nil
		}
		names = append(names, message.Verbatim(t.Name))
	}
	if len(f.Tables) == 1 && f.Tables[0].Name == "" {
		return nil, fault.New(fault.Invalid, "A text file has no sheets: leave the sheet's name out.")
	}
	return nil, fault.New(fault.Invalid, "The workbook has no sheet %s, but %s.", message.Quoted(name), names)
}

// Said is what a person should know of the file where one sheet of it is read: the first where none is
// named. The figures of the others stay where they are.
func (f *File) Said(sheet string) (out []message.Text) {
	const most = 12
	var others message.List
	for i, t := range f.Tables {
		if t.Name == sheet || sheet == "" && i == 0 {
			sheet = t.Name
			continue
		}
		if len(others) == most {
			others = append(others, message.Verbatim("…"))
			break
		}
		others = append(others, message.Verbatim(t.Name))
	}
	if len(others) > 0 {
		out = append(out, message.F("Only the sheet %s is read. The workbook also has %s: bring in by itself what of it belongs in the book.", message.Quoted(sheet), others))
	}
	return append(out, f.Notices...)
}
