package bringin

import (
	"bytes"
	"encoding/xml"
	"html"
	"path"
	"regexp"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/sheet"
)

// The parts of a workbook that say which part is which sheet.
const (
	bookPart    = "xl/workbook.xml"
	targetsPart = "xl/_rels/workbook.xml.rels"
)

// marks are what a sheet's part tells beside its values. They are looked for in its
// text, since excelize tells of them only once it holds the whole sheet in memory,
// which takes gigabytes for a long one.
type marks struct {
	// instead is what cells hold, by row, where their values do not say it: yes and
	// no, which are kept as 1 and 0, and formulas that have no value.
	instead map[int][]marked
	// unworked are the cells of formulas that have no value.
	unworked []string
	merged   []sheet.Span
	tall     []sheet.Tall
	// misplaced is the number of a row that does not come after those before it, and
	// would be left out; empty where there is none.
	misplaced string
}

type marked struct {
	column int
	text   string
}

// Prefixes of names stand for a namespace, and some programs write them.
var (
	yesOrNo  = regexp.MustCompile(`<(?:\w+:)?c(\s[^>]*\bt="b"[^>]*)>\s*(?:<(?:\w+:)?f(?:\s[^>]*)?(?:/>|>[^<]*</(?:\w+:)?f>))?\s*<(?:\w+:)?v>([01])<`)
	formulas = regexp.MustCompile(`<(?:\w+:)?c(\s[^>]*)>\s*<(?:\w+:)?f(?:\s[^>]*)?(?:/>|>([^<]*)</(?:\w+:)?f>)\s*(<(?:\w+:)?v\s*/>|<(?:\w+:)?v>\s*</(?:\w+:)?v>)?\s*</(?:\w+:)?c>`)
	merges   = regexp.MustCompile(`<(?:\w+:)?mergeCell\s[^>]*\bref="([A-Z]+[0-9]+):([A-Z]+[0-9]+)"`)
	place    = regexp.MustCompile(`\br="([A-Z]+[0-9]+)"`)
)

func marksOf(part []byte) *marks {
	m := &marks{instead: map[int][]marked{}, misplaced: misplaced(part)}
	if bytes.Contains(part, []byte(`t="b"`)) {
		for _, found := range yesOrNo.FindAllSubmatch(part, -1) {
			m.put(found[1], map[string]string{"1": "TRUE", "0": "FALSE"}[string(found[2])])
		}
	}
	if bytes.Contains(part, []byte("</f>")) || bytes.Contains(part, []byte(":f>")) || bytes.Contains(part, []byte("<f ")) {
		for _, found := range formulas.FindAllSubmatch(part, -1) {
			if workedOut := bytes.Contains(found[1], []byte(`t="str"`)) && found[3] != nil; workedOut {
				continue // to an empty text
			}
			if cell := m.put(found[1], "="+html.UnescapeString(string(found[2]))); cell != "" {
				m.unworked = append(m.unworked, cell)
			}
		}
	}
	if from := bytes.Index(part, []byte("mergeCell ")); from > 0 {
		for _, found := range merges.FindAllSubmatch(part[max(0, from-20):], -1) {
			m.merge(string(found[1]), string(found[2]))
		}
	}
	return m
}

// misplaced looks for a row that is out of order.
func misplaced(part []byte) string {
	last := 0
	for {
		at := bytes.Index(part, []byte("row "))
		if at < 0 {
			return ""
		}
		prefix := part[bytes.LastIndexByte(part[:at], '<')+1 : at]
		isRow := len(prefix) < at && (len(prefix) == 0 || bytes.IndexByte(prefix, ':') == len(prefix)-1) && !bytes.ContainsAny(prefix, " >/")
		part = part[at+len("row"):]
		end := bytes.IndexByte(part, '>')
		if !isRow || end < 0 {
			continue
		}
		_, number, numbered := bytes.Cut(part[:end], []byte(` r="`))
		number, _, _ = bytes.Cut(number, []byte{'"'})
		n, err := strconv.Atoi(string(number))
		switch {
		case !numbered:
			last++
		case err != nil || n <= last:
			return string(number)
		default:
			last = n
		}
	}
}

// put notes what a cell holds, and gives its name; none where the cell does not say
// where it stands.
func (m *marks) put(attributes []byte, text string) string {
	at := place.FindSubmatch(attributes)
	if at == nil {
		return ""
	}
	column, row, err := excelize.CellNameToCoordinates(string(at[1]))
	if err != nil {
		return ""
	}
	m.instead[row] = append(m.instead[row], marked{column - 1, text})
	return string(at[1])
}

func (m *marks) merge(from, to string) {
	first, top, err1 := excelize.CellNameToCoordinates(from)
	last, bottom, err2 := excelize.CellNameToCoordinates(to)
	if err1 != nil || err2 != nil {
		return
	}
	m.merged = append(m.merged, sheet.Span{Row: top, First: first - 1, Last: last - 1})
	if bottom > top {
		m.tall = append(m.tall, sheet.Tall{Column: first - 1, First: top, Last: bottom})
	}
}

// row gives a row's cells with what they hold instead.
func (m *marks) row(number int, cells []string) []string {
	if m == nil {
		return cells
	}
	for _, c := range m.instead[number] {
		for c.column >= len(cells) && c.column < mostColumns {
			cells = append(cells, "")
		}
		if c.column < len(cells) {
			cells[c.column] = c.text
		}
	}
	return cells
}

// tell puts the merged cells into a table, with what the first of each holds.
func (m *marks) tell(t *sheet.Table) error {
	if m == nil {
		return nil
	}
	t.Merged = m.merged
	tops := map[int][]int{}
	for i, tall := range m.tall {
		tops[tall.First] = append(tops[tall.First], i)
	}
	err := t.Rows(func(row int, cells []string) bool {
		for _, i := range tops[row] {
			if tall := &m.tall[i]; tall.Column < len(cells) {
				tall.Text = cells[tall.Column]
			}
		}
		return true
	})
	for _, tall := range m.tall {
		if tall.Text != "" {
			t.Tall = append(t.Tall, tall)
		}
	}
	return err
}

// byName gives the sheets' marks by their names. Where the workbook does not say
// which is which, excelize says that it cannot be read.
func byName(book, targets []byte, parts map[string]*marks) map[string]*marks {
	var sheets struct {
		Sheet []struct {
			Name string     `xml:"name,attr"`
			More []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
	}
	var files struct {
		Relationship []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		}
	}
	if xml.Unmarshal(book, &sheets) != nil || xml.Unmarshal(targets, &files) != nil {
		return nil
	}
	file := map[string]string{}
	for _, r := range files.Relationship {
		file[r.ID] = strings.TrimPrefix(path.Join("/xl", r.Target), "/")
		if strings.HasPrefix(r.Target, "/") {
			file[r.ID] = strings.TrimPrefix(path.Clean(r.Target), "/")
		}
	}
	out := map[string]*marks{}
	for _, s := range sheets.Sheet {
		for _, a := range s.More {
			if a.Name.Local == "id" && a.Name.Space != "" {
				out[s.Name] = parts[file[a.Value]]
			}
		}
	}
	return out
}
