package feeds

import (
	"errors"
	"fmt"
	"time"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/quality"
	"pullbook/domain/season"
)

// coverYards is how many yards the cover lists at the most; the rest are on their own sheet.
const coverYards = 20

// The widths of the cover's columns, of which there are seven, in characters.
const (
	coverLeft  = 46
	coverRight = 11
	coverWide  = coverLeft + 6*coverRight
)

// coverRow is a line of the cover: what it says, and figures beside it. One that is said alone goes on
// in further lines over the whole width.
type coverRow struct {
	what  any
	cells []any
	style int
	alone bool
}

// cover is the season's answer: what was harvested, what each yard gave of it, and how that was the season
// before; with a chart, the cautions and what it rests on.
func (w *seasonBook) cover(now time.Time) error {
	cover, of := w.sheetName(coverSheet), w.report.Season
	rows := []coverRow{
		{what: excelize.Cell{StyleID: w.dress.title, Value: w.view.outfit.Name}},
		w.said(w.Say("Season"), of.Name, w.dress.left),
		w.said(w.Say("season|From"), dayOf(of.First), w.dress.leftDay),
		w.said(w.Say("season|To"), dayOf(of.Last), w.dress.leftDay),
		w.said(w.Say("Honey, %s", w.Mass), w.reckons("SUM({Runs.honey_kg})", w.report.HoneyG), w.dress.leftFigure),
		w.said(w.Say("of that from no known pull, %s", w.Mass), w.reckons(`ROUND(SUM({Runs.honey_kg})-SUMIFS({Shares.honey_kg},{Shares.yard_no},">0"),3)`, w.report.NoPullG), w.dress.leftFigure),
	}
	if before := w.report.Before; before != nil {
		rows = append(rows, w.said(w.Say("From known pulls in season %s, %s", before.Name, w.Mass), w.reckons("SUM({Yards.last_season_kg})", w.lastSeasonG()), w.dress.leftFigure))
	}
	rows = append(rows, coverRow{})
	yardsAt := len(rows) + 1
	rows = append(rows, w.coverYards(yardsAt)...)
	rows = append(rows, coverRow{})
	for _, caution := range quality.CertificateCautions {
		rows = append(rows, coverRow{what: caution.In(w.Voice), alone: true})
	}
	rows = append(rows, coverRow{}, coverRow{what: w.Say("What each sheet and column is, and which figures follow one that you edit, says the sheet %s.", w.sheetName(legendSheet)), alone: true},
		w.said(w.Say("Up to entry"), w.view.number, w.dress.left), w.said(w.Say("whose digest is"), w.digest, w.dress.left),
		w.said(w.Say("Made on"), onClock(now, w.loc).Truncate(24*time.Hour), w.dress.leftDay), w.said(w.Say("Times are of"), w.view.outfit.TimeZone, w.dress.left))
	if err := w.SetRowHeight(cover, yardsAt, 2*lineHeight); err != nil {
		return err
	}
	for i, row := range rows {
		if err := w.coverLine(cover, i+1, row); err != nil {
			return err
		}
	}
	if err := errors.Join(w.SetColWidth(cover, "A", "A", coverLeft), w.SetColWidth(cover, "B", "G", coverRight), w.page(coverSheet, upright)); err != nil || len(w.report.Yards) == 0 {
		return err
	}
	return w.chart(len(rows)+2, w.Say("Honey by yard, %s", w.Mass))
}

func (w *seasonBook) said(what string, value any, style int) coverRow {
	return coverRow{what: what, cells: []any{value}, style: style}
}

// reckons is a formula over other sheets with the grams that it comes to.
func (w *seasonBook) reckons(formula string, grams int64) excelize.Cell {
	return excelize.Cell{Formula: w.formula(formula, "", 0), Value: toPlaces(w.view.massOf(float64(grams)), massPlaces)}
}

func (w *seasonBook) lastSeasonG() (sum int64) {
	for _, y := range w.report.Yards {
		if y.LastSeason != nil && !y.LastSeason.NotKnown {
			sum += y.LastSeason.HoneyG
		}
	}
	return sum
}

