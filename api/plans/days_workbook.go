package plans

import (
	"fmt"
	"math"
	"time"

	"github.com/xuri/excelize/v2"
	"gonum.org/v1/gonum/stat"

	"pullbook/api/locale"
	"pullbook/domain/message"
	"pullbook/domain/plan/rest"
)

// DaysWorkbook is what is left of a season as a workbook that reckons: whoever types another figure sees what a plain
// reckoning comes to, beside what was played. It stands as of an entry of the book.
func DaysWorkbook(v locale.Voice, a *rest.Asked, p *rest.Plan, through int64) (*excelize.File, error) {
	return newBook(v, func(b *book) error {
		w := &daysBook{book: b, asked: a, plan: p}
		day, moment := "yyyy-mm-dd", "yyyy-mm-dd hh:mm"
		for _, one := range []struct {
			into   *int
			format *string
		}{{&w.day, &day}, {&w.moment, &moment}} {
			style, err := b.NewStyle(&excelize.Style{CustomNumFmt: one.format, Alignment: &excelize.Alignment{Horizontal: "right"}})
			if err != nil {
				return err
			}
			*one.into = style
		}
		rows := [][]any{
			{excelize.Cell{StyleID: b.styles.title, Value: b.Say("What is left of season %s", a.Season)}},
			{b.Say("Type another figure in the second column of the first table: what is reckoned plainly below follows, and what was played stays. It stands as of entry %s of the book, which it does not change.", b.Count(int(through)))},
			nil,
		}
		rows = append(rows, w.known()...)
		rows = append(rows, nil)
		rows = append(rows, w.reckoning()...)
		rows = append(rows, nil)
		rows = append(rows, w.calendar(len(rows)+1)...)
		if err := b.sheet(b.Say("Days left"), []float64{44, 18, 18, 18, 18, 18, 18, 18, 18, 18, 18}, rows); err != nil {
			return err
		}
		return b.sheet(b.Say("What it rests on"), []float64{48, 18, 80}, w.basis())
	})
}

type daysBook struct {
	*book
	asked       *rest.Asked
	plan        *rest.Plan
	day, moment int
}

// The rows of the first table, in which people type.
const (
	daysFromRow = iota + 5
	daysOutRow
	daysWaitingRow
	daysDoneRow
	daysSoFarRow
	daysAnHourRow
	daysHoursRow
	daysWeekRow
	daysPerSuperRow
	daysTanksRow
	daysDrumRow
	daysShareRow
	daysOnHandRow
	daysComingRow
)

func in(row int) string { return fmt.Sprintf("$B$%d", row) }

// serial is a moment as spreadsheets count it: what the clock on the wall shows.
func (w *daysBook) serial(at time.Time) time.Time {
	at = at.In(w.Zone)
	return time.Date(at.Year(), at.Month(), at.Day(), at.Hour(), at.Minute(), at.Second(), 0, time.UTC)
}

// known is what the reckoning begins with.
func (w *daysBook) known() [][]any {
	h, a := &w.asked.House, w.asked
	figure := func(style int, v any) excelize.Cell { return excelize.Cell{StyleID: style, Value: v} }
	var onHand any
	if h.DrumsOnHand != nil {
		onHand = *h.DrumsOnHand
	}
	return [][]any{
		{w.headed(w.Say("what")), w.headed(w.Say("figure"))},
		{w.Say("From when on"), figure(w.moment, w.serial(h.From))},
		{w.Say("Supers still on the yards"), a.Out},
		{w.Say("Supers in the hot rooms"), a.Waiting},
		{w.Say("Supers extracted so far this season"), a.Done},
		{w.Say("Days since extracting began"), figure(w.styles.figure, a.SoFarDays)},
		{w.Say("Supers extracted in an hour"), figure(w.styles.figure, stat.Mean(h.SupersAnHour, nil))},
		{w.Say("Hours worked on a day"), figure(w.styles.figure, w.hours())},
		{w.Say("Days worked in a week"), w.days()},
		{w.Say("Honey from a super, %s", w.Mass), figure(w.styles.figure, w.mass(stat.Mean(h.KgPerSuper, nil)))},
		{w.Say("Honey in the tanks, %s", w.Mass), figure(w.styles.mass, w.mass(a.TankKg))},
		{w.Say("Honey in a drum, or what is filled most, %s", w.Mass), figure(w.styles.figure, w.mass(h.DrumKg))},
		{w.Say("Part of the honey that goes into these"), figure(w.styles.percent, h.DrumShare)},
		{w.Say("Empty ones on hand"), onHand},
		{w.Say("Empty ones on the way"), h.DrumsArriving},
	}
}

