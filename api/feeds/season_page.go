package feeds

import (
	"errors"
	"fmt"
	"math"

	"github.com/xuri/excelize/v2"
)

// The widths of columns, in characters.
const (
	narrowest = 8
	widest    = 46
	// indent is what a text's indent and a table's arrow take.
	indent = 3
	// leastWidest is how narrow the widest texts become where a page would be too wide otherwise.
	leastWidest = 18
	// pageWidth is what fits on a lying A4 page in letters that are still 9 points high: 277 mm between
	// the margins hold 149 characters of the workbook's font at its own 11 points, each 1.85 mm.
	pageWidth = 170
	// margin is 10 mm, in inches.
	margin = 0.39
)

// fitting are the widths of a sheet's columns: what heads and rows need, and less for long texts where
// all together would not fit on a page. A column in which nothing is has none.
func (s *seasonSheet) fitting() []float64 {
	most := float64(widest)
	for ; ; most -= 4 {
		widths, all := make([]float64, len(s.heads)), 0.0
		for i := range s.heads {
			if s.noted.rows == 0 || s.noted.columns[i].filled {
				widths[i] = min(max(s.need(i), narrowest), most)
				if s.forms[i] != formText {
					widths[i] = max(s.need(i), narrowest)
				}
				all += widths[i]
			}
		}
		if all <= pageWidth || most <= leastWidest {
			return widths
		}
	}
}

// need is how wide a column is that shows all it has in one line, and no word of its head broken.
func (s *seasonSheet) need(column int) float64 {
	need := longestWord(s.heads[column]) + indent
	if s.forms[column] == formText {
		return max(need, float64(s.noted.columns[column].longest+indent))
	}
	return max(need, widthOf[s.forms[column]]+1)
}

func longestWord(text string) (longest float64) {
	at := 0.0
	for _, r := range text {
		if at++; r == ' ' {
			at = 0
		}
		longest = max(longest, at)
	}
	return longest
}

// page makes a sheet and sets it up for print: lying, as wide as the paper, the heads on each page.
// What is wider than a page in legible letters goes on to the right, behind its first columns once more.
// Sheets without columns of a table stand upright. Each page says at its foot what it is of.
func (w *seasonBook) page(sheet string, widths []float64) error {
	const a4 = 9
	name := w.sheetName(sheet)
	if _, err := w.NewSheet(name); err != nil {
		return err
	}
	across, all := 1, 0.0
	for _, width := range widths {
		all += width
	}
	layout := excelize.PageLayoutOptions{Orientation: new("landscape"), Size: new(a4), FitToHeight: new(0)}
	titles := fmt.Sprintf("'%s'!$%d:$%d", name, sumsRow, headRow)
	if all > pageWidth {
		again := widths[0] + widths[1]
		across = 1 + int(math.Ceil((all-pageWidth)/(pageWidth-again)))
		titles = fmt.Sprintf("'%s'!$A:$B,%s", name, titles)
	}
	layout.FitToWidth = &across
	if widths == nil {
		layout.Orientation = new("portrait")
	}
	if err := errors.Join(
		w.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: new(true)}),
		w.SetPageLayout(name, &layout),
		w.SetPageMargins(name, &excelize.PageLayoutMarginsOptions{Left: new(margin), Right: new(margin)}),
		w.SetHeaderFooter(name, &excelize.HeaderFooterOptions{OddFooter: "&L&A&R&P / &N"}),
	); err != nil || widths == nil {
		return err
	}
	return w.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: titles, Scope: name})
}
