package plans

import (
	"fmt"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/plan/yards"
)

// yardsRound is what one round comes to: levels and means of the seasons' shares, sums of what is told apart, and by
// yard the deviations and the effect at the ratio of variances that fits best.
type yardsRound struct{ levels, means, apart, off, effects []float64 }

// yardsRounds is how often levels of seasons and effects of yards are worked out in turn.
const (
	yardsRounds = 6
	lastRound   = yardsRounds - 1
)

// reckonAll works out what the formulas come to.
func (w *yardsBook) reckonAll() {
	if w.linear == nil {
		return
	}
	var before []float64
	for range yardsRounds {
		r := w.reckon(before)
		w.rounds, before = append(w.rounds, r), r.effects
	}
	w.shares = timesEach(w.linear.Weighed, w.rounds[lastRound].off)
}

func (w *yardsBook) reckon(effects []float64) (r yardsRound) {
	x, m := w.linear, w.seasons()
	kg, weights, shares := make([]float64, m), make([]float64, m), make([]float64, m)
	for i, o := range w.plan.Observations {
		kg[o.Season] += x.Weight[i] * o.Kg
		weights[o.Season] += x.Weight[i]
		if effects == nil {
			shares[o.Season] += x.Weight[i]
		} else {
			shares[o.Season] += x.Weight[i] * (1 + effects[o.Yard] + x.Beside[i])
		}
	}
	for s := range m {
		r.levels = append(r.levels, kg[s]/shares[s])
		r.means = append(r.means, kg[s]/weights[s]/r.levels[s])
	}
	r.apart, r.off = make([]float64, len(x.Apart)), make([]float64, w.n())
	for i, o := range w.plan.Observations {
		share := o.Kg / r.levels[o.Season]
		r.off[o.Yard] += x.Weight[i] * (share - r.means[o.Season])
		for k := range r.apart {
			r.apart[k] += x.Weight[i] * x.Apart[k][i] * share
		}
	}
	for y := range r.off {
		for k, v := range r.apart {
			r.off[y] -= x.Counts[y][k] * v
		}
	}
	r.effects = timesEach(x.Fitted, r.off)
	return r
}

func timesEach(m [][]float64, v []float64) []float64 {
	out := make([]float64, len(v))
	for i := range m {
		for j, x := range v {
			out[i] += m[i][j] * x
		}
	}
	return out
}

func meanOf(v []float64) (out float64) {
	for _, x := range v {
		out += x / float64(len(v))
	}
	return out
}

// ordinary is what the average yard gives in the average of the seasons, in kg.
func (w *yardsBook) ordinary() float64 { return meanOf(w.rounds[lastRound].levels) }

// The second sheet has blocks of a row for each yard and a column for each season: the hives, the weights, each thing that is told
// apart, and what all of these are expected to change. Below them are the rounds.
const (
	howFirstRow  = 4
	unitsBlock   = 0
	weightsBlock = 1
	apartBlock   = 2
	// Rows of a round, from its head.
	roundLevel, roundMean, roundApart, roundYards = 1, 2, 3, 5
	// Columns of the yards' rows in a round.
	offColumn, effectColumn, shareColumn = 2, 3, 4
)

// block is the first row of a block, below its head.
func (w *yardsBook) block(i int) int { return howFirstRow + i*(w.n()+2) + 1 }

// besideBlock is the block of what all that is told apart is expected to change.
func (w *yardsBook) besideBlock() int { return apartBlock + len(w.linear.Apart) }

func (w *yardsBook) blocks() int {
	if len(w.linear.Apart) == 0 {
		return apartBlock
	}
	return w.besideBlock() + 1
}

// round is the head's row of a round.
func (w *yardsBook) round(t int) int {
	return w.block(w.blocks()) - 1 + t*(w.n()+roundYards+1)
}

// in is a season's column of a block, of a yard's row of it.
func (w *yardsBook) in(block, s int) string { return w.down(w.names.how, 2+s, w.block(block)) }
func (w *yardsBook) of(block, y int) string { return w.along(w.names.how, w.block(block)+y) }

// whole is all of a block, or of the honey in the first sheet.
func (w *yardsBook) whole(sheet string, first int) string {
	return fmt.Sprintf("%s!$B$%d:$%s$%d", quotedSheet(sheet), first, columnName(1+w.seasons()), first+w.n()-1)
}

