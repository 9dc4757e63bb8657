package bringin

import (
	"encoding/xml"
	"errors"
	"path"
	"strings"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// mostRemarks bounds the comments on the cells of a sheet, and mostRemarked what they say
// together, in bytes.
const (
	mostRemarks  = 20_000
	mostRemarked = 8 << 20
)

// remarks are the comments on the cells of a sheet, by their rows, as people wrote them.
func (p *parts) remarks(sheet sheetPart) (map[int][]string, error) {
	part := ""
	folder, name := path.Split(sheet.part)
	err := p.read(folder+"_rels/"+name+".rels", element{start: func(name string, attributes []xml.Attr) error {
		if name == "Relationship" && strings.HasSuffix(attribute(attributes, "Type"), "/comments") {
			part = beside(folder, attribute(attributes, "Target"))
		}
		return nil
	}})
	if part == "" {
		if errors.Is(err, errNotThere) {
			err = nil
		}
		return nil, err
	}
	r := remarkReader{sheet: sheet.name, rows: map[int][]string{}}
	if err = p.read(part, element{start: r.start, text: r.text.add, end: r.end}); errors.Is(err, errNotThere) {
		err = nil
	}
	return r.rows, err
}

// beside is a part by the way to it from a folder.
func beside(folder, target string) string {
	if strings.HasPrefix(target, "/") {
		return strings.TrimPrefix(path.Clean(target), "/")
	}
	return path.Join(folder, target)
}

type remarkReader struct {
	sheet    string
	row, all int
	remarked int
	text     textReader
	rows     map[int][]string
}

func (r *remarkReader) start(name string, attributes []xml.Attr) error {
	if name == "comment" {
		_, r.row, _ = coordinates(attribute(attributes, "ref"))
	}
	r.text.start(name)
	return nil
}

func (r *remarkReader) end(name string) error {
	if r.text.end(name); name != "comment" {
		return nil
	}
	said := remarkOf(r.text.take())
	if said == "" || r.row < 1 {
		return nil
	}
	if r.all++; r.all > mostRemarks || r.remarked+len(said) > mostRemarked {
		return fault.New(fault.TooLarge, "The sheet %s has more comments on its cells than the %s that are read: save it as CSV.", message.Quoted(r.sheet), mostRemarks)
	}
	r.remarked += len(said)
	r.rows[r.row] = append(r.rows[r.row], said)
	return nil
}

// remarkOf is what somebody said in a comment, without what programs put before it for
// those that cannot show answers to comments.
func remarkOf(text string) string {
	if strings.HasPrefix(text, "[Threaded comment]") {
		if _, said, found := strings.Cut(text, "\nComment:\n"); found {
			text = said
		}
	}
	return strings.Join(strings.Fields(text), " ")
}
