package bringin

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
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
	// mostUnpacked is what the parts that are read come to.
	mostUnpacked = 192 << 20
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
}

func openParts(ctx context.Context, data []byte) (*parts, error) {
	if len(data) > mostPacked {
		return nil, fault.New(fault.TooLarge, "A workbook may have %s MB at most, and this one has %s: save the sheet as CSV, or bring it in as parts.", mostPacked>>20, len(data)>>20)
	}
	if n := bytes.Count(data, []byte("PK\x01\x02")); n > mostParts {
		return nil, fault.New(fault.TooLarge, "The workbook has more than %s parts: no workbook of a honey house does. Save the sheet as CSV.", mostParts)
	}
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fault.New(fault.Malformed, "The workbook is damaged: it was cut short, or is no workbook.")
	}
	p := &parts{ctx: ctx, byName: make(map[string]*zip.File, len(archive.File)), left: mostUnpacked}
	for _, f := range archive.File {
		p.byName[partName(f.Name)] = f
	}
	return p, nil
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

// read goes through a part. Its error is a fault, or errNotThere.
func (p *parts) read(name string, e element) error {
	part := p.byName[partName(name)]
	if part == nil {
		return errNotThere
	}
	in, err := part.Open()
	if err != nil {
		return damaged(name)
	}
	defer in.Close()
	bounded := &boundedReader{in: in, all: &p.left}
	err = p.walk(bounded, e)
	switch f := new(fault.Error); {
	case err == nil, errors.As(err, &f), errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	case bounded.tooMuch:
		return fault.New(fault.TooLarge, "Unpacked, the workbook comes to more than %s MB: no sheet of a honey house does. It was not read. Save the sheet as CSV.", mostUnpacked>>20)
	case bounded.tooLong:
		return fault.New(fault.TooLarge, "Something in the workbook's part %s is longer than %s kB, and no cell is: it was not read. Save the sheet as CSV.", name, mostElement>>10)
	}
	return damaged(name)
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
	tooLong, tooMuch bool
}

var errTooMuch = errors.New("too much")

func (b *boundedReader) Read(into []byte) (int, error) {
	switch {
	case *b.all <= 0:
		b.tooMuch = true
		return 0, errTooMuch
	case b.left <= 0:
		b.tooLong = true
		return 0, errTooMuch
	}
	n, err := b.in.Read(into[:min(len(into), b.left)])
	b.left -= n
	*b.all -= int64(n)
	return n, err
}

func attribute(all []xml.Attr, name string) string {
	i := slices.IndexFunc(all, func(a xml.Attr) bool { return a.Name.Local == name && a.Name.Space == "" })
	if i < 0 {
		return ""
	}
	return all[i].Value
}
