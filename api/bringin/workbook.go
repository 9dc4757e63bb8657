package bringin

import (
	"context"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"strconv"
	"strings"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// The parts of a workbook that say which part is which sheet.
const (
	bookPart    = "xl/workbook.xml"
	targetsPart = "xl/_rels/workbook.xml.rels"
	textsPart   = "xl/sharedStrings.xml"
)

// workbook reads a workbook's sheets: their values as the spreadsheet program last
// worked them out. Nothing in it is run, no other file is asked, and what is not
// needed is not even unpacked.
func (f *File) workbook(ctx context.Context, in io.ReaderAt, size int64) error {
	p, err := openParts(ctx, in, size)
	if err != nil {
		return err
	}
	sheets, from1904, err := p.sheets()
	if err != nil {
		return err
	}
	if p.has("", "vbaproject.bin") {
		f.Notices = append(f.Notices, message.F("The workbook has macros. They were not run: only the values in its cells are read."))
	}
	if p.has("xl/externallinks/", "") {
		f.Notices = append(f.Notices, message.F("The workbook refers to other files. They were not asked: the values are those of when it was last saved."))
	}
	texts, err := p.texts()
	if err != nil {
		return err
	}
	styles, err := p.styles()
	if err != nil {
		return err
	}
	var hidden []message.Text
	unworked := false
	for _, s := range sheets {
		if s.hidden {
			hidden = append(hidden, message.F("The sheet %s is hidden and was not read.", message.Quoted(s.name)))
			continue
		}
		g := &grid{name: s.name, texts: texts, styles: styles, counted: &p.counted, shelf: &f.shelf}
		if err := p.grid(s.part, g); err != nil {
			return err
		}
		unworked = unworked || g.unworked
		if names := g.hidden(); len(names) > 0 {
			hidden = append(hidden, message.F("Hidden columns of the sheet %s hold something: %s. They are read like the others.", message.Quoted(s.name), names))
		}
		t, err := g.table()
		if err != nil {
			return err
		}
		if t != nil {
			t.Epoch1904 = from1904
			if t.Remarks, t.RemarkedAt, err = p.remarks(s); err != nil {
				return err
			}
			f.Tables = append(f.Tables, t)
		}
	}
	if unworked {
		f.Notices = append(f.Notices, message.F("Some formulas were never worked out, so their cells have no values to read: open the workbook in a spreadsheet program and save it once."))
	}
	f.Notices = append(f.Notices, hidden...)
	if len(f.Tables) == 0 {
		return fault.New(fault.Malformed, "The workbook has no sheet that holds anything.")
	}
	return nil
}

type sheetPart struct {
	name, part string
	hidden     bool
}

// mostSheets bounds the sheets of a workbook.
const mostSheets = 1000

// sheets lists the sheets in order, and says from when the workbook counts its days.
func (p *parts) sheets() (out []sheetPart, from1904 bool, err error) {
	targets, others := map[string]string{}, map[string]bool{}
	err = p.read(targetsPart, mostListed, element{start: func(name string, attributes []xml.Attr) error {
		if name == "Relationship" {
			id := attribute(attributes, "Id")
			targets[id] = beside("xl", attribute(attributes, "Target"))
			others[id] = !strings.HasSuffix(attribute(attributes, "Type"), "/worksheet")
		}
		return nil
	}})
	if err != nil && !errors.Is(err, errNotThere) {
		return nil, false, err
	}
	err = p.read(bookPart, mostListed, element{start: func(name string, attributes []xml.Attr) error {
		switch name {
		case "workbookPr":
			set := attribute(attributes, "date1904")
			from1904 = set == "1" || set == "true"
		case "sheet":
			s := sheetPart{name: attribute(attributes, "name")}
			state := attribute(attributes, "state")
			s.hidden = state == "hidden" || state == "veryHidden"
			for _, a := range attributes {
				if a.Name.Local == "id" && a.Name.Space != "" && !others[a.Value] {
					s.part = targets[a.Value]
				}
			}
			if s.part != "" {
				out = append(out, s)
			}
			if len(out) > mostSheets {
				return fault.New(fault.TooLarge, "The workbook has more than %s sheets: save the one that is meant as CSV.", mostSheets)
			}
		}
		return nil
	}})
	if errors.Is(err, errNotThere) {
		err = fault.New(fault.Malformed, "This is a packed file, but no .xlsx workbook: save the sheet as .xlsx or CSV.")
	}
	return out, from1904, err
}

// mostText bounds what a cell may hold, in bytes: 32,767 letters.
const mostText = 4 * 32_767

// mostTexts bounds the texts that cells share, and mostTextBytes what they take together.
const (
	mostTexts     = 2_000_000
	mostTextBytes = 48 << 20
)

var errLongCell = fault.New(fault.TooLarge, "A cell of the workbook holds more than the %s letters that a spreadsheet program writes: it was not read. Save the sheet as CSV.", mostText/4)

// texts are those that cells share, without the blanks around them.
func (p *parts) texts() (*sharedTexts, error) {
	var t textReader
	texts := &sharedTexts{}
	err := p.read(textsPart, mostUnpacked, element{
		start: func(name string, _ []xml.Attr) error { t.start(name); return nil },
		text:  t.add,
		end: func(name string) error {
			if t.end(name); name != "si" {
				return nil
			}
			if texts.n == mostTexts {
				return fault.New(fault.TooLarge, "The workbook has more than %s texts that cells share: save the sheet as CSV.", mostTexts)
			}
			if texts.add(strings.TrimSpace(asText(t.take()))); texts.bytes > mostTextBytes {
				return fault.New(fault.TooLarge, "The texts that cells of the workbook share come to more than %s MB: save the sheet as CSV.", mostTextBytes>>20)
			}
			return nil
		},
	})
	if errors.Is(err, errNotThere) {
		err = nil
	}
	texts.endBlock()
	return texts, err
}

// textReader puts the text of a cell together from its runs. How it is pronounced is
// no part of it.
type textReader struct {
	text       []byte
	in, spoken bool
}

func (t *textReader) start(name string) {
	switch name {
	case "t":
		t.in = !t.spoken
	case "rPh":
		t.spoken = true
	}
}

func (t *textReader) end(name string) {
	switch name {
	case "t":
		t.in = false
	case "rPh":
		t.spoken = false
	}
}

func (t *textReader) add(text []byte) error {
	if !t.in {
		return nil
	}
	if t.text = append(t.text, text...); len(t.text) > mostText {
		return errLongCell
	}
	return nil
}

// escaped is how a letter is written that XML cannot hold.
var escaped = regexp.MustCompile(`_x[0-9A-Fa-f]{4}_`)

func (t *textReader) take() string {
	text := string(t.text)
	t.text = t.text[:0]
	if !strings.Contains(text, "_x") {
		return text
	}
	return escaped.ReplaceAllStringFunc(text, func(of string) string {
		n, err := strconv.ParseUint(of[2:6], 16, 16)
		if err != nil {
			return of
		}
		return string(rune(n))
	})
}
