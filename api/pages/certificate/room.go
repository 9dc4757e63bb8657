package certificate

import (
	"fmt"
	"io"

	"pullbook/api/locale"
	"pullbook/domain/season"
)

// A lot's certificate prints on two sheets of paper. What fits on them as a browser prints
// the page, whose letters are larger, is 1.7 sheets of the PDF (measured).
const (
	sheetsOfPDF  = 2.0
	SheetsOfPage = 1.7
)

// layout says how much of a certificate is drawn together.
type layout struct {
	// rows is how many a table has before its rows are drawn together.
	rows int
	// metBriefly tells the limits that are met in running text, allBriefly all of them;
	// outcomesOnly tells what each rule set says as a whole.
	metBriefly, allBriefly, outcomesOnly bool
	// keeps is how many limits are named that time uses up, the first to be passed
	// first; 0 for all.
	keeps int
}

// layouts go from a certificate with everything to one of a lot that everything was
// measured and checked of.
var layouts = []layout{
	{rows: MostRows},
	{rows: 24},
	{rows: 12, metBriefly: true, keeps: 12},
	{rows: 6, metBriefly: true, keeps: 6},
	{rows: 6, allBriefly: true, keeps: 4},
	{rows: 6, outcomesOnly: true, keeps: 3},
}

// surelyFits is how many rows of tables surely fit on two sheets: each has room for
// some seventy lines, of which head, plot and cautions take forty, and a row
// may be of two.
const surelyFits = 40

// content is what the rows of a certificate are made of.
type content struct {
	lot      *season.LotReport
	readings []reading
	checks   []check
	keeps    []keepLine
}

// layOut fills the tables of a certificate, with as little drawn together as lets it fill no
// more than so many sheets as PDF.
func (v *View) layOut(f locale.Voice, c *content, most float64) error {
	for i, room := range layouts {
		v.Containers, v.MakeUp, v.Readings = containerRows(f, c.lot.Containers, room.rows), SourceRows(f, c.lot.MakeUp, room.rows), readingRows(f, c.readings, room.rows)
		v.Checks, v.Keeps.Lines = checkRows(f, c.checks, room), c.keeps
		if v.Elsewhere = ""; room.outcomesOnly {
			v.Elsewhere = f.Say("There are too many rule sets to print every limit, so this says what each comes to as a whole. The book has the limits one by one.")
		}
		if room.keeps > 0 {
			v.Keeps.Lines = c.keeps[:min(len(c.keeps), room.keeps)]
		}
		if i+1 == len(layouts) || v.rows() <= surelyFits {
			return nil
		}
		sheets, err := writePDF(io.Discard, f, v)
		if err != nil {
			return fmt.Errorf("certificate of lot %s: %w", v.Code, err)
		}
		if sheets <= most {
			return nil
		}
	}
	return nil
}

// rows counts those of all tables.
func (v *View) rows() int {
	n := (len(v.Containers)+1)/2 + len(v.MakeUp) + len(v.Readings) + len(v.Keeps.Lines)
	for _, c := range v.Checks {
		n += 2 + len(c.Lines) + len(c.Brief)/2
	}
	return n
}
