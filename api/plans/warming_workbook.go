package plans

import (
	"fmt"
	"math"
	"time"

	"github.com/xuri/excelize/v2"

	"pullbook/api/locale"
	"pullbook/domain/heat"
	"pullbook/domain/message"
	"pullbook/domain/plan/warm"
)

// WarmingWorkbook is a way to warm as a workbook that reckons: whoever types another set point of a tank, another loss or
// another price sees what the honey would come to. kWhPrice is 0 where none is known.
func WarmingWorkbook(v locale.Voice, asked *warm.Asked, way *warm.Way, kWhPrice float64) (*excelize.File, error) {
	return newBook(v, func(b *book) error {
		w := &warmBook{book: b, asked: asked, way: way, sets: way.Sets(), takes: asked.Spec.Takes(), at: map[string]string{}, value: map[string]float64{}}
		w.names.warming, w.names.hours = w.Say("Warming"), w.Say("By the hour")
		w.given(kWhPrice)
		follow := w.containers
		if t, is := asked.Spec.Vessel.(warm.Tank); is {
			w.givenOfTank(t)
			follow = w.tank
		}
		hours, err := follow()
		if err != nil {
			return err
		}
		if err := w.sheet(w.names.warming, []float64{60, 14, 14, 14, 14, 14}, w.first()); err != nil {
			return err
		}
		return w.sheet(w.names.hours, nil, hours)
	})
}

// warmBook is what is written of a warming.
type warmBook struct {
	*book
	asked *warm.Asked
	way   *warm.Way
	sets  []int
	takes []warm.Take
	names struct{ warming, hours string }
	// figures are what the way rests on, in rows of the first sheet; at is where one stands, value what it is.
	figures []warmFigure
	at      map[string]string
	value   map[string]float64
	// What an hour does is worked out beside the formulas; celsius and coldest are at each whole hour. columns are where that stands
	// in the second sheet.
	hmf, wall, heatWh, storedWh, diastase, diastaseWall []float64
	shares                                              [][]float64
	celsius, coldest                                    []float64
	columns                                             struct{ celsius, coldest, hmf, wall, diastase, diastaseWall, heatWh, storedWh string }
}

// warmFigure is a figure that a warming rests on; formula is empty where it may be changed.
type warmFigure struct {
	key, label, formula string
	value               float64
	style               int
}

// firstFigure is the row of the first of what a warming rests on.
func (w *warmBook) firstFigure() int { return warmFirstResult + 9 + len(w.takes) + 2 }

// Rows of the first sheet.
const (
	warmHeadRow     = 4
	warmFirstResult = 5
)

// firstHour is the row of the first hour in the first sheet, hourRow that in the second.
func (w *warmBook) firstHour() int { return w.firstFigure() + len(w.figures) + 2 }

func hourRow(hour int) int { return hour + 2 }

// rests adds a figure that a warming rests on.
func (w *warmBook) rests(key, label string, style int, value float64, formula string) {
	w.at[key] = fmt.Sprintf("%s!$B$%d", quotedSheet(w.names.warming), w.firstFigure()+len(w.figures))
	w.value[key] = value
	w.figures = append(w.figures, warmFigure{key, label, formula, value, style})
}

// Rates are stated at 50 C, about where honey is warmed. The gas constant is in J/(mol K).
const celsiusOfRates, kelvinOfZero, gasConstant = 50.0, 273.15, 8.314462618

