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
}

// MostBytes is the largest file that is opened: a million readings with room to
// spare. The contract says so too, as what the body of an import may hold.
const MostBytes = 256 << 20

// Open opens a file by what it holds, not by what it is called. name is what it is
// called by whoever brings it. What cannot be read is a fault. It ends early where
// nobody waits for it any more.
func Open(ctx context.Context, path, name string) (*File, error) {
	in, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	about, err := in.Stat()
	if err != nil {
		return nil, err
	}
	if about.Size() > MostBytes {
		return nil, fault.New(fault.TooLarge, "The file is larger than %s MB: bring it in as parts.", MostBytes>>20)
	}
	data := make([]byte, about.Size())
	if _, err := io.ReadFull(in, data); err != nil {
		return nil, err
	}
	return Read(ctx, data, name)
}

// Read is Open for the bytes of a file, which it keeps, and may change.
func Read(ctx context.Context, data []byte, name string) (*File, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	digest, err := digestOf(ctx, data)
	if err != nil {
		return nil, err
	}
	f := &File{Name: name, SHA256: digest}
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return nil, fault.New(fault.Malformed, "The file is empty.")
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return f, f.workbook(ctx, data)
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
		return nil, fault.New(fault.Malformed, "This is an old workbook (.xls) or one with a password, which cannot be read: save it as .xlsx without a password, or as CSV.")
	}
	if isDocument(data) {
		return nil, fault.New(fault.Malformed, "This is a web page, a PDF or another document, whatever it is called: open it, and save its table as CSV or .xlsx.")
	}
	table, encoding, err := tables.CSV(data)
	if zeroBytes := new(tables.ZeroBytesError); errors.As(err, &zeroBytes) {
		return nil, fault.New(fault.Malformed, "Line %s of the file holds zero bytes, which are not text: the file was damaged when it was written, or it is not a table. Take them out, or save the table anew as CSV or .xlsx.", zeroBytes.Line)
	}
	if errors.Is(err, tables.ErrNoText) {
		return nil, fault.New(fault.Malformed, "This is neither a text file with a table nor a workbook: save the sheet as CSV or .xlsx.")
	}
	if errors.Is(err, tables.ErrTooMuchToConvert) {
		return nil, fault.New(fault.TooLarge, "A text file of more than %s MB has to be in UTF-8: save it anew as \"CSV UTF-8\", or bring it in as parts.", tables.MostConverted>>20)
	}
	if err != nil {
		return nil, err
	}
	f.Encoding, f.Tables = encoding, []*tables.Table{table}
	return f, ctx.Err()
}

// digestOf is the hexadecimal digest of a file. A large one takes a second.
func digestOf(ctx context.Context, data []byte) (string, error) {
	digest := sha256.New()
	for part := range slices.Chunk(data, 1<<20) {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		digest.Write(part)
	}
	return hex.EncodeToString(digest.Sum(nil)), nil
}

// documents begin with one of these.
var documents = []string{"%pdf-", "{\\rtf", "<!doctype", "<html", "<table", "<?xml", "<head", "<body", "<meta"}

func isDocument(data []byte) bool {
	head := bytes.ToLower(data[:min(len(data), 1024)])
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