func (w *yardsBook) howRows() [][]any {
	rows := [][]any{
		{excelize.Cell{StyleID: w.styles.title, Value: w.names.how}},
		{excelize.Cell{StyleID: w.styles.text, Value: w.Say("A yard's honey counts as a share of what its season gave the average yard. What it is off its seasons' means is added up, weighed by its hives, and counts for it and for the others by the third sheet. What the average yard gave in a season is what its yards gave, less what those yards are better; so both are worked out in turn.")}},
		nil,
	}
	rows = append(rows, w.blockRows(w.perWord(), func(_, _, i int) any {
		return excelize.Cell{Value: w.plan.Observations[i].Units}
	})...)
	if w.linear == nil {
		return rows
	}
	rows = append(rows, w.blockRows(w.Say("weights"), nil)...)
	for k := range w.linear.Apart {
		rows = append(rows, w.blockRows(w.plan.Adjusted[k].Said.In(w.Voice), func(_, _, i int) any {
			return excelize.Cell{StyleID: w.styles.fine, Value: w.linear.Apart[k][i]}
		})...)
	}
	if len(w.linear.Apart) > 0 {
		rows = append(rows, w.blockRows(w.Say("what these change together, as a share"), func(_, _, i int) any {
			return excelize.Cell{StyleID: w.styles.fine, Value: w.linear.Beside[i]}
		})...)
	}
	for t := range w.rounds {
		rows = append(rows, w.roundRows(t)...)
	}
	return rows
}

// blockRows are a block with its head and an empty row behind it; the weights where cell is nil, which are nothing of what
// was not seen.
func (w *yardsBook) blockRows(title string, cell func(y, s, i int) any) [][]any {
	head := []any{w.headed(title)}
	for _, s := range w.plan.Seasons {
		head = append(head, w.headed(s.Name))
	}
	rows := [][]any{head}
	for y := range w.n() {
		row := []any{w.plan.Yards[y].Name}
		for s := range w.seasons() {
			i, seen := w.seen[[2]int{y, s}]
			switch {
			case cell == nil:
				row = append(row, w.weight(y, s, i, seen))
			case seen:
				row = append(row, cell(y, s, i))
			default:
				row = append(row, nil)
			}
		}
		rows = append(rows, row)
	}
	return append(rows, nil)
}

func (w *yardsBook) weight(y, s, i int, seen bool) excelize.Cell {
	units := w.cell(w.names.how, 2+s, w.block(unitsBlock)+y)
	formula := fmt.Sprintf(`IF(%s="",0,1)`, units)
	if w.plan.Per == yards.PerHive {
		formula = fmt.Sprintf(`IF(%s="",0,%s/(%s+%d))`, units, units, units, yards.HivesThatCountHalf)
	}
	if !seen {
		return reckoned(w.styles.fine, 0, formula)
	}
	return reckoned(w.styles.fine, w.linear.Weight[i], formula)
}

// roundRows are one round: levels, means, what is told apart, and the yards.
func (w *yardsBook) roundRows(t int) [][]any {
	r, head := &w.rounds[t], w.round(t)
	levels, means := []any{w.Say("the average yard, %s", w.Mass)}, []any{w.Say("mean of the shares")}
	for s := range w.seasons() {
		levels = append(levels, reckoned(w.styles.fine, w.mass(r.levels[s]), w.levelFormula(t, s)))
		means = append(means, reckoned(w.styles.fine, r.means[s], fmt.Sprintf("SUMPRODUCT(%s,%s)/SUM(%s)/%s", w.in(weightsBlock, s), w.kgIn(s), w.in(weightsBlock, s), w.cell(w.names.how, 2+s, head+roundLevel))))
	}
	level := w.along(w.names.how, head+roundLevel)
	var apart []any
	if len(r.apart) > 0 {
		apart = []any{w.Say("told apart")}
	}
	for k, v := range r.apart {
		apart = append(apart, reckoned(w.styles.fine, v, fmt.Sprintf("SUMPRODUCT(%s*%s*%s/%s)", w.whole(w.names.how, w.block(weightsBlock)), w.whole(w.names.how, w.block(apartBlock+k)), w.whole(w.names.yards, w.yardRow(0)), level)))
	}
	title := []any{w.headed(w.Say("round %s", t+1))}
	for _, s := range w.plan.Seasons {
		title = append(title, w.headed(s.Name))
	}
	under := []any{w.headed(w.Say("yard")), w.headed(w.Say("off its seasons")), w.headed(w.Say("effect, as a share"))}
	if t == lastRound {
		under = append(under, w.headed(w.Say("effect of all ratios")))
	}
	rows := [][]any{title, levels, means, apart, under}
	for y := range w.n() {
		rows = append(rows, w.roundYard(t, y, level))
	}
	return append(rows, nil)
}

