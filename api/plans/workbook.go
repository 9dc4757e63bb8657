package plans

import (
	"fmt"

	"github.com/xuri/excelize/v2"

	"pullbook/api/locale"
)

// book is a plan as a workbook that reckons: what follows from other cells is a formula, with what it comes to beside it.
type book struct {
	*excelize.File
	locale.Voice
	styles struct{ title, head, text, mass, figure, fine, percent int }
}

// newBook makes a workbook of what write puts into it. Its first sheet has no name of its own yet.
func newBook(v locale.Voice, write func(*book) error) (*excelize.File, error) {
	b := &book{File: excelize.NewFile(), Voice: v}
	err := b.dress()
	if err == nil {
		err = write(b)
	}
	if err != nil {
		_ = b.Close() // it is in memory alone
		return nil, fmt.Errorf("workbook of a plan: %w", err)
	}
	return b.File, nil
}

func (b *book) dress() (err error) {
	style := func(into *int, s excelize.Style) {
		if err == nil {
			*into, err = b.NewStyle(&s)
		}
	}
	oneDecimal, four, wrapped := "#,##0.0", "0.0000", &excelize.Alignment{Vertical: "top", WrapText: true}
	style(&b.styles.title, excelize.Style{Font: &excelize.Font{Bold: true, Size: 16}})
	style(&b.styles.head, excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: wrapped})
	style(&b.styles.text, excelize.Style{Alignment: wrapped})
	style(&b.styles.mass, excelize.Style{CustomNumFmt: &oneDecimal})
	style(&b.styles.figure, excelize.Style{NumFmt: 2}) // 0.00
	style(&b.styles.fine, excelize.Style{CustomNumFmt: &four})
	style(&b.styles.percent, excelize.Style{NumFmt: 10}) // 0.00 %
	return err
}

// mass is kilograms in the outfit's unit.
func (b *book) mass(kg float64) float64 { return kg * 1000 / b.GramsPerUnit }

func (b *book) headed(says string) excelize.Cell {
	return excelize.Cell{StyleID: b.styles.head, Value: says}
}

// reckoned is a formula with what it comes to, for programs that do not reckon by themselves.
func reckoned(style int, v any, formula string) excelize.Cell {
	return excelize.Cell{StyleID: style, Value: v, Formula: formula}
}

// sheet writes rows from the first on into a sheet of its own; the workbook's first sheet is taken where nothing
// stands in it yet. A row of nil stays empty. Widths are of the first columns, in characters.
func (b *book) sheet(name string, widths []float64, rows [][]any) error {
	if names := b.GetSheetList(); len(names) == 1 && names[0] == "Sheet1" {
		if err := b.SetSheetName(names[0], name); err != nil {
			return err
		}
	} else if _, err := b.NewSheet(name); err != nil {
		return err
	}
	stream, err := b.NewStreamWriter(name)
	if err != nil {
		return err
	}
	for i, width := range widths {
		if err := stream.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	for i, row := range rows {
		if err := stream.SetRow(fmt.Sprintf("A%d", i+1), row); err != nil {
			return err
		}
	}
	return stream.Flush()
}

func quotedSheet(name string) string { return "'" + name + "'" }

// columnName is the letters of a column, counted from 1.
func columnName(n int) string {
	name, err := excelize.ColumnNumberToName(n)
	if err != nil {
		panic(err) // columns are counted from what is written
	}
	return name
}
