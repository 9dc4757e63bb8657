package plans

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/message"
	"pullbook/domain/plan"
)

// errorColumn is what may be off in the stock's figures: of all stock alike, or of each by itself.
type errorColumn struct {
	parameter, key string
	sd             []float64
	// own is of each stock by itself: their squares add up.
	own bool
}

// errorColumns are those of a parameter: one for all that is off by itself, and one for each thing by
// which several are off alike.
func (w *blendBook) errorColumns(parameter string) []errorColumn {
	by, in := map[string][]float64{}, map[string]int{}
	var keys []string
	for i := range w.stock {
		for key, sd := range plan.ErrorsOnScale(parameter, w.stock[i].Figures[parameter]) {
			if by[key] == nil {
				by[key] = make([]float64, len(w.stock))
				keys = append(keys, key)
			}
			by[key][i] = sd
			in[key]++
		}
	}
	slices.Sort(keys)
	own := errorColumn{parameter: parameter, own: true, sd: make([]float64, len(w.stock))}
	var out []errorColumn
	for _, key := range keys {
		if in[key] > 1 {
			out = append(out, errorColumn{parameter: parameter, key: key, sd: by[key]})
			continue
		}
		for i, sd := range by[key] {
			own.sd[i] = math.Hypot(own.sd[i], sd)
		}
	}
	return append([]errorColumn{own}, out...)
}

// adds is by how much a column adds to the square of what the whole blend may be off by, and the
// formula for it.
func (w *blendBook) adds(c errorColumn, column string) (float64, string) {
	if c.own {
		sum := 0.0
		for i, sd := range c.sd {
			sum += math.Pow(w.mass(w.kg[i])*sd, 2)
		}
		return sum, fmt.Sprintf("SUMPRODUCT(%s*%s,%s*%s)", w.goes(), column, w.goes(), column)
	}
	sum := 0.0
	for i, sd := range c.sd {
		sum += w.mass(w.kg[i]) * sd
	}
	return sum * sum, fmt.Sprintf("SUMPRODUCT(%s,%s)^2", w.goes(), column)
}

// errorsSheet has, in the rows of the stock, by which each figure may be off; above each column is what it adds.
func (w *blendBook) errorsSheet() error {
	if _, err := w.NewSheet(w.sheets.errors); err != nil {
		return err
	}
	var columns []errorColumn
	sums := map[string][]string{}
	const addsRow, first = 3, 2
	for _, parameter := range w.parameters {
		for _, c := range w.errorColumns(parameter) {
			columns = append(columns, c)
			name, err := excelize.CoordinatesToCellName(first+len(columns)-1, addsRow, true)
			if err != nil {
				return err
			}
			sums[parameter] = append(sums[parameter], quotedSheet(w.sheets.errors)+"!"+name)
		}
	}
	for parameter, cells := range sums {
		w.offs[parameter] = "SQRT(" + strings.Join(spanOf(cells), "+") + ")"
	}
	stream, err := w.NewStreamWriter(w.sheets.errors)
	if err != nil {
		return err
	}
	if err := stream.SetColWidth(1, 1, 28); err != nil {
		return err
	}
	heads, keys, adds := []any{w.headed(w.Say("Standard deviations of the figures"))}, []any{w.headed(w.Say("off alike where they are one and the same"))}, []any{w.headed(w.Say("what it adds, squared"))}
	for i, c := range columns {
		heads = append(heads, w.headed(w.Say("%s", nameOf(c.parameter))))
		key := c.key
		if c.own {
			key = w.Say("each by itself")
		}
		keys = append(keys, w.headed(key))
		value, formula := w.adds(c, w.column(w.sheets.errors, first+i))
		adds = append(adds, excelize.Cell{StyleID: w.styles.fine, Value: value, Formula: formula})
	}
	for row, cells := range [][]any{heads, keys, adds} {
		if err := stream.SetRow(fmt.Sprintf("A%d", row+1), cells); err != nil {
			return err
		}
	}
	for i := range w.stock {
		row := []any{w.stock[i].Name}
		for _, c := range columns {
			var cell any
			if c.sd[i] > 0 {
				cell = excelize.Cell{StyleID: w.styles.fine, Value: c.sd[i]}
			}
			row = append(row, cell)
		}
		if err := stream.SetRow(fmt.Sprintf("A%d", w.firstStock()+i), row); err != nil {
			return err
		}
	}
	return stream.Flush()
}

