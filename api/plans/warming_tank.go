package plans

import (
	"fmt"
	"math"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/heat"
	"pullbook/domain/plan/warm"
)

// A stirred tank in the second sheet: the heat of an hour warms it, or melts crystals on the way up. The heat lost falls as
// it cools, by which an hour adds less than its first pace.

// The columns of the second sheet of a tank. A block of columns follows it as expected, another where it warms less well.
const (
	setColumn       = 2
	tankBlock       = 3
	storedColumn    = tankBlock + blockColumns
	partColumn      = storedColumn + 1
	heatColumn      = storedColumn + 2
	slowBlock       = storedColumn + 3
	hmfColumn       = slowBlock + blockColumns
	wallColumn      = hmfColumn + 1
	diastaseColumn  = hmfColumn + 2
	lostWallColumn  = hmfColumn + 3
	tankShareColumn = hmfColumn + 4
)

// The columns of a block, from its first on.
const (
	atCelsius = iota
	atMolten
	toMolten
	toMelted
	ofOff
	ofFull
	whenOff
	whenFull
	then
	blockColumns
)

// givenOfTank are the figures that the warming of a tank rests on; those of where it warms less well have "slow" before them.
func (w *warmBook) givenOfTank(t warm.Tank) {
	figure, fine := w.styles.figure, w.styles.fine
	slow := w.asked.Spec.Slow(t)
	whPerK := func(t heat.Tank) float64 { return t.MassKg * t.SpecificHeatKJPerKgK / 3.6 }
	temperature := func(key, label string, celsius float64) {
		w.rests(key+" typed", label, figure, w.Degrees(celsius), "")
		w.at[key], w.value[key] = "("+w.typed(w.at[key+" typed"])+")", celsius
	}
	temperature("start", w.Say("Honey at the beginning, %s", w.Temperature), t.StartC)
	temperature("around", w.Say("Around the tank, %s", w.Temperature), t.AroundC)
	w.rests("heater", w.Say("Heater, W"), figure, t.HeaterW, "")
	w.rests("loss", w.Say("Loss, W/K"), figure, t.LossWPerK, "")
	w.rests("wh", w.Say("Heat that warms it by a kelvin, Wh"), figure, whPerK(t.Tank), "")
	w.rests("slow loss", w.Say("Loss where it warms less well, W/K"), figure, slow.LossWPerK, "")
	w.rests("slow wh", w.Say("Heat that warms it by a kelvin where it warms less well, Wh"), figure, whPerK(slow), "")
	w.rests("latent", w.Say("Heat that melts all crystals, Wh"), figure, t.MeltingWh(), "")
	w.rests("wall", w.Say("Honey at the heated wall is hotter by, K"), figure, t.WallAllowanceK, "")
	w.rests("wall share", w.Say("Share of the honey at the heated wall"), w.styles.percent, t.WallShare, "")
	from := max(t.StartC, heat.MeltsFromC)
	w.rests("from", w.Say("Crystals melt from, °C"), figure, from, fmt.Sprintf("MAX(%s,%s)", w.at["start"], plain(heat.MeltsFromC)))
	melting := 0.0
	if t.StartC < heat.MeltsToC {
		melting = t.MeltingWh() / (heat.MeltsToC - from)
	}
	w.rests("melting", w.Say("Heat that melting takes for each kelvin, Wh"), figure, melting, fmt.Sprintf("IF(%s<%s,%s/(%s-%s),0)", w.at["start"], plain(heat.MeltsToC), w.at["latent"], plain(heat.MeltsToC), w.at["from"]))
	for _, of := range []struct{ key, label, meltingLabel string }{
		{"", w.Say("Share of its first pace that an hour keeps"), w.Say("the same while crystals melt")},
		{"slow ", w.Say("the same where it warms less well"), w.Say("the same where it warms less well, while crystals melt")},
	} {
		w.pace(of.key+"pace", of.label, fine, w.at[of.key+"loss"], w.at[of.key+"wh"], w.value[of.key+"loss"], w.value[of.key+"wh"])
		w.pace(of.key+"melting pace", of.meltingLabel, fine, w.at[of.key+"loss"], "("+w.at[of.key+"wh"]+"+"+w.at["melting"]+")", w.value[of.key+"loss"], w.value[of.key+"wh"]+melting)
	}
}

// pace is what an hour keeps of the pace that it begins with, as the loss grows or falls with the temperature.
func (w *warmBook) pace(key, label string, style int, loss, wh string, lossWPerK, whPerK float64) {
	v := 1.0
	if k := lossWPerK / whPerK; k > 0 {
		v = -math.Expm1(-k) / k
	}
	w.rests(key, label, style, v, fmt.Sprintf("IF(%s>0,(1-EXP(-%s/%s))/(%s/%s),1)", loss, loss, wh, loss, wh))
}

