package bringin

import (
	"encoding/xml"
	"errors"
	"path"
	"strings"

	"pullbook/domain/fault"
)

// mostRemarks bounds the comments on the cells of a workbook, and mostRemarked what they
// say together, in bytes.
const (
	mostRemarks  = 20_000
	mostRemarked = 8 << 20
)

// remarks are the comments on the cells of a sheet, by their rows, as people wrote them, and the
// columns of those cells, from 0.
func (p *parts) remarks(sheet sheetPart) (rows map[int][]string, at map[int][]int, err error) {
	part := ""
	folder, name := path.Split(sheet.part)
	err = p.read(folder+"_rels/"+name+".rels", mostListed, element{start: func(name string, attributes []xml.Attr) error {
		if name == "Relationship" && strings.HasSuffix(attribute(attributes, "Type"), "/comments") {
			part = beside(folder, attribute(attributes, "Target"))
		}
		return nil
	}})
	if part == "" {
		if errors.Is(err, errNotThere) {
			err = nil
		}
		return nil, nil, err
	}
	r := remarkReader{counted: &p.counted, rows: map[int][]string{}, at: map[int][]int{}}
	if err = p.read(part, mostUnpacked, element{start: r.start, text: r.text.add, end: r.end}); errors.Is(err, errNotThere) {
		err = nil
	}
	return r.rows, r.at, err
}

// beside is a part by the way to it from a folder.
func beside(folder, target string) string {
	if strings.HasPrefix(target, "/") {
		return strings.TrimPrefix(path.Clean(target), "/")
	}
	return path.Join(folder, target)
}

type remarkReader struct {
	counted     *counted
	row, column int
	text        textReader
	rows        map[int][]string
	at          map[int][]int
}

func (r *remarkReader) start(name string, attributes []xml.Attr) error {
	if name == "comment" {
		r.column, r.row, _ = coordinates(attribute(attributes, "ref"))
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
	r.counted.remarks++
	r.counted.remarked += len(said)
	if r.counted.remarks > mostRemarks || r.counted.remarked > mostRemarked {
		return fault.New(fault.TooLarge, "The workbook has more than %s comments on its cells, or more than %s MB of them: save the sheet as CSV.", mostRemarks, mostRemarked>>20)
	}
	r.rows[r.row] = append(r.rows[r.row], said)
	r.at[r.row] = append(r.at[r.row], r.column-1)
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