// given are the figures that every warming rests on.
func (w *warmBook) given(kWhPrice float64) {
	s := &w.asked.Spec
	fine, figure := w.styles.fine, w.styles.figure
	w.rests("price", w.Say("Price of a kWh"), figure, kWhPrice, "")
	w.rests("hmf", w.Say("HMF at the beginning, mg/kg"), figure, s.Begins.HMFMgPerKg, "")
	w.rests("diastase", w.Say("Diastase at the beginning, Gothe"), figure, s.Begins.DiastaseDN, "")
	w.rests("hmf rate", w.Say("HMF that forms a day at %s, mg/kg", message.Celsius(celsiusOfRates)), fine, s.Kinetics.HMFRate(celsiusOfRates), "")
	w.rests("hmf energy", w.Say("Activation energy of HMF, kJ/mol"), figure, s.Kinetics.HMF.ActivationEnergyKJPerMol(), "")
	w.rests("diastase rate", w.Say("Share of the diastase that a day at %s takes", message.Celsius(celsiusOfRates)), fine, s.Kinetics.DiastaseRate(celsiusOfRates), "")
	w.rests("diastase energy", w.Say("Activation energy of diastase, kJ/mol"), figure, s.Kinetics.Diastase.ActivationEnergyKJPerMol(), "")
	for i, take := range w.takes {
		for j, knot := range take.Knots {
			w.rests(knotKey(i, j), w.Say("%s at %s takes, hours", saysTake(take), message.Celsius(knot.Celsius)), figure, knot.Hours, "")
		}
	}
}

func knotKey(take, knot int) string { return fmt.Sprintf("take %d %d", take, knot) }

func saysTake(t warm.Take) message.Text {
	switch t.Of {
	case warm.Clear:
		return message.F("Making it clear")
	case warm.YeastKilled:
		return message.F("Killing yeasts")
	}
	return message.F("Melting the crystals")
}

// share is what an hour is of what a take takes, at a temperature, as a formula.
func (w *warmBook) share(take int, celsius string) string {
	knots := w.takes[take].Knots
	between := func(j int) string {
		low, high := w.at[knotKey(take, j)], w.at[knotKey(take, j+1)]
		part := fmt.Sprintf("(MIN(%s,%s)-%s)/%s", celsius, plain(knots[j+1].Celsius), plain(knots[j].Celsius), plain(knots[j+1].Celsius-knots[j].Celsius))
		return fmt.Sprintf("EXP(-LN(%s)*(1-%s)-LN(%s)*%s)", low, part, high, part)
	}
	out := between(len(knots) - 2)
	for j := len(knots) - 3; j >= 0; j-- {
		out = fmt.Sprintf("IF(%s<=%s,%s,%s)", celsius, plain(knots[j+1].Celsius), between(j), out)
	}
	return fmt.Sprintf("IF(%s<%s,0,%s)", celsius, plain(knots[0].Celsius), out)
}

// plain is a figure in a formula, which every program reads.
func plain(v float64) string { return fmt.Sprintf("%.10g", v) }

// rate is how fast a reaction runs a day at a temperature, as a formula of cells; of is "hmf" or "diastase".
func (w *warmBook) rate(of, celsius string) string {
	return fmt.Sprintf("%s*EXP(%s*%s*(1/%s-1/(%s+%s)))", w.at[of+" rate"], w.at[of+" energy"], plain(1000/gasConstant), plain(celsiusOfRates+kelvinOfZero), celsius, plain(kelvinOfZero))
}

func (w *warmBook) rateAt(of string, celsius float64) float64 {
	return w.value[of+" rate"] * math.Exp(w.value[of+" energy"]*1000/gasConstant*(1/(celsiusOfRates+kelvinOfZero)-1/(celsius+kelvinOfZero)))
}

// shown is a temperature in degrees Celsius as a formula in the outfit's unit, typed one in that unit in degrees Celsius.
func (w *warmBook) shown(celsius string) string {
	if w.US() {
		return celsius + "*1.8+32"
	}
	return celsius
}

func (w *warmBook) typed(cell string) string {
	if w.US() {
		return "(" + cell + "-32)/1.8"
	}
	return cell
}

// over is a column of the second sheet over all hours.
func (w *warmBook) over(column string) string {
	return fmt.Sprintf("%s!$%s$%d:$%s$%d", quotedSheet(w.names.hours), column, hourRow(0), column, hourRow(len(w.sets)-1))
}

// sum is the sum of a column of the second sheet, and what it comes to.
func (w *warmBook) sum(column string, of []float64) (string, float64) {
	total := 0.0
	for _, v := range of {
		total += v
	}
	return "SUM(" + w.over(column) + ")", total
}