// stirredHour is an hour of a tank in the second sheet.
type stirredHour struct {
	cells [blockColumns]float64
	set   float64
}

// hour works out an hour as the formulas do; slow is "" or "slow ".
func (w *warmBook) hour(slow string, celsius, molten, set float64) stirredHour {
	v := func(key string) float64 { return w.value[key] }
	wh, loss := v(slow+"wh"), v(slow+"loss")
	h := stirredHour{set: set}
	c := &h.cells
	c[atCelsius], c[atMolten] = celsius, molten
	reached := math.Max(molten, v("from"))
	c[toMolten] = wh * math.Max(0, reached-celsius)
	c[toMelted] = (wh + v("melting")) * math.Max(0, heat.MeltsToC-math.Max(celsius, reached))
	pace := func(w float64) float64 {
		if w > 0 && celsius >= reached && celsius < heat.MeltsToC {
			return w * v(slow+"melting pace")
		}
		return w * v(slow+"pace")
	}
	lost := loss * (celsius - v("around"))
	c[ofOff], c[ofFull] = pace(-lost), pace(v("heater")-lost)
	to := func(e float64) float64 {
		return celsius + math.Min(e, c[toMolten])/wh + math.Min(math.Max(e-c[toMolten], 0), c[toMelted])/(wh+v("melting")) + math.Max(e-c[toMolten]-c[toMelted], 0)/wh
	}
	c[whenOff], c[whenFull] = to(c[ofOff]), to(c[ofFull])
	c[then] = c[whenOff]
	if set > 0 {
		c[then] = math.Min(c[whenFull], math.Max(c[whenOff], set))
	}
	return h
}

// block writes an hour of a tank.
func (w *warmBook) block(slow string, first, hour int, h stirredHour) (out []any) {
	at := func(column int) string { return fmt.Sprintf("%s%d", columnName(first+column), hourRow(hour)) }
	before := func(column int) string { return fmt.Sprintf("%s%d", columnName(first+column), hourRow(hour-1)) }
	k := func(key string) string { return w.at[key] }
	wh, set, c := k(slow+"wh"), fmt.Sprintf("%s%d", columnName(setColumn), hourRow(hour)), at(atCelsius)
	begins, molten := k("start"), k("start")
	if hour > 0 {
		begins, molten = before(then), fmt.Sprintf("MAX(%s,%s)", before(atMolten), before(then))
	}
	reached, meltsTo := fmt.Sprintf("MAX(%s,%s)", at(atMolten), k("from")), plain(heat.MeltsToC)
	pace := func(watts string) string {
		return fmt.Sprintf("(%s)*IF(AND(%s>0,%s>=%s,%s<%s),%s,%s)", watts, watts, c, reached, c, meltsTo, k(slow+"melting pace"), k(slow+"pace"))
	}
	lost := fmt.Sprintf("%s*(%s-%s)", k(slow+"loss"), c, k("around"))
	to := func(e string) string {
		return fmt.Sprintf("%s+MIN(%s,%s)/%s+MIN(MAX(%s-%s,0),%s)/(%s+%s)+MAX(%s-%s-%s,0)/%s", c, e, at(toMolten), wh, e, at(toMolten), at(toMelted), wh, k("melting"), e, at(toMolten), at(toMelted), wh)
	}
	for i, formula := range []string{
		begins, molten,
		fmt.Sprintf("%s*MAX(0,%s-%s)", wh, reached, c),
		fmt.Sprintf("(%s+%s)*MAX(0,%s-MAX(%s,%s))", wh, k("melting"), meltsTo, c, reached),
		pace("-" + lost), pace(k("heater") + "-" + lost),
		to(at(ofOff)), to(at(ofFull)),
		fmt.Sprintf("IF(%s>0,MIN(%s,MAX(%s,%s)),%s)", set, at(whenFull), at(whenOff), set, at(whenOff)),
	} {
		out = append(out, reckoned(w.styles.figure, h.cells[i], formula))
	}
	return out
}

