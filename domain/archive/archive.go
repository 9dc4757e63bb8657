// Package archive is the form in which a whole outfit leaves one installation and
// comes to another: a zip of a manifest, every entry with its digest, the files of
// laboratories' certificates, and views of the main tables for people.
//
// What is read is compared with the checksums of the manifest, and every entry
// against the digest that chains it to the one before.
package archive

import (
	"archive/zip"
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/document"
	"pullbook/domain/ledger"
)

// Format is the version of this form.
const Format = 1

// The files of an archive beside its tables, which lie under TablesFolder, and the
// certificates, which lie under CertificatesFolder.
const (
	ManifestFile = "manifest.json"
	EntriesFile  = "entries.jsonl"
	ClaimsFile   = "claims.jsonl"
	PeopleFile   = "people.jsonl"
	TablesFolder = "tables/"

	CertificatesFolder = "certificates/"
)

// CertificateName is what the file of a laboratory's certificate is called in an archive:
// by the hexadecimal digest that its entry names.
func CertificateName(digest string, t document.Type) string {
	return CertificatesFolder + digest + t.Ending()
}

// Manifest says what an archive holds. It is the last file.
type Manifest struct {
	Format int    `json:"format"`
	Outfit Outfit `json:"outfit"`
	// Entries is the last entry's number, and Digest its digest in hexadecimal.
	Entries int64  `json:"entries"`
	Digest  string `json:"digest"`
	Claims  int64  `json:"claims"`
	People  int64  `json:"people"`
	// NoTables says why there are none of the tables for people to read.
	NoTables string `json:"no_tables,omitempty"`
	Files    []File `json:"files"`
}

// File is a file of an archive with its checksum.
type File struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// Outfit is whose book it is.
type Outfit struct {
	ID       uuid.UUID `json:"id"`
	Name     string    `json:"name"`
	TimeZone string    `json:"time_zone"`
	Units    string    `json:"units"`
	// DecimalMark is empty where nobody said, as in each archive from before there was one.
	DecimalMark string `json:"decimal_mark,omitempty"`
}

// Person is somebody of the outfit, without secrets.
type Person struct {
	ID   uuid.UUID  `json:"id"`
	Name string     `json:"name"`
	Role string     `json:"role"`
	Left *time.Time `json:"left_at,omitempty"`
}

// Claim is a name in use.
type Claim struct {
	Noun ledger.Kind `json:"noun"`
	Code string      `json:"code"`
	Use  int         `json:"use"`
	Root ledger.ID   `json:"root"`
}

// Writer writes an archive, file after file, as it goes along.
type Writer struct {
	zip   *zip.Writer
	sum   hash.Hash
	bytes int64
	open  io.Writer
	files []File
}

// NewWriter begins an archive.
func NewWriter(w io.Writer) *Writer { return &Writer{zip: zip.NewWriter(w)} }

// Create begins the next file; the one before it is ended.
func (w *Writer) Create(name string) (io.Writer, error) {
	w.end()
	out, err := w.zip.Create(name)
	w.sum, w.bytes, w.open = sha256.New(), 0, out
	w.files = append(w.files, File{Name: name})
	return w, err
}

// Write adds to the file at hand.
func (w *Writer) Write(p []byte) (int, error) {
	n, err := w.open.Write(p)
	w.sum.Write(p[:n])
	w.bytes += int64(n)
	return n, err
}

func (w *Writer) end() {
	if n := len(w.files); n > 0 {
		w.files[n-1].Bytes, w.files[n-1].SHA256 = w.bytes, hex.EncodeToString(w.sum.Sum(nil))
	}
}

// Close writes the manifest and ends the archive.
func (w *Writer) Close(m Manifest) error {
	w.end()
	m.Format, m.Files = Format, w.files
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return err
	}
	out, err := w.zip.Create(ManifestFile)
	if err != nil {
		return err
	}
	if _, err := out.Write(append(text, '\n')); err != nil {
		return err
	}
	return w.zip.Close()
}

// AppendEntry adds a line with an entry: its number and digest, and its canonical
// form, of which the digest was taken, byte for byte.
func AppendEntry(line []byte, e *ledger.Entry, content []byte) []byte {
	line = append(line, `{"number":`...)
	line = strconv.AppendInt(line, e.Number, 10)
	line = append(line, `,"digest":"`...)
	line = hex.AppendEncode(line, e.Digest[:])
	line = append(line, `",`...)
	line = append(line, e.Canonical(content)[1:]...)
	return append(line, '\n')
}

// Error says where an archive is not as it was written.
type Error struct{ What string }

func (e *Error) Error() string { return e.What }

func broken(format string, args ...any) error { return &Error{fmt.Sprintf(format, args...)} }

// Reader reads an archive that was held against its manifest.
type Reader struct {
	Manifest Manifest
	files    map[string]*zip.File
}

// mostManifest and mostLine bound what is read into memory at once; mostUnpacked
// is the largest file of an archive.
const (
	mostManifest = 4 << 20
	mostLine     = 16 << 20
	mostUnpacked = 1 << 40
)

