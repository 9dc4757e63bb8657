package pages

import (
	"net/url"
	"slices"
	"strconv"
	"strings"

	"pullbook/api/pages/form"
	"pullbook/domain/importing"
)

// importWideView is how a wide sheet is read, and what is asked of it.
type importWideView struct {
	// Is is true where the sheet is taken for a wide one.
	Is bool
	// Says is how it is laid out, and Parts what its cells come to; empty where that is not known.
	Says, Parts, Zeros          string
	Across, Cells, Units, Marks []form.Option
	// MonthDay asks for the day that stands for a month alone, where it matters.
	MonthDay *string
}

// importWide says how a wide sheet is read; nil where the kind of table is never wide.
func importWide(m form.Maker, r *importing.Result) *importWideView {
	fields := importing.AcrossOf(r.Mapping.Of)
	if fields == nil {
		return nil
	}
	w := r.Mapping.Wide
	if w == nil {
		w = &importing.Wide{Across: importing.Nothing}
	}
	v := &importWideView{Is: w.Across != importing.Nothing}
	for _, f := range append(slices.Clone(fields), importing.Nothing) {
		v.Across = append(v.Across, form.Option{Value: string(f), Label: acrossLabel(m, f), Chosen: f == w.Across})
	}
	if !v.Is {
		return v
	}
	if down := importDown(r.Mapping); w.Across != "" && down != "" {
		v.Says = m.Say("The sheet is wide: %s across, %s down. Each filled cell becomes an entry, and an empty one nothing.", acrossLabel(m, w.Across), acrossLabel(m, down))
	}
	if r.Cells > 0 {
		v.Parts = m.Say("Filled cells that were read: %s.", m.Count(int(r.Cells)))
		if kind := importing.EntryOf(r.Mapping.Of); r.Entries[kind] > 0 {
			v.Parts += " " + m.Say("Entries that come of them: %s.", m.Count(int(r.Entries[kind])))
		}
	}
	if r.Zeros > 0 {
		v.Zeros = m.Say("Cells that say 0 are no pull, and were left out: %s.", m.Count(int(r.Zeros)))
	}
	if slices.ContainsFunc(r.Mapping.Columns, func(c importing.Column) bool { return c.Field == importing.FieldCell }) {
		importCells(v, m, r)
	}
	asksMonths := slices.ContainsFunc(r.Problems, func(p *importing.Problem) bool { return p.Code == importing.NoDate && p.OfHeadings })
	if w.Across == importing.FieldDate && (w.MonthDay > 0 || asksMonths) {
		day := ""
		if w.MonthDay > 0 {
			day = strconv.Itoa(w.MonthDay)
		}
		v.MonthDay = &day
	}
	return v
}

// importCells asks what the cells are, in which unit and with which decimal mark.
func importCells(v *importWideView, m form.Maker, r *importing.Result) {
	w := r.Mapping.Wide
	for _, f := range importing.CellsOf(r.Mapping.Of) {
		label := columnLabel(m, f)
		if f == w.Cells && w.Of != "" {
			label += ": " + w.Of
		}
		v.Cells = append(v.Cells, form.Option{Value: string(f), Label: label, Chosen: f == w.Cells})
	}
	for _, u := range importing.UnitsOf(w.Cells) {
		v.Units = append(v.Units, form.Option{Value: string(u), Label: m.Say("sheet unit|" + strings.ReplaceAll(string(u), "_", " ")), Chosen: u == w.Unit})
	}
	if importing.HasFigures(w.Cells) {
		v.Marks = options(m, "mark|", w.DecimalMark, importing.Point, importing.Comma)
	}
}

// importDown is what stands down a wide sheet: the names or the days that hold for a row.
func importDown(m importing.Mapping) importing.Field {
	for _, c := range m.Columns {
		if slices.Contains(importing.AcrossOf(m.Of), c.Field) {
			return c.Field
		}
	}
	return ""
}

// acrossLabels are what may run across, in the plural.
var acrossLabels = map[importing.Field]string{
	importing.FieldYard: "yards", importing.FieldDate: "days", importing.FieldTank: "tanks", importing.FieldRoom: "rooms",
	importing.FieldLot: "lots", importing.FieldContainer: "containers", importing.Nothing: "nothing: each row is one thing",
}

func acrossLabel(m form.Maker, f importing.Field) string { return m.Say("across|" + acrossLabels[f]) }

// chooseWide takes what was said of a wide sheet. Where something else is said to run across,
// the columns are guessed anew.
func chooseWide(m *importing.Mapping, typed url.Values) {
	if !typed.Has("across") {
		return
	}
	said, had := importing.Field(typed.Get("across")), importing.Nothing
	if m.Wide != nil {
		had = m.Wide.Across
	}
	if said != had {
		m.Columns, m.Wide = nil, &importing.Wide{Across: said}
		return
	}
	w := m.Wide
	if w == nil {
		return
	}
	if cells := importing.Field(typed.Get("cells")); typed.Has("cells") && cells != w.Cells {
		w.Cells, w.Of, w.Unit, w.DecimalMark = cells, "", "", ""
	} else if typed.Has("cells") {
		w.Unit, w.DecimalMark = importing.Unit(typed.Get("cell unit")), importing.DecimalMark(typed.Get("cell mark"))
	}
	if typed.Has("month day") {
		const lastDay = 31
		if w.MonthDay, _ = strconv.Atoi(strings.TrimSpace(typed.Get("month day"))); w.MonthDay < 1 || w.MonthDay > lastDay {
			w.MonthDay = 0 // and months are asked about again
		}
	}
}

// chooseCells takes the answers about single cells.
func chooseCells(m *importing.Mapping, typed url.Values) {
	for key := range typed {
		cell, is := strings.CutPrefix(key, "cell ")
		if !is || cell == "unit" || cell == "mark" {
			continue
		}
		if m.Cells == nil {
			m.Cells = map[string]importing.Alike{}
		}
		if m.Cells[cell] = importing.Alike(typed.Get(key)); m.Cells[cell] == "" {
			delete(m.Cells, cell)
		}
	}
}

// offeredWide puts into words what the last sheet was told of being wide.
func offeredWide(m form.Maker, w *importing.Wide) string {
	if w.Across == importing.Nothing || w.Across == "" {
		return m.Say("Nothing runs across.")
	}
	if w.Cells == "" {
		return m.Say("What runs across: %s.", acrossLabel(m, w.Across))
	}
	return m.Say("What runs across: %s. The cells are: %s.", acrossLabel(m, w.Across), strings.TrimSpace(columnLabel(m, w.Cells)+" "+w.Of+" "+string(w.Unit)))
}
