package pages

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"pullbook/api/pages/form"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// importRowView is a row as it would stand in the book, and what is in question about it.
type importRowView struct {
	Row      string
	Says     []string
	Typed    string
	Problems []string
	LeftOut  bool
}

func importRows(m form.Maker, r *importing.Result) (out []importRowView) {
	for _, s := range r.Shown {
		v := importRowView{Row: m.Count(s.Row), LeftOut: s.LeftOut}
		for _, x := range s.Says {
			v.Says = append(v.Says, saidOfRow(m, x))
		}
		var cells []string
		for _, c := range s.Cells {
			cells = append(cells, strings.TrimSpace(c.Column+" "+c.Heading)+": "+c.Sent)
		}
		v.Typed = strings.Join(cells, " · ")
		for _, p := range s.Problems {
			v.Problems = append(v.Problems, p.Message.In(m))
		}
		switch {
		case len(s.Says) > 0 || len(s.Problems) > 0 || s.LeftOut || s.Unread:
		case s.Had:
			v.Says = []string{m.Say("The book has it already.")}
		default:
			v.Says = []string{m.Say("What it comes to is known once the rest is put right.")}
		}
		out = append(out, v)
	}
	return out
}

// saidOfRow is one entry in words: its kind, when it was, and what it says.
func saidOfRow(m form.Maker, x importing.Said) string {
	when := m.Day(x.At)
	if x.ToTheMinute {
		when = m.Minute(x.At)
	}
	parts := []string{x.Kind.Noun().In(m)}
	if !x.Kind.SetUp() {
		parts = append(parts, when)
	}
	parts = append(parts, m.SayEach(x.Parts)...)
	switch said := strings.Join(parts, " · "); {
	case x.Had:
		return m.Say("%s (the book has it already)", said)
	case x.Entry != nil && x.Entry.Replaces != (ledger.ID{}):
		return m.Say("%s (it corrects the book's)", said)
	default:
		return said
	}
}

// The names of the inputs that leave a row out, and that say that the page listed it as left out.
const (
	leaveOutInput = "leave-out "
	leftOutInput  = "left-out "
)

// mostLeftOut is how many rows a mapping leaves out by their numbers, and shownLeftOut how many
// of them the page lists.
const (
	mostLeftOut  = 100_000
	shownLeftOut = 200
)

// chooseLeftOut takes which rows are left out: those ticked, and those of the mapping that the
// page did not list.
func chooseLeftOut(m *importing.Mapping, typed url.Values) {
	listed, ticked := rowsNamed(typed, leftOutInput), rowsNamed(typed, leaveOutInput)
	m.LeaveOutRows = slices.DeleteFunc(m.LeaveOutRows, func(row int) bool { return listed[row] })
	for row := range ticked {
		m.LeaveOutRows = append(m.LeaveOutRows, row)
	}
	slices.Sort(m.LeaveOutRows)
	m.LeaveOutRows = slices.Compact(m.LeaveOutRows)
	m.LeaveOutRows = m.LeaveOutRows[:min(len(m.LeaveOutRows), mostLeftOut)]
}

func rowsNamed(typed url.Values, input string) map[int]bool {
	out := map[int]bool{}
	for key := range typed {
		number, is := strings.CutPrefix(key, input)
		if row, err := strconv.Atoi(number); is && err == nil && row > 0 {
			out[row] = true
		}
	}
	return out
}

// askLeftOut lists the rows that are left out by their numbers, and offers to leave out those
// that have a problem, once each.
func askLeftOut(v *importAnswerView, m form.Maker, r *importing.Result) {
	rows := r.Mapping.LeaveOutRows
	v.LeftOutRows = rows[:min(len(rows), shownLeftOut)]
	if more := len(rows) - len(v.LeftOutRows); more > 0 {
		v.MoreLeftOut = m.Say("and %s", message.Plural{N: float64(more), One: "%s more row", Other: "%s more rows"})
	}
	offered := map[int]bool{}
	for i, p := range r.Problems[:min(len(r.Problems), shownProblems)] {
		if p.Row > 0 && !hasHeadings(r.Mapping, p.Row) && !p.OfHeadings && !offered[p.Row] {
			offered[p.Row], v.Problems[i].LeaveOut = true, p.Row
		}
	}
}

// hasHeadings reports whether a row has the headings, or what runs across: without it nothing is read.
func hasHeadings(m importing.Mapping, row int) bool {
	return row == m.HeadingRow || m.Wide != nil && row == m.Wide.Row
}