// Open reads the manifest and holds every file against its checksum. The error is
// an *Error where the archive was changed, cut short or is none.
func Open(r io.ReaderAt, size int64) (*Reader, error) {
	archive, err := zip.NewReader(r, size)
	if err != nil {
		return nil, broken("the file is no archive, or was cut short: %v", err)
	}
	a := &Reader{files: map[string]*zip.File{}}
	for _, f := range archive.File {
		if a.files[f.Name] != nil {
			return nil, broken("the archive holds %s twice", f.Name)
		}
		a.files[f.Name] = f
	}
	if err := a.readManifest(); err != nil {
		return nil, err
	}
	listed := map[string]bool{ManifestFile: true}
	for _, f := range a.Manifest.Files {
		if listed[f.Name] {
			return nil, broken("the manifest lists %s twice", f.Name)
		}
		listed[f.Name] = true
		if err := a.sound(f); err != nil {
			return nil, err
		}
	}
	for name := range a.files {
		if !listed[name] {
			return nil, broken("the archive holds %s, and its manifest does not list it", name)
		}
	}
	for _, name := range []string{EntriesFile, ClaimsFile, PeopleFile} {
		if !listed[name] {
			return nil, broken("the archive lacks %s", name)
		}
	}
	return a, nil
}

func (a *Reader) readManifest() error {
	f := a.files[ManifestFile]
	if f == nil {
		return broken("the archive has no %s: it was cut short, or is none", ManifestFile)
	}
	in, err := f.Open()
	if err != nil {
		return broken("the manifest cannot be read: %v", err)
	}
	defer in.Close()
	text, err := io.ReadAll(io.LimitReader(in, mostManifest))
	if err != nil {
		return broken("the manifest cannot be read: %v", err)
	}
	m := &a.Manifest
	if err := json.Unmarshal(text, m); err != nil {
		return broken("the manifest cannot be read: %v", err)
	}
	switch {
	case m.Format != Format:
		return broken("the archive is of format %d, and this program reads format %d", m.Format, Format)
	case m.Outfit.ID == uuid.Nil || strings.TrimSpace(m.Outfit.Name) == "":
		return broken("the manifest names no outfit")
	case m.Entries < 0 || len(m.Digest) != 2*sha256.Size:
		return broken("the manifest does not say how the book ends")
	}
	return nil
}

// sound holds a file against its checksum.
func (a *Reader) sound(listed File) error {
	f := a.files[listed.Name]
	if f == nil {
		return broken("the archive lacks %s, which its manifest lists", listed.Name)
	}
	in, err := f.Open()
	if err != nil {
		return broken("%s cannot be read: %v", listed.Name, err)
	}
	defer in.Close()
	sum := sha256.New()
	n, err := io.Copy(sum, io.LimitReader(in, min(mostUnpacked, listed.Bytes+1)))
	if err != nil {
		return broken("%s cannot be read: %v", listed.Name, err)
	}
	if got := hex.EncodeToString(sum.Sum(nil)); n != listed.Bytes || got != listed.SHA256 {
		return broken("%s was changed: its checksum is %s, and the manifest has %s", listed.Name, got, listed.SHA256)
	}
	return nil
}

// lines walks the lines of a file.
func (a *Reader) lines(name string, line func(n int64, text []byte) error) error {
	in, err := a.files[name].Open()
	if err != nil {
		return broken("%s cannot be read: %v", name, err)
	}
	defer in.Close()
	scanner := bufio.NewScanner(in)
	scanner.Buffer(make([]byte, 64<<10), mostLine)
	n := int64(0)
	for scanner.Scan() {
		if n++; len(bytes.TrimSpace(scanner.Bytes())) == 0 {
			return broken("line %d of %s is empty", n, name)
		}
		if err := line(n, scanner.Bytes()); err != nil {
			return err
		}
	}
	if err := scanner.Err(); err != nil {
		return broken("%s cannot be read beyond line %d: %v", name, n, err)
	}
	return nil
}

func jsonLines[T any](a *Reader, name string, want int64) (out []T, err error) {
	err = a.lines(name, func(n int64, text []byte) error {
		var x T
		if err := json.Unmarshal(text, &x); err != nil {
			return broken("line %d of %s cannot be read: %v", n, name, err)
		}
		out = append(out, x)
		return nil
	})
	if err == nil && int64(len(out)) != want {
		err = broken("%s has %d lines, and the manifest counts %d", name, len(out), want)
	}
	return out, err
}

// People gives the people.
func (a *Reader) People() ([]Person, error) {
	return jsonLines[Person](a, PeopleFile, a.Manifest.People)
}

// Claims gives the names in use.
func (a *Reader) Claims() ([]Claim, error) {
	return jsonLines[Claim](a, ClaimsFile, a.Manifest.Claims)
}

// Certificate is the file of a laboratory's certificate in an archive.
type Certificate struct {
	File
	Type document.Type
	// Digest is the one that its name says, which is that of its bytes.
	Digest [sha256.Size]byte
}