// result is a row of what a way comes to: as a formula, as it was planned, and between which figures nine of ten lie.
func (w *warmBook) result(label string, style int, v float64, formula string, planned *heat.Band) []any {
	row := []any{label, reckoned(style, v, formula)}
	if planned != nil {
		row = append(row, excelize.Cell{StyleID: style, Value: planned.Middle}, excelize.Cell{StyleID: style, Value: planned.Low}, excelize.Cell{StyleID: style, Value: planned.High})
	}
	return row
}

// results are what a way comes to.
func (w *warmBook) results() (rows [][]any) {
	figure := w.styles.figure
	made, madeMgPerKg := w.mixed(w.columns.hmf, w.columns.wall, w.hmf, w.wall, func(sum string) string { return sum }, func(v float64) float64 { return v })
	left, leftPart := w.mixed(w.columns.diastase, w.columns.diastaseWall, w.diastase, w.diastaseWall, func(sum string) string { return "EXP(-" + sum + ")" }, func(v float64) float64 { return math.Exp(-v) })
	wh, gaveWh := w.sum(w.columns.heatWh, w.heatWh)
	stored, storedWh := w.sum(w.columns.storedWh, w.storedWh)
	cell := func(row int) string { return fmt.Sprintf("$B$%d", warmFirstResult+row) }
	one := func(v float64) *heat.Band { return &heat.Band{Low: v, Middle: v, High: v} }
	money := func(kWh float64) float64 { return kWh * w.value["price"] }
	rows = append(rows,
		w.result(w.Say("HMF made, mg/kg"), figure, madeMgPerKg, made, &w.way.Made),
		w.result(w.Say("HMF when the time has come, mg/kg"), figure, w.value["hmf"]+madeMgPerKg, w.at["hmf"]+"+"+cell(0), &w.way.HMF),
		w.result(w.Say("Diastase when the time has come, Gothe"), figure, w.value["diastase"]*leftPart, w.at["diastase"]+"*("+left+")", &w.way.Diastase),
		w.result(w.Say("Heat, kWh"), figure, gaveWh/1000, wh+"/1000", &w.way.KWh),
		w.result(w.Say("of it in the honey, kWh"), figure, storedWh/1000, stored+"/1000", one(w.way.Energy.HoneyKWh)),
		w.result(w.Say("of it lost, kWh"), figure, (gaveWh-storedWh)/1000, cell(3)+"-"+cell(4), one(w.way.Energy.LostKWh)),
		w.result(w.Say("Money"), figure, money(gaveWh/1000), cell(3)+"*"+w.at["price"], &heat.Band{Low: money(w.way.KWh.Low), Middle: money(w.way.KWh.Middle), High: money(w.way.KWh.High)}),
	)
	end := func(label, column string, celsius float64, planned float64) []any {
		return w.result(label, figure, w.Degrees(celsius), w.shown(w.second(column, len(w.sets))), one(w.Degrees(planned)))
	}
	last := w.way.Curve[len(w.sets)]
	rows = append(rows, end(w.Say("Honey when the time has come, %s", w.Temperature), w.columns.celsius, w.celsius[len(w.sets)], last.MeanC),
		end(w.Say("Coldest of it then, %s", w.Temperature), w.columns.coldest, w.coldest[len(w.sets)], last.ColdestC))
	for i, take := range w.takes {
		sum, share := w.sum(columnName(w.firstShare()+i), w.shares[i])
		rows = append(rows, w.result(w.Say("%s: share of what the coldest honey takes", saysTake(take)), w.styles.percent, share, sum, nil))
	}
	return rows
}

