package importing

import "slices"

// Sort is what sort of value a field holds.
type Sort string

// The sorts.
const (
	SortWord        Sort = "word"
	SortName        Sort = "name"
	SortDate        Sort = "date"
	SortTime        Sort = "time"
	SortCount       Sort = "count"
	SortFigure      Sort = "figure"
	SortMass        Sort = "mass"
	SortTemperature Sort = "temperature"
)

var sortOf = [...]Sort{
	words: SortWord, names: SortName, dates: SortDate, clocks: SortTime,
	counts: SortCount, figures: SortFigure, masses: SortMass, temperatures: SortTemperature,
}

// SortOf is what sort of value a field of a kind of table holds; empty where the table has no
// such field.
func SortOf(kind Kind, field Field) Sort {
	if info := infoOf(kind, field); info != nil {
		return sortOf[info.measure]
	}
	return ""
}

// CanBeFixed lists the fields for which one value may hold for all rows.
func CanBeFixed(kind Kind) []Field {
	return slices.DeleteFunc(FieldsOf(kind), func(f Field) bool { return f == FieldOwn || f == FieldCell })
}

// Says reports whether a column says a field, or several do, or a value holds for all rows.
func (m *Mapping) Says(f Field) bool {
	_, fixed := m.Fixed[f]
	return fixed || slices.ContainsFunc(m.Columns, func(c Column) bool { return c.Field == f })
}

// MendedBy lists the fields of which one value for all rows would mend a problem. A figure that
// was measured is each row's own.
func (p *Problem) MendedBy(m *Mapping) (out []Field) {
	if p.Code != MissingField {
		return nil
	}
	for _, any := range needed[m.Of] {
		if p.Row == 0 && any[0] == p.Field && !(m.IsWide() && p.Field == FieldSupers) { // no sheet has as many in each pull
			out = append(out, any...)
		}
	}
	switch {
	case p.Row > 0 && m.Of == Pulls && p.Field == FieldSupers:
		out = append(out, FieldSuperKind)
	case p.Row > 0 && m.Of == Runs && p.Field == FieldHoney:
		out = append(out, FieldTank)
	}
	return slices.DeleteFunc(out, func(f Field) bool { return m.Says(f) || f == FieldOwn || SortOf(m.Of, f) == SortFigure })
}