// levelFormula is what the average yard gave in a season: what its yards gave, by what they give beside it.
func (w *yardsBook) levelFormula(t, s int) string {
	weights := w.in(weightsBlock, s)
	if t == 0 {
		return fmt.Sprintf("SUMPRODUCT(%s,%s)/SUM(%s)", weights, w.kgIn(s), weights)
	}
	share := "1+" + w.down(w.names.how, effectColumn, w.round(t-1)+roundYards)
	if len(w.linear.Apart) > 0 {
		share += "+" + w.in(w.besideBlock(), s)
	}
	return fmt.Sprintf("SUMPRODUCT(%s,%s)/SUMPRODUCT(%s*(%s))", weights, w.kgIn(s), weights, share)
}

func (w *yardsBook) roundYard(t, y int, level string) []any {
	r, first := &w.rounds[t], w.round(t)+roundYards
	off := fmt.Sprintf("SUMPRODUCT(%s*(%s/%s-%s))", w.of(weightsBlock, y), w.kgOf(y), level, w.along(w.names.how, w.round(t)+roundMean))
	for k := range r.apart {
		off += fmt.Sprintf("-%s*%s", w.cell(w.names.counts, 2+k, w.counts(2)+y), w.cell(w.names.how, 2+k, w.round(t)+roundApart))
	}
	q := w.down(w.names.how, offColumn, first)
	out := []any{
		w.plan.Yards[y].Name, reckoned(w.styles.fine, r.off[y], off),
		reckoned(w.styles.fine, r.effects[y], fmt.Sprintf("SUMPRODUCT(%s,%s)", w.down(w.names.counts, 2+y, w.counts(0)), q)),
	}
	if t == lastRound {
		out = append(out, reckoned(w.styles.fine, w.shares[y], fmt.Sprintf("SUMPRODUCT(%s,%s)", w.down(w.names.counts, 2+y, w.counts(1)), q)))
	}
	return out
}

// counts is the first row of a block of the third sheet: what deviations count at the ratio that fits best, of all
// ratios, and what is told apart takes off them.
func (w *yardsBook) counts(i int) int { return howFirstRow + i*(w.n()+2) + 1 }

func (w *yardsBook) countRows() [][]any {
	rows := [][]any{
		{excelize.Cell{StyleID: w.styles.title, Value: w.names.counts}},
		{excelize.Cell{StyleID: w.styles.text, Value: w.Say("How much of what each yard is off counts for the yard at the head of a column. It comes from how much yards and seasons differ, as it was reckoned from the book.")}},
		nil,
	}
	block := func(title string, heads []string, v [][]float64) {
		head := []any{w.headed(title)}
		for _, name := range heads {
			head = append(head, w.headed(name))
		}
		rows = append(rows, head)
		for y, of := range v {
			row := []any{w.plan.Yards[y].Name}
			for _, x := range of {
				row = append(row, excelize.Cell{StyleID: w.styles.fine, Value: x})
			}
			rows = append(rows, row)
		}
		rows = append(rows, nil)
	}
	var names, apart []string
	for _, y := range w.plan.Yards {
		names = append(names, y.Name)
	}
	for _, a := range w.plan.Adjusted {
		apart = append(apart, a.Said.In(w.Voice))
	}
	block(w.Say("for the levels of the seasons"), names, w.linear.Fitted)
	block(w.Say("for the effects"), names, w.linear.Weighed)
	if len(w.linear.Counts) > 0 {
		block(w.Say("taken off by what is told apart"), apart, w.linear.Counts)
	}
	return rows
}

// perWord is what honey is divided by.
func (w *yardsBook) perWord() string {
	if w.plan.Per == yards.PerSuper {
		return w.Say("supers")
	}
	return w.Say("hives")
}
