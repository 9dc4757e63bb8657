package bringin

import (
	"archive/zip"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"io/fs"
	"slices"
	"strings"

	"pullbook/domain/fault"
)

// What a workbook may come to when it is read. A few kilobytes can come to terabytes,
// made so on purpose: what is looked at is counted while it is unpacked, whatever the
// file says of itself.
const (
	// mostPacked is the largest workbook, and mostParts is how many parts it may have.
	mostPacked = 64 << 20
	mostParts  = 10_000
	// mostDirectory bounds the list of the parts.
	mostDirectory = 4 << 20
	// mostUnpacked is what the parts that are read come to. mostListed bounds each of those
	// that say which part is which, and mostStyled that of the styles.
	mostUnpacked = 512 << 20
	mostListed   = 4 << 20
	mostStyled   = 32 << 20
	// mostElement is the longest text, comment or tag; a cell holds 32,767 letters.
	mostElement = 256 << 10
	// deepest is how far elements stand within each other.
	deepest = 64
)

// parts are those of a workbook, by their names in lower case.
type parts struct {
	ctx    context.Context
	byName map[string]*zip.File
	left   int64
	// counted is what its sheets have together.
	counted counted
}

func openParts(ctx context.Context, in io.ReaderAt, size int64) (*parts, error) {
	if size > mostPacked {
		return nil, fault.New(fault.TooLarge, "A workbook may have %s MB at most, and this one has %s: save the sheet as CSV, or bring it in as parts.", mostPacked>>20, size>>20)
	}
	directory := &boundedAt{in: in, left: mostDirectory}
	archive, err := zip.NewReader(directory, size)
	if directory.left < 0 || err == nil && len(archive.File) > mostParts {
		return nil, fault.New(fault.TooLarge, "The workbook has more than %s parts, or their names are very long: no workbook of a honey house is like that. Save the sheet as CSV.", mostParts)
	}
	if isOwn(err) {
		return nil, err
	}
	if err != nil {
		return nil, fault.New(fault.Malformed, "The workbook is damaged: it was cut short, or is no workbook.")
	}
	directory.opened = true
	p := &parts{ctx: ctx, byName: make(map[string]*zip.File, len(archive.File)), left: mostUnpacked}
	for _, f := range archive.File {
		p.byName[partName(f.Name)] = f
	}
	return p, nil
}

// boundedAt gives up where a directory takes more than is left for it: it is all in memory.
type boundedAt struct {
	in     io.ReaderAt
	left   int
	opened bool
}

func (b *boundedAt) ReadAt(into []byte, at int64) (int, error) {
	if b.opened {
		return b.in.ReadAt(into, at)
	}
	if b.left -= len(into); b.left < 0 {
		return 0, errTooMuch
	}
	return b.in.ReadAt(into, at)
}

// partName is a part's name as names are told apart: some programs write them with
// other slashes or capitals.
func partName(name string) string {
	return strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(name, `\`, "/"), "/"))
}

func (p *parts) has(prefix, suffix string) bool {
	for name := range p.byName {
		if strings.HasPrefix(name, prefix) && strings.HasSuffix(name, suffix) {
			return true
		}
	}
	return false
}

// element is what is told of a part's elements as they come. The names are without the
// prefixes that stand for a namespace, which some programs write.
type element struct {
	start func(name string, attributes []xml.Attr) error
	text  func(text []byte) error
	end   func(name string) error
}

var errNotThere = errors.New("there is no such part")

// read goes through a part, which may come to so many bytes. Its error is a fault,
// errNotThere, or that of a disk.
func (p *parts) read(name string, most int64, e element) error {
	part := p.byName[partName(name)]
	if part == nil {
		return errNotThere
	}
	in, err := part.Open()
	if isOwn(err) {
		return err
	}
	if err != nil {
		return damaged(name)
	}
	defer in.Close()
	bounded := &boundedReader{in: in, all: &p.left, ofPart: most}
	err = p.walk(bounded, e)
	switch {
	case err == nil, isOwn(err):
		return err
	case bounded.tooMuch && p.left > 0:
		return fault.New(fault.TooLarge, "Unpacked, the workbook's part %s comes to more than %s MB: no workbook of a honey house has so much there. It was not read. Save the sheet as CSV.", name, most>>20)
	case bounded.tooMuch:
		return fault.New(fault.TooLarge, "Unpacked, the workbook comes to more than %s MB: no sheet of a honey house does. It was not read. Save the sheet as CSV.", mostUnpacked>>20)
	case bounded.tooLong:
		return fault.New(fault.TooLarge, "Something in the workbook's part %s is longer than %s kB, and no cell is: it was not read. Save the sheet as CSV.", name, mostElement>>10)
	}
	return damaged(name)
}

// isOwn reports whether an error says what it is: a fault, a disk that fails, or that
// nobody waits any more.
func isOwn(err error) bool {
	f, disk := new(fault.Error), new(fs.PathError)
	return errors.As(err, &f) || errors.As(err, &disk) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded)
}

func damaged(name string) error {
	return fault.New(fault.Malformed, "The workbook is damaged: its part %s cannot be read. Open it in a spreadsheet program and save it as .xlsx or CSV.", name)
}

var errNested = errors.New("elements do not close")

func (p *parts) walk(in *boundedReader, e element) error {
	decoder := xml.NewDecoder(in)
	var open []string
	for n := 0; ; n++ {
		const lookEvery = 1 << 12
		if n%lookEvery == 0 && p.ctx.Err() != nil {
			return p.ctx.Err()
		}
		in.left = mostElement
		token, err := decoder.RawToken()
		switch {
		case err == io.EOF && len(open) == 0:
			return nil
		case err != nil:
			return err
		}
		switch t := token.(type) {
		case xml.StartElement:
			if len(open) == deepest {
				return fault.New(fault.TooLarge, "Elements of the workbook stand more than %s deep within each other: it was not read. Save the sheet as CSV.", deepest)
			}
			open = append(open, t.Name.Local)
			err = e.start(t.Name.Local, t.Attr)
		case xml.EndElement:
			if len(open) == 0 || open[len(open)-1] != t.Name.Local {
				return errNested
			}
			open = open[:len(open)-1]
			if e.end != nil {
				err = e.end(t.Name.Local)
			}
		case xml.CharData:
			if e.text != nil {
				err = e.text(t)
			}
		}
		if err != nil {
			return err
		}
	}
}

// boundedReader gives up where one element, or all that is read, is too much.
type boundedReader struct {
	in               io.Reader
	left             int
	all              *int64
	ofPart           int64
	tooLong, tooMuch bool
}

var errTooMuch = errors.New("too much")

func (b *boundedReader) Read(into []byte) (int, error) {
	switch {
	case *b.all <= 0, b.ofPart <= 0:
		b.tooMuch = true
		return 0, errTooMuch
	case b.left <= 0:
		b.tooLong = true
		return 0, errTooMuch
	}
	n, err := b.in.Read(into[:min(len(into), b.left)])
	b.left -= n
	*b.all -= int64(n)
	b.ofPart -= int64(n)
	return n, err
}

func attribute(all []xml.Attr, name string) string {
	i := slices.IndexFunc(all, func(a xml.Attr) bool { return a.Name.Local == name && a.Name.Space == "" })
	if i < 0 {
		return ""
	}
	return all[i].Value
}