// spanOf is cells side by side as one sum.
func spanOf(cells []string) []string {
	if len(cells) < 2 {
		return cells
	}
	_, last, _ := strings.Cut(cells[len(cells)-1], "!")
	return []string{"SUM(" + cells[0] + ":" + last + ")"}
}

// blendSheet is what people look at: the limits above, the stock below.
func (w *blendBook) blendSheet() error {
	stream, err := w.NewStreamWriter(w.sheets.blend)
	if err != nil {
		return err
	}
	for column, width := range []float64{30, 26, 14, 14, 14, 14, 14, 14} {
		if err := stream.SetColWidth(column+1, column+1, width); err != nil {
			return err
		}
	}
	if err := stream.SetRow(fmt.Sprintf("A%d", bookTitleRow), []any{excelize.Cell{StyleID: w.styles.title, Value: w.Say("A blend of %s", message.Kg(w.blend.Kg))}}); err != nil {
		return err
	}
	if err := stream.SetRow(fmt.Sprintf("A%d", bookHintRow), []any{w.Say("Type another mass under “goes in”: the figures above follow. It stands as of entry %s of the book, which it does not change.", w.Count(int(w.found.Through)))}); err != nil {
		return err
	}
	heads := []any{w.headed(w.Say("property")), w.headed(w.Say("rule set")), w.headed(w.Say("at least")), w.headed(w.Say("at most")), w.headed(w.Say("expected")), w.headed(w.Say("give or take")), w.headed(w.Say("kept with"))}
	for _, says := range []string{w.Say("at least, as it mixes"), w.Say("at most, as it mixes"), w.Say("expected, as it mixes"), w.Say("standard deviation, as it mixes")} {
		heads = append(heads, w.headed(says))
	}
	if err := stream.SetRow(fmt.Sprintf("A%d", bookHeadRow), heads); err != nil {
		return err
	}
	for i, m := range w.blend.Mixed {
		if err := stream.SetRow(fmt.Sprintf("A%d", bookFirstRow+i), w.limitRow(m, bookFirstRow+i)); err != nil {
			return err
		}
	}
	together := bookFirstRow + len(w.blend.Mixed)
	sum := excelize.Cell{StyleID: w.styles.mass, Value: w.mass(w.blend.Kg), Formula: "SUM(" + w.goes() + ")"}
	if err := stream.SetRow(fmt.Sprintf("A%d", together), []any{w.Say("Honey together, %s", w.Mass), nil, excelize.Cell{StyleID: w.styles.mass, Value: w.mass(w.found.Spec.LeastKg)}, excelize.Cell{StyleID: w.styles.mass, Value: w.mass(w.found.Spec.MostKg)}, sum}); err != nil {
		return err
	}
	if err := w.stockRows(stream); err != nil {
		return err
	}
	return stream.Flush()
}

// limitRow is a limit with what the blend has against it, reckoned. Behind it stand the ends, the
// mean and the standard deviation as they mix.
func (w *blendBook) limitRow(m plan.Mixed, row int) []any {
	parameter := m.Limit.Parameter
	total := "SUM(" + w.goes() + ")"
	at := func(column string) string { return fmt.Sprintf("%s%d", column, row) }
	low, high, mean, sd := at("H"), at("I"), at("J"), at("K")
	within := func(end, room string) string {
		return fmt.Sprintf(`IF(%s="",1,IF(%s=0,IF(%s>=-0.000000001,1,0),NORMSDIST((%s)/%s)))`, end, sd, room, room, sd)
	}
	known := func(formula string) string { return fmt.Sprintf(`IF(%s=0,"",%s)`, total, formula) }
	fine := func(v float64, formula string) excelize.Cell {
		return reckoned(w.styles.fine, v, formula)
	}
	end := func(v *float64, cell string) excelize.Cell {
		formula := fmt.Sprintf(`IF(%s="","",%s)`, cell, w.onScale(parameter, cell))
		if v == nil {
			return excelize.Cell{Value: "", Formula: formula}
		}
		return fine(plan.OnScale(parameter, *v), formula)
	}
	return []any{
		w.Say("%s, %s", nameOf(parameter), unitOf(parameter)), m.Limit.From.In(w.Voice), w.end(m.Limit.Low), w.end(m.Limit.High),
		excelize.Cell{StyleID: w.styles.figure, Value: m.Mean, Formula: known(w.fromScale(parameter, mean))},
		excelize.Cell{StyleID: w.styles.figure, Value: w.off(m), Formula: known("(" + w.fromScale(parameter, "("+mean+"+2*"+sd+")") + "-" + w.fromScale(parameter, "("+mean+"-2*"+sd+")") + ")/2")},
		excelize.Cell{StyleID: w.styles.percent, Value: w.kept(m), Formula: known("MAX(0," + within(high, high+"-"+mean) + "+" + within(low, mean+"-"+low) + "-1)")},
		end(m.Limit.Low, at("C")), end(m.Limit.High, at("D")),
		fine(plan.OnScale(parameter, m.Mean), known(fmt.Sprintf("SUMPRODUCT(%s,%s)/%s", w.goes(), w.figures[parameter], total))),
		fine(w.spread(parameter), known(w.offs[parameter]+"/"+total)),
	}
}