// coverYards are the lines of the yards, which begin in a row of the cover. Each is found in the sheet of
// the yards by its number.
func (w *seasonBook) coverYards(from int) []coverRow {
	yards := w.sheets[yardsSheet]
	columns := []string{"rank", "honey_kg", "share_pct", "kg_per_super", "kg_per_hive", "last_season_kg"}
	heads := coverRow{what: excelize.Cell{StyleID: w.dress.textHead, Value: yards.heads[yards.columnOf("yard")]}}
	for _, name := range columns {
		heads.cells = append(heads.cells, excelize.Cell{StyleID: w.dress.rightHead, Value: yards.heads[yards.columnOf(name)]})
	}
	rows := []coverRow{heads}
	for i, y := range w.report.Yards[:min(len(w.report.Yards), coverYards)] {
		row := coverRow{what: y.Name}
		for k, value := range w.yardFigures(y) {
			cell := excelize.Cell{StyleID: w.styles.decimal[2], Value: value}
			if columns[k] == "rank" {
				cell.StyleID = w.styles.decimal[0]
			}
			if value != nil {
				cell.Formula = w.formula(fmt.Sprintf("SUMIFS({Yards.%s},{Yards.no},%d)", columns[k], i+1), "", from+i)
			}
			row.cells = append(row.cells, cell)
		}
		rows = append(rows, row)
	}
	if rest := len(w.report.Yards) - coverYards; rest > 0 {
		rows = append(rows, coverRow{what: w.Say("%s more are on the sheet %s.", rest, w.sheetName(yardsSheet))})
	}
	return rows
}

// yardFigures are a yard's figures in the order of the cover's columns; nil where there is none.
func (w *seasonBook) yardFigures(y season.YardLine) []any {
	per := func(kg *float64) any {
		if kg == nil {
			return nil
		}
		return toPlaces(w.view.massOf(1000**kg), massPlaces)
	}
	honey := func(of season.Yield) any {
		if of.NotKnown {
			return nil
		}
		return toPlaces(w.view.massOf(float64(of.HoneyG)), massPlaces)
	}
	var rank, share, last any
	if y.Rank > 0 {
		rank = int64(y.Rank)
	}
	if y.Share != nil {
		share = toPlaces(100**y.Share, 2)
	}
	if y.LastSeason != nil {
		last = honey(*y.LastSeason)
	}
	return []any{rank, honey(y.Yield), share, per(y.KgPerSuper), per(y.KgPerHive), last}
}

// coverLine writes a line of the cover.
func (w *seasonBook) coverLine(sheet string, row int, line coverRow) error {
	if text, is := line.what.(string); is && line.alone {
		at := cellOf(0, row)
		return errors.Join(w.SetCellStr(sheet, at, text), w.SetCellStyle(sheet, at, at, w.dress.wrapped), w.MergeCell(sheet, at, cellOf(6, row)),
			w.SetRowHeight(sheet, row, lineHeight*linesOf(text, coverWide)))
	}
	for i, value := range append([]any{line.what}, line.cells...) {
		at, style := cellOf(i, row), 0
		if i > 0 {
			style = line.style
		}
		cell, is := value.(excelize.Cell)
		if !is {
			cell = excelize.Cell{Value: value}
		}
		if cell.StyleID != 0 {
			style = cell.StyleID
		}
		if cell.Value == nil {
			continue
		}
		if err := errors.Join(w.SetCellValue(sheet, at, cell.Value), w.SetCellStyle(sheet, at, at, style)); err != nil {
			return err
		}
		if cell.Formula != "" {
			if err := w.SetCellFormula(sheet, at, cell.Formula); err != nil {
				return err
			}
		}
	}
	return nil
}

// pagePixels is the height of an upright A4 page between its margins, and rowPixels that of a row.
const (
	pagePixels = 970
	rowPixels  = 20
)

// chart draws the yards' honey on the cover: on a page of its own where the rest of the first has no room.
func (w *seasonBook) chart(row int, title string) error {
	yards := w.sheets[yardsSheet]
	of := func(column string) string { return w.formula("{Yards."+column+"}", "", 0) }
	fill := excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"D99A1C"}}
	labels := excelize.Font{Family: "Calibri", Size: 10, Color: "333333"}
	height := 110 + 20*min(yards.noted.rows, 40)
	if pagePixels < row*rowPixels+height {
		if err := w.InsertPageBreak(w.sheetName(coverSheet), fmt.Sprintf("A%d", row-1)); err != nil {
			return err
		}
	}
	return w.AddChart(w.sheetName(coverSheet), fmt.Sprintf("A%d", row), &excelize.Chart{
		Type:       excelize.Bar,
		Series:     []excelize.ChartSeries{{Name: `"` + title + `"`, Categories: of("yard"), Values: of("honey_kg"), Fill: fill}},
		Title:      excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{Text: title, Font: bold(12)}}},
		Legend:     excelize.ChartLegend{Position: "none"},
		VaryColors: new(false),
		YAxis:      excelize.ChartAxis{MajorGridLines: true, Font: labels},
		XAxis:      excelize.ChartAxis{ReverseOrder: true, Font: labels},
		Dimension:  excelize.ChartDimension{Width: 720, Height: uint(height)},
	})
}
