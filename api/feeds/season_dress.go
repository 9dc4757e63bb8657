package feeds

import (
	"github.com/xuri/excelize/v2"
)

// sheetDress are the styles of a season's workbook beside those of the feeds.
type sheetDress struct {
	title int
	// left, leftDay and leftFigure are the cover's.
	left, leftDay, leftFigure int
	// wrapped goes on in further lines, without an indent.
	wrapped int
	// text stands off from the figure before it; longText goes on in further lines.
	text, longText int
	// textHead and rightHead are the heads of columns, which go on in further lines.
	textHead, rightHead int
}

func newSheetDress(f *excelize.File) (d sheetDress, err error) {
	style := func(into *int, s excelize.Style) {
		if err == nil {
			*into, err = f.NewStyle(&s)
		}
	}
	const thousandsAndCents = 4
	day := "yyyy-mm-dd"
	left := &excelize.Alignment{Horizontal: "left"}
	style(&d.title, excelize.Style{Font: bold(16)})
	style(&d.wrapped, excelize.Style{Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}})
	style(&d.left, excelize.Style{Alignment: left})
	style(&d.leftDay, excelize.Style{CustomNumFmt: &day, Alignment: left})
	style(&d.leftFigure, excelize.Style{NumFmt: thousandsAndCents, Alignment: left})
	style(&d.text, excelize.Style{Alignment: &excelize.Alignment{Horizontal: "left", Indent: 1, Vertical: "top"}})
	style(&d.longText, excelize.Style{Alignment: &excelize.Alignment{Horizontal: "left", Indent: 1, Vertical: "top", WrapText: true}})
	style(&d.textHead, excelize.Style{Font: bold(11), Alignment: &excelize.Alignment{Horizontal: "left", Indent: 1, Vertical: "top", WrapText: true}})
	style(&d.rightHead, excelize.Style{Font: bold(11), Alignment: &excelize.Alignment{Horizontal: "right", Vertical: "top", WrapText: true}})
	return d, err
}