func (w *daysBook) hours() float64 {
	return w.asked.House.Shift.To - w.asked.House.Shift.From + w.asked.House.EveningHours
}

func (w *daysBook) days() (n int) {
	for _, works := range w.asked.House.Shift.Days {
		if works {
			n++
		}
	}
	return n
}

// reckoning is the plain reckoning, with what was played beside it. Ends are left out where no earlier season tells them.
func (w *daysBook) reckoning() [][]any {
	h, a, p := &w.asked.House, w.asked, w.plan
	first := daysComingRow + 3
	at := func(n int) string { return fmt.Sprintf("$B$%d", first+n) }
	left := float64(a.Out + a.Waiting)
	lineHours := left / stat.Mean(h.SupersAnHour, nil)
	lineDays := lineHours / w.hours() * 7 / float64(w.days())
	kg := a.TankKg + left*stat.Mean(h.KgPerSuper, nil)
	drums := math.Ceil(kg*h.DrumShare/h.DrumKg - 1e-9)
	order := drums - float64(h.DrumsArriving)
	if h.DrumsOnHand != nil {
		order -= float64(*h.DrumsOnHand)
	}
	ends := func(days float64) time.Time { return w.serial(h.At(24 * days)) }
	played := func(b rest.Band, style int, of func(float64) any) []any {
		out := []any{nil, excelize.Cell{StyleID: style, Value: of(b.Middle)}, nil}
		if a.Before > 0 {
			out[0], out[2] = excelize.Cell{StyleID: style, Value: of(b.Low)}, excelize.Cell{StyleID: style, Value: of(b.High)}
		}
		return out
	}
	moment := func(hours float64) any { return w.serial(h.At(hours)) }
	plain := func(v float64) any { return v }
	row := func(says string, cell excelize.Cell, played ...any) []any {
		return append([]any{says, cell}, played...)
	}
	var byThumb, thumbEnds any = "", ""
	if a.Done > 0 {
		byThumb, thumbEnds = a.ByThumb, ends(a.ByThumb)
	}
	rows := [][]any{
		{w.headed(w.Say("what")), w.headed(w.Say("reckoned plainly")), w.headed(w.Say("played: in one of twenty less")), w.headed(w.Say("played: in the middle case")), w.headed(w.Say("played: in one of twenty more"))},
		row(w.Say("Supers left"), reckoned(0, left, in(daysOutRow)+"+"+in(daysWaitingRow)), played(rest.Band{Low: p.Supers.Low + float64(a.Waiting), Middle: p.Supers.Middle + float64(a.Waiting), High: p.Supers.High + float64(a.Waiting)}, 0, plain)...),
		row(w.Say("Days left at the pace so far"), reckoned(w.styles.figure, byThumb, fmt.Sprintf(`IF(%s=0,"",%s/%s*%s)`, in(daysDoneRow), at(0), in(daysDoneRow), in(daysSoFarRow)))),
		row(w.Say("The last super at the pace so far"), reckoned(w.moment, thumbEnds, fmt.Sprintf(`IF(%s="","",%s+%s)`, at(1), in(daysFromRow), at(1))), played(p.Extracted, w.moment, moment)...),
		row(w.Say("Hours that the line runs"), reckoned(w.styles.figure, lineHours, at(0)+"/"+in(daysAnHourRow)), played(p.WorkedHours, w.styles.figure, plain)...),
		row(w.Say("Days left if nothing but the line took time"), reckoned(w.styles.figure, lineDays, at(3)+"/"+in(daysHoursRow)+"*7/"+in(daysWeekRow))),
		row(w.Say("The last super if nothing but the line took time"), reckoned(w.moment, ends(lineDays), in(daysFromRow)+"+"+at(4)), played(p.Extracted, w.moment, moment)...),
		row(w.Say("Honey to fill, %s", w.Mass), reckoned(w.styles.mass, w.mass(kg), fmt.Sprintf("%s+%s*%s", in(daysTanksRow), at(0), in(daysPerSuperRow)))),
		row(w.Say("Drums, or what is filled most"), reckoned(0, drums, fmt.Sprintf("ROUNDUP(%s*%s/%s-0.000000001,0)", at(6), in(daysShareRow), in(daysDrumRow))), played(p.Drums, 0, plain)...),
	}
	last := row(w.Say("To order"), reckoned(0, max(0, order), fmt.Sprintf("MAX(0,%s-%s-%s)", at(7), in(daysOnHandRow), in(daysComingRow))))
	if p.ToOrder != nil {
		last = append(last, played(*p.ToOrder, 0, plain)...)
	}
	return append(rows, last, row(w.Say("The last honey in its container"), excelize.Cell{}, played(p.Ends, w.moment, moment)...))
}