func (w *blendBook) end(v *float64) any {
	if v == nil {
		return nil
	}
	return excelize.Cell{StyleID: w.styles.figure, Value: *v}
}

// spread is the standard deviation of a blend's property as it mixes.
func (w *blendBook) spread(parameter string) float64 {
	square, total := 0.0, 0.0
	for _, c := range w.errorColumns(parameter) {
		adds, _ := w.adds(c, "")
		square += adds
	}
	for _, kg := range w.kg {
		total += w.mass(kg)
	}
	return math.Sqrt(square) / total
}

// off is twice the standard deviation, in the parameter's unit.
func (w *blendBook) off(m plan.Mixed) float64 {
	parameter := m.Limit.Parameter
	mean, sd := plan.OnScale(parameter, m.Mean), w.spread(parameter)
	low := mean - 2*sd
	if parameter == "colour_pfund" {
		low = max(0, low) // nothing is lighter than what absorbs no light
	}
	return (plan.FromScale(parameter, mean+2*sd) - plan.FromScale(parameter, low)) / 2
}

// kept is the probability of a limit as the formula has it.
func (w *blendBook) kept(m plan.Mixed) float64 {
	parameter := m.Limit.Parameter
	mean, sd, out := plan.OnScale(parameter, m.Mean), w.spread(parameter), 1.0
	within := func(room float64) float64 {
		if sd == 0 {
			return map[bool]float64{true: 1}[room >= -1e-9]
		}
		return distuv.UnitNormal.CDF(room / sd)
	}
	if m.Limit.High != nil {
		out += within(plan.OnScale(parameter, *m.Limit.High)-mean) - 1
	}
	if m.Limit.Low != nil {
		out += within(mean-plan.OnScale(parameter, *m.Limit.Low)) - 1
	}
	return max(0, out)
}

// stockRows are the containers and tanks with what goes in.
func (w *blendBook) stockRows(stream *excelize.StreamWriter) error {
	heads := []any{w.headed(w.Say("container or tank")), w.headed(w.Say("lot")), w.headed(w.Say("goes in, %s", w.Mass)), w.headed(w.Say("holds, %s", w.Mass))}
	for _, parameter := range w.parameters {
		heads = append(heads, w.headed(w.Say("%s, %s", nameOf(parameter), unitOf(parameter))))
		if parameter == "colour_pfund" {
			heads = append(heads, w.headed(w.Say("optical density")))
		}
	}
	if err := stream.SetRow(fmt.Sprintf("A%d", w.stockHeadRow()), heads); err != nil {
		return err
	}
	for i, s := range w.stock {
		at := w.firstStock() + i
		row := []any{s.Name, s.Source, excelize.Cell{StyleID: w.styles.mass, Value: w.mass(w.kg[i])}, excelize.Cell{StyleID: w.styles.mass, Value: w.mass(s.Kg)}}
		for _, parameter := range w.parameters {
			mean := s.Figures[parameter].Mean
			row = append(row, excelize.Cell{StyleID: w.styles.figure, Value: mean})
			if parameter == "colour_pfund" {
				cell, err := excelize.CoordinatesToCellName(len(row), at)
				if err != nil {
					return err
				}
				row = append(row, excelize.Cell{StyleID: w.styles.fine, Value: plan.OnScale(parameter, mean), Formula: w.onScale(parameter, cell)})
			}
		}
		if err := stream.SetRow(fmt.Sprintf("A%d", at), row); err != nil {
			return err
		}
	}
	return nil
}
