package feeds

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// The widths of columns, in characters.
const (
	narrowest = 8
	widest    = 46
	// indent is what a text's indent or a table's arrow takes, and the edges of a cell.
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
// all together would not fit on so few pages beside each other. A column in which nothing is has none.
// It returns how many pages stand beside each other as well.
func (s *seasonSheet) fitting() (widths []float64, across int) {
	for across = 1; ; across++ {
		for most := float64(widest); most >= leastWidest; most -= 4 {
			if widths = s.atMost(most); pagesAcross(widths) <= across {
				return widths, across
			}
		}
	}
}

// atMost are the widths of the columns where no text has more than so much.
func (s *seasonSheet) atMost(most float64) []float64 {
	widths := make([]float64, len(s.heads))
	for i := range s.heads {
		if s.noted.rows > 0 && !s.noted.columns[i].filled {
			continue
		}
		widths[i] = max(s.need(i), narrowest)
		if s.forms[i] == formText {
			widths[i] = min(widths[i], most)
		}
	}
	return widths
}

// pagesAcross is on how many pages beside each other columns fit. Each after the first begins with the first
// two columns once more.
func pagesAcross(widths []float64) int {
	pages, used := 1, 0.0
	for _, width := range widths {
		if used+width > pageWidth {
			pages, used = pages+1, widths[0]+widths[1]
		}
		used += width
	}
	return pages
}

// need is how wide a column is that shows all it has in one line, and no word of its head broken.
func (s *seasonSheet) need(column int) float64 {
	need := longestWord(s.heads[column]) + indent
	if s.forms[column] == formText {
		return max(need, float64(s.noted.columns[column].longest+indent))
	}
	switch s.forms[column] {
	case formInstant:
		return max(need, float64(len("2026-08-21 14:30")+2))
	case formDay, formYes:
		return max(need, widthOf[s.forms[column]]+1)
	}
	return max(need, float64(s.figures(column)+1))
}

// figures are the letters of a column's longest figure, or of its total.
func (s *seasonSheet) figures(column int) int {
	noted := s.noted.columns[column]
	if slices.Contains(summed, s.metric[column]) {
		return max(noted.longest, len(strconv.FormatFloat(noted.sum, 'f', massPlaces, 64)))
	}
	return noted.longest
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

// lineHeight is that of a line, in points.
const lineHeight = 15

// linesOf is how many lines a text takes in a width, being broken between words.
func linesOf(text string, width float64) float64 {
	const filled = 0.9
	letters := float64(len([]rune(text)))
	if width -= indent; letters <= width || width <= 0 {
		return 1
	}
	return math.Ceil(letters / (filled * width))
}

// upright is a sheet that is no table and stands upright, one page wide.
const upright = 0

// page makes a sheet and sets it up for print: lying, as wide as the paper, the heads on each page.
// What is wider than a page in legible letters goes on to the right, behind its first columns once more. Each page says at its foot what it is of.
func (w *seasonBook) page(sheet string, across int) error {
	const a4 = 9
	name := w.sheetName(sheet)
	if _, err := w.NewSheet(name); err != nil {
		return err
	}
	layout := excelize.PageLayoutOptions{Orientation: new("landscape"), Size: new(a4), FitToHeight: new(0)}
	titles := fmt.Sprintf("'%s'!$%d:$%d", name, sumsRow, headRow)
	if across > 1 {
		titles = fmt.Sprintf("'%s'!$A:$B,%s", name, titles)
	}
	layout.FitToWidth = new(max(across, 1))
	if across == upright {
		layout.Orientation = new("portrait")
	}
	if err := errors.Join(
		w.SetSheetProps(name, &excelize.SheetPropsOptions{FitToPage: new(true)}),
		w.SetPageLayout(name, &layout),
		w.SetPageMargins(name, &excelize.PageLayoutMarginsOptions{Left: new(margin), Right: new(margin)}),
		w.SetHeaderFooter(name, &excelize.HeaderFooterOptions{OddFooter: "&L&A&R&P / &N"}),
	); err != nil || across == upright {
		return err
	}
	return w.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: titles, Scope: name})
}