// calendar is what was played, day by day; what comes together is summed up by formulas. It begins in a row.
func (w *daysBook) calendar(head int) [][]any {
	heads := []string{w.Say("day"), w.Say("supers pulled"), w.Say("supers through the line"), w.Say("together"), w.Say("honey from it, %s", w.Mass), w.Say("together"), w.Say("honey filled, %s", w.Mass), w.Say("together"),
		w.Say("drums, or what is filled most"), w.Say("together")}
	if w.asked.Before > 0 {
		heads = append(heads, w.Say("supers through the line by then: in one of twenty less"), w.Say("in one of twenty more"))
	}
	var first []any
	for _, says := range heads {
		first = append(first, w.headed(says))
	}
	out := [][]any{first}
	var sum rest.Worked
	for i := range w.plan.Days {
		d := &w.plan.Days[i]
		on, row := d.Ends.AddDate(0, 0, -1), head+1+i
		sum.Extracted, sum.Kg, sum.FilledKg, sum.Drums = sum.Extracted+d.Extracted, sum.Kg+d.Kg, sum.FilledKg+d.FilledKg, sum.Drums+d.Drums
		cells := []any{excelize.Cell{StyleID: w.day, Value: w.serial(on)}, excelize.Cell{StyleID: w.styles.mass, Value: d.In}}
		for _, x := range []struct {
			of       string
			day, all float64
		}{{"C", d.Extracted, sum.Extracted}, {"E", w.mass(d.Kg), w.mass(sum.Kg)}, {"G", w.mass(d.FilledKg), w.mass(sum.FilledKg)}, {"I", d.Drums, sum.Drums}} {
			cells = append(cells, excelize.Cell{StyleID: w.styles.mass, Value: x.day}, reckoned(w.styles.mass, x.all, fmt.Sprintf("SUM(%s$%d:%s%d)", x.of, head+1, x.of, row)))
		}
		if w.asked.Before > 0 {
			cells = append(cells, excelize.Cell{StyleID: w.styles.mass, Value: d.ExtractedBy.Low}, excelize.Cell{StyleID: w.styles.mass, Value: d.ExtractedBy.High})
		}
		out = append(out, cells)
	}
	return out
}

// basis is where each figure comes from.
func (w *daysBook) basis() [][]any {
	rows := [][]any{{w.headed(w.Say("what")), w.headed(w.Say("figure")), w.headed(w.Say("where it comes from"))}}
	for _, b := range w.asked.Basis {
		text := func(says message.Text) excelize.Cell {
			return excelize.Cell{StyleID: w.styles.text, Value: says.In(w.Voice)}
		}
		rows = append(rows, []any{w.Say("%s", message.Capital(b.What)), text(b.Figure()), text(b.From)})
	}
	return rows
}
