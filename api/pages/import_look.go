package pages

import (
	"strings"

	"pullbook/api/pages/form"
	"pullbook/domain/importing"
)

// importFindingView is a kind of finding that the book would have more of.
type importFindingView struct {
	First []string
	// More is how many more of the kind there would be; empty where there are none.
	More string
}

func importFindings(m form.Maker, r *importing.Result) (out []importFindingView) {
	for _, f := range r.Findings {
		v := importFindingView{}
		for _, at := range f.First {
			said := at.Says.In(m)
			if at.Row > 0 {
				said = m.Say("row %s", at.Row) + ": " + said
			}
			v.First = append(v.First, said)
		}
		if more := f.Count - len(f.First); more > 0 {
			v.More = m.Count(more)
		}
		out = append(out, v)
	}
	return out
}

// importNotRead names the columns that are not read, with the first that each holds.
func importNotRead(m form.Maker, r *importing.Result) (out []string) {
	for _, n := range r.NotRead {
		said := m.Say("Column %s is not read.", strings.TrimSpace(n.Column+" "+n.Heading))
		if n.Sent == "" {
			said += " " + m.Say("Nothing stands in it.")
		} else {
			said += " " + m.Say("Its row %s says: %s", n.Row, n.Sent)
		}
		out = append(out, said)
	}
	return out
}