// mixed is what a column comes to over all hours, of which the honey at the wall has a column of its own where there is one.
func (w *warmBook) mixed(column, wall string, of, atWall []float64, formula func(string) string, comesTo func(float64) float64) (string, float64) {
	sum, total := w.sum(column, of)
	if wall == "" {
		return formula(sum), comesTo(total)
	}
	wallSum, wallTotal := w.sum(wall, atWall)
	share := w.value["wall share"]
	return fmt.Sprintf("(1-%s)*%s+%s*%s", w.at["wall share"], formula(sum), w.at["wall share"], formula(wallSum)), (1-share)*comesTo(total) + share*comesTo(wallTotal)
}

// second is a cell of the second sheet at an hour.
func (w *warmBook) second(column string, hour int) string {
	return fmt.Sprintf("%s!$%s$%d", quotedSheet(w.names.hours), column, hourRow(hour))
}

// first is the first sheet.
func (w *warmBook) first() [][]any {
	when := func(hour int) string { return w.Minute(w.asked.From.Add(time.Duration(hour) * time.Hour)) }
	hint := w.Say("The set points below may be changed, where an empty one is a heater that is off, and so may the figures that it rests on. All else follows.")
	if w.asked.Containers > 0 {
		hint = w.Say("The figures that it rests on may be changed, and HMF, diastase, heat and money follow. The temperatures of containers stand as they were worked out, and do not follow the set points.")
	}
	rows := [][]any{
		{excelize.Cell{StyleID: w.styles.title, Value: w.Say("Warm %s until %s", w.asked.Name, message.Minute(w.asked.From.Add(time.Duration(len(w.sets))*time.Hour)))}},
		{hint}, nil,
		{w.headed(w.Say("What it comes to")), w.headed(w.Say("reckoned here")), w.headed(w.Say("as planned")), w.headed(w.Say("nine in ten from")), w.headed(w.Say("nine in ten up to"))},
	}
	rows = append(append(rows, w.results()...), nil, []any{w.headed(w.Say("What it rests on"))})
	for _, f := range w.figures {
		cell := excelize.Cell{StyleID: f.style, Value: f.value}
		if f.formula != "" {
			cell = reckoned(f.style, f.value, f.formula)
		}
		rows = append(rows, []any{f.label, cell})
	}
	rows = append(rows, nil, []any{w.headed(w.Say("at")), w.headed(w.Say("set point, %s", w.Temperature)), w.headed(w.Say("honey, %s", w.Temperature)), w.headed(w.Say("coldest of it, %s", w.Temperature)),
		w.headed(w.Say("HMF made in the hour, mg/kg")), w.headed(w.Say("heat in the hour, kWh"))})
	for h := range len(w.sets) + 1 {
		temperature := func(column string, celsius float64) excelize.Cell {
			return reckoned(w.styles.figure, w.Degrees(celsius), w.shown(w.second(column, h)))
		}
		row := []any{when(h), nil, temperature(w.columns.celsius, w.celsius[h]), temperature(w.columns.coldest, w.coldest[h])}
		if h < len(w.sets) {
			if w.sets[h] != warm.Off {
				row[1] = excelize.Cell{StyleID: w.styles.mass, Value: w.Degrees(float64(w.sets[h]))}
			}
			made, v := w.second(w.columns.hmf, h), w.hmf[h]
			if w.columns.wall != "" {
				share := w.value["wall share"]
				made, v = fmt.Sprintf("(1-%s)*%s+%s*%s", w.at["wall share"], made, w.at["wall share"], w.second(w.columns.wall, h)), (1-share)*v+share*w.wall[h]
			}
			row = append(row, reckoned(w.styles.fine, v, made), reckoned(w.styles.figure, w.heatWh[h]/1000, w.second(w.columns.heatWh, h)+"/1000"))
		}
		rows = append(rows, row)
	}
	return rows
}

// setAt is the set point of an hour as the second sheet has it, in degrees Celsius, 0 where the heater is off.
func (w *warmBook) setAt(hour int) excelize.Cell {
	cell := fmt.Sprintf("%s!$B$%d", quotedSheet(w.names.warming), w.firstHour()+hour)
	return reckoned(w.styles.figure, float64(w.sets[hour]), fmt.Sprintf("IF(N(%s)>0,%s,0)", cell, w.typed(cell)))
}