// heated is what an hour of the expected tank stores, for which part of it that warms or cools, and what its heater gives.
func (w *warmBook) heated(hour int, h stirredHour) (cells []any, storedWh, part, heaterWh float64) {
	at := func(column int) string { return fmt.Sprintf("%s%d", columnName(column), hourRow(hour)) }
	in := func(column int) string { return at(tankBlock + column) }
	c, v := h.cells, w.value
	meltsTo, reached := heat.MeltsToC, math.Max(c[atMolten], v["from"])
	storedWh = v["wh"]*(c[then]-c[atCelsius]) + v["melting"]*math.Max(0, math.Min(c[then], meltsTo)-math.Min(reached, meltsTo))
	stored := fmt.Sprintf("%s*(%s-%s)+%s*MAX(0,MIN(%s,%s)-MIN(MAX(%s,%s),%s))", w.at["wh"], in(then), in(atCelsius), w.at["melting"], in(then), plain(meltsTo), in(atMolten), w.at["from"], plain(meltsTo))
	switch {
	case h.set == 0 || c[then] == c[whenOff] || c[then] == c[whenFull]:
		part = 1
	case c[then] >= c[atCelsius]:
		part = storedWh / c[ofFull]
	default:
		part = (c[then] - c[atCelsius]) / (c[whenOff] - c[atCelsius])
	}
	parts := fmt.Sprintf("IF(OR(%s=0,%s=%s,%s=%s),1,IF(%s>=%s,%s/%s,(%s-%s)/(%s-%s)))", at(setColumn), in(then), in(whenOff), in(then), in(whenFull), in(then), in(atCelsius),
		at(storedColumn), in(ofFull), in(then), in(atCelsius), in(whenOff), in(atCelsius))
	heaterWh = part*w.watts(h) + (1-part)*w.holds(h)
	return []any{
		reckoned(w.styles.figure, storedWh, stored), reckoned(w.styles.fine, part, parts),
		reckoned(w.styles.figure, heaterWh, fmt.Sprintf("%s*%s+(1-%s)*%s", at(partColumn), w.wattsIn(hour), at(partColumn), w.holdsIn(hour))),
	}, storedWh, part, heaterWh
}

// watts is what the heater gives while the tank warms or cools, holds what it gives once it has the set point.
func (w *warmBook) watts(h stirredHour) float64 {
	if h.set > 0 && h.cells[then] != h.cells[whenOff] && h.cells[then] >= h.cells[atCelsius] {
		return w.value["heater"]
	}
	return 0
}

func (w *warmBook) holds(h stirredHour) float64 {
	return math.Max(0, w.value["loss"]*(h.cells[then]-w.value["around"]))
}

func (w *warmBook) wattsIn(hour int) string {
	in := func(column int) string { return fmt.Sprintf("%s%d", columnName(tankBlock+column), hourRow(hour)) }
	return fmt.Sprintf("IF(AND(%s%d>0,%s<>%s,%s>=%s),%s,0)", columnName(setColumn), hourRow(hour), in(then), in(whenOff), in(then), in(atCelsius), w.at["heater"])
}

func (w *warmBook) holdsIn(hour int) string {
	return fmt.Sprintf("MAX(0,%s*(%s%d-%s))", w.at["loss"], columnName(tankBlock+then), hourRow(hour), w.at["around"])
}

// reacts is what a reaction does over an hour of the tank: by Simpson's rule while it warms or cools, then at what it holds. At
// the heated wall the honey is hotter.
func (w *warmBook) reacts(of string, hour int, h stirredHour, part float64, wall bool) (excelize.Cell, float64) {
	in := func(column int) string { return fmt.Sprintf("%s%d", columnName(tankBlock+column), hourRow(hour)) }
	above, holds := "", ""
	aboveK, holdsK := 0.0, 0.0
	if wall {
		above, holds = fmt.Sprintf("+%s*%s/%s", w.at["wall"], w.wattsIn(hour), w.at["heater"]), fmt.Sprintf("+%s*%s/%s", w.at["wall"], w.holdsIn(hour), w.at["heater"])
		aboveK, holdsK = w.value["wall"]*w.watts(h)/w.value["heater"], w.value["wall"]*w.holds(h)/w.value["heater"]
	}
	from, to := h.cells[atCelsius], h.cells[then]
	v := (part*(w.rateAt(of, from+aboveK)+4*w.rateAt(of, (from+to)/2+aboveK)+w.rateAt(of, to+aboveK))/6 + (1-part)*w.rateAt(of, to+holdsK)) / 24
	share := fmt.Sprintf("%s%d", columnName(partColumn), hourRow(hour))
	formula := fmt.Sprintf("(%s*(%s+4*%s+%s)/6+(1-%s)*%s)/24", share, w.rate(of, in(atCelsius)+above), w.rate(of, "("+in(atCelsius)+"+"+in(then)+")/2"+above), w.rate(of, in(then)+above),
		share, w.rate(of, in(then)+holds))
	return reckoned(w.styles.fine, v, formula), v
}