// Certificates lists the files of certificates: every file that an entry names, and no
// other. named are all entries that name one; unread is true where there is an entry that
// cannot be read and may name one too.
func (a *Reader) Certificates(named []*ledger.Entry, unread bool) ([]Certificate, error) {
	var out []Certificate
	listed := map[string]File{}
	for _, f := range a.Manifest.Files {
		if strings.HasPrefix(f.Name, CertificatesFolder) {
			listed[f.Name] = f
		}
	}
	taken := map[string]bool{}
	for _, e := range named {
		x, readable := e.Body.(ledger.Filing)
		if !readable {
			continue
		}
		c := x.File()
		name := CertificateName(c.SHA256, c.MediaType)
		f, there := listed[name]
		switch {
		case !there:
			return nil, broken("the archive lacks %s, which entry %d names", name, e.Number)
		case f.SHA256 != c.SHA256 || f.Bytes != c.Bytes:
			return nil, broken("%s is not the file that entry %d names: it has %d bytes and the digest %s", name, e.Number, f.Bytes, f.SHA256)
		case taken[name]:
			continue
		}
		taken[name] = true
		kept := Certificate{File: f, Type: c.MediaType}
		if _, err := hex.Decode(kept.Digest[:], []byte(f.SHA256)); err != nil {
			return nil, broken("%s has no digest: %v", name, err)
		}
		out = append(out, kept)
	}
	for _, f := range a.Manifest.Files {
		if strings.HasPrefix(f.Name, CertificatesFolder) && !taken[f.Name] && !unread {
			return nil, broken("the archive holds %s, and no entry names it", f.Name)
		}
	}
	return out, nil
}

// Content reads the file of a certificate.
func (a *Reader) Content(c Certificate) ([]byte, error) {
	in, err := a.files[c.Name].Open()
	if err != nil {
		return nil, broken("%s cannot be read: %v", c.Name, err)
	}
	defer in.Close()
	content, err := io.ReadAll(io.LimitReader(in, document.MostBytes+1))
	if err != nil || int64(len(content)) != c.Bytes {
		return nil, broken("%s cannot be read whole: %d of %d bytes, %v", c.Name, len(content), c.Bytes, err)
	}
	return content, nil
}

// timeLayout is that of an entry's canonical form.
const timeLayout = "2006-01-02T15:04:05.000000Z"

// Entries walks the entries, each held against the digest that chains it to the one
// before, and the last against the manifest. Their bodies are not read.
func (a *Reader) Entries(yield func(ledger.Sealed) error) error {
	var before [sha256.Size]byte
	last := int64(0)
	err := a.lines(EntriesFile, func(n int64, text []byte) error {
		s, err := entryOf(text)
		if err != nil {
			return broken("line %d of %s is no entry: %v", n, EntriesFile, err)
		}
		if s.Number != n {
			return broken("entry %d is missing: entry %d comes in its place", n, s.Number)
		}
		if got := ledger.Chain(before, n, s.Canonical(s.Content)); got != s.Digest {
			return broken("entry %d was changed: its digest is %x, and what it says gives %x", n, s.Digest, got)
		}
		before, last = s.Digest, n
		return yield(s)
	})
	if err != nil {
		return err
	}
	if last != a.Manifest.Entries || hex.EncodeToString(before[:]) != a.Manifest.Digest {
		return broken("the book ends with entry %d (%x), and the manifest says with entry %d (%s)", last, before, a.Manifest.Entries, a.Manifest.Digest)
	}
	return nil
}

func entryOf(text []byte) (s ledger.Sealed, err error) {
	var in struct {
		Number     int64       `json:"number"`
		Digest     string      `json:"digest"`
		ID         uuid.UUID   `json:"id"`
		Kind       ledger.Kind `json:"kind"`
		OccurredAt string      `json:"occurred_at"`
		RecordedAt string      `json:"recorded_at"`
		RecordedBy string      `json:"recorded_by"`
		Replaces   string      `json:"replaces"`
		Reason     string      `json:"reason"`
	}
	// The content is last, and is taken as it stands, since it may be more than can be
	// read. No text before it can hold these bytes: in a text each quote has a \.
	head, content, whole := bytes.Cut(text, []byte(`,"content":`))
	content, ends := bytes.CutSuffix(content, []byte("}"))
	if !whole || !ends || len(content) == 0 {
		return s, errors.New("it has no content")
	}
	if err := json.Unmarshal(append(bytes.Clone(head), '}'), &in); err != nil {
		return s, err
	}
	e := &ledger.Entry{Number: in.Number, ID: in.ID, Kind: in.Kind, RecordedBy: in.RecordedBy, Reason: in.Reason}
	if e.OccurredAt, err = time.Parse(timeLayout, in.OccurredAt); err != nil {
		return s, err
	}
	if e.RecordedAt, err = time.Parse(timeLayout, in.RecordedAt); err != nil {
		return s, err
	}
	if in.Replaces != "" {
		if e.Replaces, err = uuid.Parse(in.Replaces); err != nil {
			return s, err
		}
	}
	digest, err := hex.DecodeString(in.Digest)
	if err != nil || len(digest) != sha256.Size {
		return s, fmt.Errorf("its digest %q is none", in.Digest)
	}
	copy(e.Digest[:], digest)
	return ledger.Sealed{Entry: e, Content: bytes.Clone(content)}, nil
}
