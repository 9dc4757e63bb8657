package plans

import (
	"fmt"
	"math"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/message"
	"pullbook/domain/plan/warm"
)

// The columns of the second sheet of containers, behind the set point.
const (
	placeColumn      = 3
	standsHMFColumn  = placeColumn + 9 + 2
	standShareColumn = standsHMFColumn + 4
)

// containers is the second sheet of containers: how warm they are at nine places stands as it was worked out.
func (w *warmBook) containers() ([][]any, error) {
	c := w.asked.Spec.Vessel.(warm.Containers)
	places, parts, err := c.Places(w.sets)
	if err != nil {
		return nil, err
	}
	whPerK, err := c.WhPerK()
	if err != nil {
		return nil, err
	}
	w.rests("wh", w.Say("Heat that warms them by a kelvin, Wh"), w.styles.figure, whPerK, "")
	w.rests("loss", w.Say("Loss of the room, W/K"), w.styles.figure, c.RoomLossWPerK, "")
	w.rests("around typed", w.Say("Around the room, %s", w.Temperature), w.styles.figure, w.Degrees(c.AroundC), "")
	w.at["around"], w.value["around"] = "("+w.typed(w.at["around typed"])+")", c.AroundC
	head := []any{w.headed(w.Say("at")), w.headed(w.Say("set point, %s", "°C"))}
	row := []any{nil, w.headed(w.Say("share of the honey"))}
	for i, part := range parts {
		head = append(head, w.headed(w.Say("place %s, °C", message.Number{V: float64(i + 1)})))
		row = append(row, excelize.Cell{StyleID: w.styles.fine, Value: part})
	}
	head = append(head, w.headed(w.Say("honey, °C")), w.headed(w.Say("coldest of it, %s", "°C")), w.headed(w.Say("HMF, mg/kg")), w.headed(w.Say("diastase lost, share")),
		w.headed(w.Say("heat that the honey takes up, Wh")), w.headed(w.Say("heat from the heater, Wh")))
	rows := [][]any{append(head, w.shareHeads()...)}
	w.columns.celsius, w.columns.coldest = columnName(placeColumn+9), columnName(placeColumn+10)
	w.columns.hmf, w.columns.diastase, w.columns.storedWh, w.columns.heatWh = columnName(standsHMFColumn), columnName(standsHMFColumn+1), columnName(standsHMFColumn+2), columnName(standsHMFColumn+3)
	for h, m := range w.way.Curve {
		w.celsius, w.coldest = append(w.celsius, m.MeanC), append(w.coldest, m.ColdestC)
		line := []any{h, nil}
		if h < len(w.sets) {
			line[1] = w.setAt(h)
		}
		for _, celsius := range places[h] {
			line = append(line, excelize.Cell{StyleID: w.styles.figure, Value: celsius})
		}
		line = append(line, excelize.Cell{StyleID: w.styles.figure, Value: m.MeanC}, excelize.Cell{StyleID: w.styles.figure, Value: m.ColdestC})
		if h < len(w.sets) {
			line = append(line, w.standingHour(h, places, parts)...)
		}
		rows = append(rows, line)
	}
	// What of the honey each place stands for is below the hours, where no hour is.
	return append(rows, row), nil
}

// standingHour is what an hour does to containers.
func (w *warmBook) standingHour(hour int, places [][]float64, parts []float64) (out []any) {
	shares := fmt.Sprintf("$%s$%d:$%s$%d", columnName(placeColumn), hourRow(len(w.sets)+1), columnName(placeColumn+8), hourRow(len(w.sets)+1))
	line := func(h int) string {
		return fmt.Sprintf("%s%d:%s%d", columnName(placeColumn), hourRow(h), columnName(placeColumn+8), hourRow(h))
	}
	for _, of := range []struct {
		of   string
		into *[]float64
	}{{"hmf", &w.hmf}, {"diastase", &w.diastase}} {
		v := 0.0
		for i, part := range parts {
			from, to := places[hour][i], places[hour+1][i]
			v += part * (w.rateAt(of.of, from) + 4*w.rateAt(of.of, (from+to)/2) + w.rateAt(of.of, to)) / 6 / 24
		}
		over := func(celsius string) string { return fmt.Sprintf("SUMPRODUCT(%s,%s)", shares, w.rate(of.of, celsius)) }
		*of.into = append(*of.into, v)
		out = append(out, reckoned(w.styles.fine, v, fmt.Sprintf("(%s+4*%s+%s)/6/24", over(line(hour)), over("("+line(hour)+"+"+line(hour+1)+")/2"), over(line(hour+1)))))
	}
	celsius := func(h int) string { return fmt.Sprintf("%s%d", w.columns.celsius, hourRow(h)) }
	storedWh := w.value["wh"] * (w.way.Curve[hour+1].MeanC - w.way.Curve[hour].MeanC)
	heaterWh := 0.0
	if set := w.sets[hour]; set != warm.Off {
		heaterWh = math.Max(0, storedWh+w.value["loss"]*(float64(set)-w.value["around"]))
	}
	w.storedWh, w.heatWh = append(w.storedWh, storedWh), append(w.heatWh, heaterWh)
	set, stored := fmt.Sprintf("%s%d", columnName(setColumn), hourRow(hour)), fmt.Sprintf("%s%d", w.columns.storedWh, hourRow(hour))
	out = append(out, reckoned(w.styles.figure, storedWh, fmt.Sprintf("%s*(%s-%s)", w.at["wh"], celsius(hour+1), celsius(hour))),
		reckoned(w.styles.figure, heaterWh, fmt.Sprintf("IF(%s>0,MAX(0,%s+%s*(%s-%s)),0)", set, stored, w.at["loss"], set, w.at["around"])))
	return append(out, w.sharesOf(hour, w.way.Curve[hour+1].ColdestC)...)
}