// tank is the second sheet of a tank.
func (w *warmBook) tank() ([][]any, error) {
	names := []string{w.Say("honey, °C"), w.Say("hottest so far, °C"), w.Say("heat up to where crystals melt, Wh"), w.Say("heat until they are molten, Wh"), w.Say("heat of the hour with the heater off, Wh"),
		w.Say("heat of the hour at full power, Wh"), w.Say("then, heater off, °C"), w.Say("then, full power, °C"), w.Say("honey an hour later, °C")}
	head := []any{w.headed(w.Say("at")), w.headed(w.Say("set point, %s", "°C"))}
	for _, name := range names {
		head = append(head, w.headed(name))
	}
	head = append(head, w.headed(w.Say("heat that the honey takes up, Wh")), w.headed(w.Say("part of the hour that it warms or cools")), w.headed(w.Say("heat from the heater, Wh")))
	for _, name := range names {
		head = append(head, w.headed(w.Say("where it warms less well: %s", name)))
	}
	head = append(head, w.headed(w.Say("HMF, mg/kg")), w.headed(w.Say("HMF at the wall, mg/kg")), w.headed(w.Say("diastase lost, share")), w.headed(w.Say("diastase lost at the wall, share")))
	rows := [][]any{append(head, w.shareHeads()...)}
	w.columns.celsius, w.columns.coldest, w.columns.hmf, w.columns.wall = columnName(tankBlock), columnName(slowBlock), columnName(hmfColumn), columnName(wallColumn)
	w.columns.diastase, w.columns.diastaseWall, w.columns.heatWh, w.columns.storedWh = columnName(diastaseColumn), columnName(lostWallColumn), columnName(heatColumn), columnName(storedColumn)
	celsius, molten, coldest, coldMolten := w.value["start"], w.value["start"], w.value["start"], w.value["start"]
	for i, set := range w.sets {
		as, slow := w.hour("", celsius, molten, float64(set)), w.hour("slow ", coldest, coldMolten, float64(set))
		heated, stored, part, heater := w.heated(i, as)
		row := append([]any{i, w.setAt(i)}, w.block("", tankBlock, i, as)...)
		row = append(append(row, heated...), w.block("slow ", slowBlock, i, slow)...)
		for _, of := range []struct {
			of   string
			wall bool
			into *[]float64
		}{{"hmf", false, &w.hmf}, {"hmf", true, &w.wall}, {"diastase", false, &w.diastase}, {"diastase", true, &w.diastaseWall}} {
			cell, v := w.reacts(of.of, i, as, part, of.wall)
			row, *of.into = append(row, cell), append(*of.into, v)
		}
		w.celsius, w.coldest, w.storedWh, w.heatWh = append(w.celsius, celsius), append(w.coldest, coldest), append(w.storedWh, stored), append(w.heatWh, heater)
		celsius, coldest = as.cells[then], slow.cells[then]
		molten, coldMolten = math.Max(molten, celsius), math.Max(coldMolten, coldest)
		rows = append(rows, append(row, w.sharesOf(i, coldest)...))
	}
	w.celsius, w.coldest = append(w.celsius, celsius), append(w.coldest, coldest)
	last := make([]any, slowBlock)
	last[0] = len(w.sets)
	for _, block := range []int{tankBlock, slowBlock} {
		v := map[int]float64{tankBlock: celsius, slowBlock: coldest}[block]
		last[block-1] = reckoned(w.styles.figure, v, fmt.Sprintf("%s%d", columnName(block+then), hourRow(len(w.sets)-1)))
	}
	return append(rows, last), nil
}

// firstShare is the first column of the shares of what the honey has to go through.
func (w *warmBook) firstShare() int {
	if w.columns.wall == "" {
		return standShareColumn
	}
	return tankShareColumn
}

func (w *warmBook) shareHeads() (out []any) {
	w.shares = make([][]float64, len(w.takes))
	for _, take := range w.takes {
		out = append(out, w.headed(w.Say("%s: share of what the coldest honey takes", saysTake(take))))
	}
	return out
}

// sharesOf are the shares of an hour, which begins with the coldest honey as it was noted last and ends with it so warm.
func (w *warmBook) sharesOf(hour int, endsC float64) (out []any) {
	from, to := fmt.Sprintf("%s%d", w.columns.coldest, hourRow(hour)), fmt.Sprintf("%s%d", w.columns.coldest, hourRow(hour+1))
	for i, take := range w.takes {
		v := (take.Share(w.coldest[hour]) + take.Share(endsC)) / 2
		w.shares[i] = append(w.shares[i], v)
		out = append(out, reckoned(w.styles.fine, v, fmt.Sprintf("(%s+%s)/2", w.share(i, from), w.share(i, to))))
	}
	return out
}
