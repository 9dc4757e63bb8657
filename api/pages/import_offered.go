package pages

import (
	"encoding/json"
	"strconv"
	"strings"

	"pullbook/api/pages/form"
	"pullbook/domain/importing"
)

// offeredView is how the last sheet with the same headings came in.
type offeredView struct {
	// File and When are empty where it was only looked at, just before.
	File, When string
	Answers    []string
	// Mapping is the one that takes them over.
	Mapping string
}

func offered(m form.Maker, r *importing.Result) (*offeredView, error) {
	last := r.Offered
	if last == nil {
		return nil, nil
	}
	mapping, err := json.Marshal(last.TakenOver(r.Mapping))
	v := &offeredView{File: last.File, Mapping: string(mapping)}
	if last.Number > 0 {
		v.When = m.Minute(last.At)
	}
	for _, a := range last.Answers {
		v.Answers = append(v.Answers, offeredAnswer(m, a))
	}
	return v, err
}

// offeredAnswer puts one thing that a sheet was told into words.
func offeredAnswer(m form.Maker, a importing.Answer) string {
	switch {
	case a.Column != nil:
		return offeredColumn(m, a.Column)
	case a.Field != "":
		return m.Say("%s is %s in all rows.", columnLabel(m, a.Field), a.Value)
	case a.Choice.Is != "":
		return m.Say("%s is %s.", a.Name, a.Choice.Is)
	case a.Noun != "" && a.Name == "*":
		return m.Say("Names that the book does not know are set up: %s.", nounKind[a.Noun].Noun())
	case a.Noun != "":
		return m.Say("%s is set up as new: %s.", a.Name, nounKind[a.Noun].Noun())
	case a.Dates != "":
		return m.Say("Of the figures of a date comes %s.", m.Say("dates|"+strings.ReplaceAll(string(a.Dates), "_", " ")))
	case a.Year != 0:
		return m.Say("Dates without a year are of %s.", strconv.Itoa(a.Year))
	case a.Turned != "":
		return m.Say("Real dates among the texts") + ": " + m.Say("turned|"+strings.ReplaceAll(string(a.Turned), "_", " "))
	case a.Wide != nil:
		return offeredWide(m, a.Wide)
	case a.Totals:
		return m.Say("Leave out rows of totals")
	}
	return m.Say("Set up a season for each year that has none")
}

func offeredColumn(m form.Maker, c *importing.Column) string {
	name := strings.TrimSpace(c.Column + " " + c.Heading)
	if c.Field == "" {
		return m.Say("Column %s is not read.", name)
	}
	what := columnLabel(m, c.Field)
	if c.Of != "" {
		what += " " + c.Of
	}
	switch {
	case c.Unit != "" && c.Field == importing.FieldOwn:
		what += ", " + string(c.Unit)
	case c.Unit != "":
		what += ", " + m.Say("sheet unit|"+strings.ReplaceAll(string(c.Unit), "_", " "))
	}
	if c.DecimalMark != "" {
		what += ", " + m.Say("decimal mark") + ": " + m.Say("mark|"+string(c.DecimalMark))
	}
	return m.Say("Column %s is: %s.", name, what)
}

func columnLabel(m form.Maker, f importing.Field) string {
	return m.Say("column|" + f.Words())
}
