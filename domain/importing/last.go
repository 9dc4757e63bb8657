package importing

import (
	"encoding/json"
	"maps"
	"reflect"
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// Last is how the last sheet with the same headings was brought in. Its answers are
// offered for the next sheet and never used unasked: two loggers write the same headings,
// and stand in two tanks.
type Last struct {
	// File is what it was called, Number that of its import, and At when it came in. They
	// are empty where it was only looked at, just before.
	File   string
	Number int64
	At     time.Time
	// Mapping is the one that it came in by.
	Mapping Mapping
	// Answers are what it was told beside what the sheet at hand says of itself.
	Answers []Answer
	// Ask is true where nobody said yet whether they hold for this sheet too.
	Ask bool
	// same is true where it was this very sheet.
	same bool
}

// Answer is one thing that a sheet was told: one of the following.
type Answer struct {
	// Column is what a column was taken for.
	Column *Column
	// Field and Value hold for all rows.
	Field Field
	Value string
	// Noun and Name were said to be Choice.
	Noun   Noun
	Name   string
	Choice Choice
	// Dates, Year and Turned are those of the mapping.
	Dates  tables.Order
	Year   int
	Turned Turned
	// Wide is what was said of the cells of a wide sheet.
	Wide *Wide
	// Totals were left out, and Seasons set up.
	Totals, Seasons bool
}

// Sent is what was sent with a sheet.
type Sent struct {
	// Mapping says what its columns are, or holds answers alone; nil where nothing was said.
	Mapping *Mapping
	// Before is the mapping of a file that was looked at just before; nil where none was.
	Before *Mapping
	// SHA256 is the hexadecimal digest of the file; empty where it is not known.
	SHA256 string
}

// said is what was sent beside columns.
func (s Sent) said() Mapping {
	if s.Mapping == nil {
		return Mapping{}
	}
	return *s.Mapping
}

// Settle gives the mapping by which a sheet is read: what was sent, or a guess with the
// answers that were sent without columns. The same file brought in again without a word is
// read as it was. Another one with the same headings is so where as_last_time was sent.
// last is nil where nothing is to be offered.
func Settle(book *ledger.Book, t *tables.Table, kind Kind, sent Sent) (m Mapping, last *Last, err error) {
	given := sent.Mapping != nil && len(sent.Mapping.Columns) > 0
	if given {
		m = *sent.Mapping
		m.Of, m.Sheet = kind, t.Name
	} else if m, err = guessAs(book, t, kind, sent.said()); err != nil {
		return m, nil, err
	} else if sent.Mapping != nil {
		m.Answer(*sent.Mapping)
	}
	said := m.AsLastTime
	m.AsLastTime = nil
	if last = justBefore(m, sent.Before); last == nil {
		last = lastOf(book, m, sent.SHA256)
	}
	switch {
	case last == nil:
		return m, nil, nil
	case said != nil && *said, last.same && sent.Mapping == nil:
		out := last.TakenOver(m)
		if m.IsWide() && m.Wide.Cells == "" && out.IsWide() && !last.same {
			title, err := doubtfulTitle(t, &out)
			if title != "" { // what the cells of another sheet were, this one says otherwise
				out.Wide.Cells = ""
			}
			return out, nil, err
		}
		return out, nil, nil
	case said != nil:
		return m, nil, nil
	}
	last.Ask = !given
	if last.Answers = last.answers(m); last.Answers == nil {
		return m, nil, nil
	}
	return m, last, nil
}

// justBefore is the file that was looked at before; nil where it had other headings.
func justBefore(m Mapping, before *Mapping) *Last {
	if before == nil || before.Of != m.Of || len(before.Columns) != len(m.Columns) || Headings(before.Columns) != Headings(m.Columns) {
		return nil
	}
	return &Last{Mapping: *before}
}

// lastOf is how the last sheet with the same headings, or this very one, came in; nil
// where none did.
func lastOf(book *ledger.Book, m Mapping, sha256 string) *Last {
	i, e := lastSheet(book, m, sha256)
	if i == nil || m.HeadingRow == 0 {
		return nil
	}
	l := &Last{File: i.File, Number: e.Number, At: e.RecordedAt, same: isSame(i, m, sha256)}
	if json.Unmarshal(i.Mapping, &l.Mapping) != nil || len(l.Mapping.Columns) != len(m.Columns) {
		return nil
	}
	return l
}

// isSame reports whether an import was of this very sheet.
func isSame(i *ledger.Import, m Mapping, sha256 string) bool {
	return sha256 != "" && i.SHA256 == sha256 && i.Sheet == m.Sheet
}

// lastSheet is the last import of a table with the same headings that stands, or that of
// this very file.
func lastSheet(book *ledger.Book, m Mapping, sha256 string) (last *ledger.Import, entry *ledger.Entry) {
	headings := Headings(m.Columns)
	same := false
	book.InForceOf(ledger.KindImport, func(_ ledger.ID, e *ledger.Entry) bool {
		i := e.Body.(*ledger.Import)
		if i.Of != string(m.Of) || i.Headings != headings {
			return true
		}
		if is := isSame(i, m, sha256); is || !same {
			last, entry, same = i, e, same || is
		}
		return true
	})
	return last, entry
}

// TakenOver is a mapping with all that the last sheet was told; what its rows are is each
// sheet's own.
func (l *Last) TakenOver(m Mapping) Mapping {
	out := l.Mapping
	out.Sheet, out.HeadingRow = m.Sheet, m.HeadingRow
	if !l.same {
		if l.Number != 0 { // of a sheet before; files that are looked at together are of one year
			out.Year = m.Year
			if out.Fixed[FieldDate] != m.Fixed[FieldDate] {
				out.Fixed = maps.Clone(out.Fixed)
				delete(out.Fixed, FieldDate)
				if day := m.Fixed[FieldDate]; day != "" {
					out.Fixed[FieldDate] = day
				}
			}
		}
		out.LeaveOutRows, out.TakenOut, out.Alike, out.Twice, out.Rows, out.Cells = m.LeaveOutRows, m.TakenOut, m.Alike, m.Twice, m.Rows, m.Cells
	}
	if out.Wide != nil {
		out.Wide = out.Wide.inRowOf(m.Wide)
	}
	out.Columns = slices.Clone(out.Columns)
	for i := range out.Columns {
		out.Columns[i].From = "kept"
	}
	return out
}

func (l *Last) answers(m Mapping) (out []Answer) {
	for i, c := range l.Mapping.Columns {
		now := m.Columns[i]
		c.From, now.From = "", ""
		if c.Heading = now.Heading; c != now {
			out = append(out, Answer{Column: &c})
		}
	}
	was := l.Mapping
	if was.Dates != "" && was.Dates != m.Dates {
		out = append(out, Answer{Dates: was.Dates})
	}
	if was.Year != 0 && was.Year != m.Year && (l.Number == 0 || l.same) {
		out = append(out, Answer{Year: was.Year})
	}
	if was.Turned != "" && was.Turned != m.Turned {
		out = append(out, Answer{Turned: was.Turned})
	}
	if was.Wide != nil && !reflect.DeepEqual(was.Wide.inRowOf(m.Wide), m.Wide) {
		out = append(out, Answer{Wide: was.Wide})
	}
	for _, field := range slices.Sorted(maps.Keys(was.Fixed)) {
		if m.Fixed[field] != was.Fixed[field] && (field != FieldDate || l.Number == 0 || l.same) {
			out = append(out, Answer{Field: field, Value: was.Fixed[field]})
		}
	}
	for _, noun := range slices.Sorted(maps.Keys(was.Names)) {
		for _, name := range slices.Sorted(maps.Keys(was.Names[noun])) {
			if choice, said := m.Names[noun][name]; !said || !reflect.DeepEqual(choice, was.Names[noun][name]) {
				out = append(out, Answer{Noun: noun, Name: name, Choice: was.Names[noun][name]})
			}
		}
	}
	if was.LeaveOutTotals && !m.LeaveOutTotals {
		out = append(out, Answer{Totals: true})
	}
	if was.MakeSeasons && !m.MakeSeasons {
		out = append(out, Answer{Seasons: true})
	}
	return out
}

// askAsLastTime asks whether the last sheet's answers hold for this one.
func (k *taking) askAsLastTime() {
	if k.Last == nil || !k.Last.Ask {
		return
	}
	if k.Last.Number == 0 {
		k.add(Problem{Code: AsLastTime, Message: message.F("The file that you looked at before has the same headings, and was told %s of its own. Look at them, and say whether they hold for this file too.", message.Plural{N: float64(len(k.Last.Answers)), One: "%s thing", Other: "%s things"})})
		return
	}
	k.add(Problem{Code: AsLastTime, Message: message.F("The last sheet with these headings, %s, came in with %s of its own. Look at them, and say whether they hold for this sheet too%s.",
		message.Quoted(k.Last.File), message.Plural{N: float64(len(k.Last.Answers)), One: "%s answer", Other: "%s answers"}, message.Option("as_last_time: true or false"))})
}
