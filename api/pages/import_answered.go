package pages

import (
	"maps"
	"slices"
	"strconv"

	"pullbook/api/pages/form"
	"pullbook/domain/importing"
)

// answeredView is a row, or a cell of a wide sheet, of which was said what it is.
type answeredView struct {
	Name, Label string
	Options     []form.Option
}

// alikeWords are what a row can be that is like an entry of the book or like another row.
var alikeWords = map[importing.Alike]string{
	importing.Corrects: "a correction", importing.Another: "another one", importing.LeftAside: "not brought in",
}

func alikeOptions(m form.Maker, chosen importing.Alike, all ...importing.Alike) (out []form.Option) {
	for _, a := range all {
		out = append(out, form.Option{Value: string(a), Label: m.Say("alike|" + alikeWords[a]), Chosen: a == chosen})
	}
	return out
}

// nameOptions are what can be said of a sheet's name that is asked about.
func nameOptions(m form.Maker, chosen importing.Alike) []form.Option {
	return []form.Option{{Value: string(importing.LeftAside), Label: m.Say("it says nothing of the rows"), Chosen: chosen == importing.LeftAside}}
}

// askAnswered lists what was said of single rows and cells, but for those that are asked about
// again, so that it can be said otherwise.
func askAnswered(v *importAnswerView, m form.Maker, r *importing.Result) {
	asked := map[string]bool{}
	for _, p := range v.Problems {
		if len(p.Answers) > 0 && p.Cell != "" {
			asked["cell "+p.Cell] = true
		} else if len(p.Answers) > 0 {
			asked["row "+strconv.Itoa(p.Row)] = true
		}
	}
	add := func(name, label string, said importing.Alike) {
		if !asked[name] && len(v.Answered) < shownLeftOut {
			v.Answered = append(v.Answered, answeredView{name, label, alikeOptions(m, said, canBe(r, said)...)})
		}
	}
	for _, row := range slices.Sorted(maps.Keys(r.Mapping.Rows)) {
		if row == 0 {
			v.Answered = append(v.Answered, answeredView{"row 0", m.Say("the sheet's name"), nameOptions(m, r.Mapping.Rows[row])})
			continue
		}
		add("row "+strconv.Itoa(row), m.Say("row %s", row), r.Mapping.Rows[row])
	}
	for _, cell := range slices.Sorted(maps.Keys(r.Mapping.Cells)) {
		add("cell "+cell, m.Say("cell %s", cell), r.Mapping.Cells[cell])
	}
}

// canBe are the answers that a row can have: a container's number is no other one's.
func canBe(r *importing.Result, said importing.Alike) []importing.Alike {
	if r.Mapping.Of == importing.Containers && said != importing.Another {
		return []importing.Alike{importing.Corrects, importing.LeftAside}
	}
	return []importing.Alike{importing.Corrects, importing.Another, importing.LeftAside}
}
