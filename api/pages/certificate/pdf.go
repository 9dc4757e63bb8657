package certificate

import (
	"bytes"
	"io"
	"strings"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"pullbook/api/locale"
)

// Measures of the printed certificate, in millimetres and points; it fits A4 as well
// as Letter.
const (
	pageMargin   = 14.0
	pageWidth    = 210 - 2*pageMargin
	rowHeight    = 4.0
	textSize     = 8.0
	qrMillimetre = 34.0
)

// writer lays a certificate out. Liberation Sans may be embedded by the SIL Open
// Font License.
type writer struct {
	*fpdf.Fpdf
	locale.Voice
}

// writePDF writes a lot's certificate as PDF of A4, clear of what Letter cuts off, and
// says how many sheets that fills, a part of the last one too.
func writePDF(to io.Writer, f locale.Voice, v *View) (sheets float64, err error) {
	w := writer{fpdf.New("P", "mm", "A4", ""), f}
	w.AddUTF8FontFromBytes("sans", "", liberationsansregular.TTF)
	w.AddUTF8FontFromBytes("sans", "B", liberationsansbold.TTF)
	w.SetMargins(pageMargin, pageMargin, pageMargin)
	w.SetAutoPageBreak(true, 297-279+pageMargin) // Letter is 279 mm high
	w.SetTitle(f.Say("Lot %s", v.Code), true)
	w.SetLang(f.Lang)
	w.SetFooterFunc(func() {
		w.SetY(-28)
		w.font("", 7)
		w.CellFormat(0, 4, f.Say("Lot %s · entry %s · page %s", v.Code, v.Entry, w.PageNo()), "", 0, "L", false, 0, "")
	})
	w.AddPage()
	w.top(v)
	w.body(f, v)
	if err := w.Error(); err != nil {
		return 0, err
	}
	sheets = float64(w.PageCount()-1) + w.GetY()/(279-pageMargin)
	return sheets, w.Output(to)
}

// inFont is text as the PDF's fonts can show it. Their tables end before emoji and
// rare ideographs, which would break all of it: a box stands for each.
func inFont(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= 0xffff {
			return '\u25a1'
		}
		return r
	}, text)
}

func (w writer) CellFormat(width, height float64, text, border string, line int, align string, fill bool, link int, address string) {
	w.Fpdf.CellFormat(width, height, inFont(text), border, line, align, fill, link, address)
}

func (w writer) MultiCell(width, height float64, text, border, align string, fill bool) {
	w.Fpdf.MultiCell(width, height, inFont(text), border, align, fill)
}

func (w writer) SplitText(text string, width float64) []string {
	return w.Fpdf.SplitText(inFont(text), width)
}

func (w writer) font(style string, points float64) { w.SetFont("sans", style, points) }

// top has the code, what the lot is, and the address that vouches for it.
func (w writer) top(v *View) {
	if png := v.code.PNG(); png != nil {
		w.picture("qr", png, pageMargin+pageWidth-qrMillimetre, pageMargin, qrMillimetre)
	}
	w.font("B", 18)
	w.CellFormat(pageWidth-qrMillimetre, 9, w.Say("Lot %s", v.Code), "", 1, "L", false, 0, "")
	w.font("", 10)
	for _, line := range []string{v.Outfit, v.Product, v.ContainersWords, v.StatusWords} {
		if line != "" {
			w.MultiCell(pageWidth-qrMillimetre-4, 5, line, "", "L", false)
		}
	}
	w.font("", 7)
	w.MultiCell(pageWidth-qrMillimetre-4, 3.4, w.Say("As of entry %s of the book, whose digest begins %s; printed %s. Whether this sheet still stands: %s", v.Entry, v.Digest, v.Printed, v.Verify), "", "L", false)
	if v.VerifyCaution != "" {
		w.MultiCell(pageWidth-qrMillimetre-4, 3.4, v.VerifyCaution, "", "L", false)
	}
	w.SetY(max(w.GetY(), pageMargin+qrMillimetre) + 1)
}

func (w writer) picture(name string, png []byte, x, y, width float64) {
	w.RegisterImageOptionsReader(name, fpdf.ImageOptions{ImageType: "PNG"}, bytes.NewReader(png))
	w.ImageOptions(name, x, y, width, 0, false, fpdf.ImageOptions{ImageType: "PNG"}, 0, "")
}

func (w writer) body(f locale.Voice, v *View) {
	w.heading(w.Say("Containers, in %s", v.Mass))
	w.containers(v.Containers)
	w.heading(w.Say("Make-up by yard and pull, in %s", v.Mass))
	rows := [][]string{{w.Say("yard"), w.Say("pulled"), w.Say("net"), w.Say("share") + " %"}}
	for _, s := range v.MakeUp {
		rows = append(rows, []string{s.Name, s.Pulled, s.Net, s.Share})
	}
	w.table([]float64{80, 40, 30, 32}, rows)
	w.heading(w.Say("Readings"))
	rows = [][]string{{w.Say("date"), w.Say("reading|on"), w.Say("what"), w.Say("figure"), w.Say("instrument")}}
	for _, r := range v.Readings {
		rows = append(rows, []string{r.At, r.On, r.What, r.Figure, r.Instrument})
	}
	w.table([]float64{24, 24, 44, 48, 42}, rows)
	if len(v.Readings) == 0 {
		w.lines(w.Say("None was taken on the lot or its containers."))
	}
	w.heating(f, v)
	w.checks(v.Checks, v.Elsewhere)
	w.keeps(v.Keeps)
	w.heading(w.Say("Cautions"))
	w.lines(v.Cautions...)
}

func (w writer) heading(text string) {
	w.together(4 * rowHeight)
	w.Ln(1.5)
	w.font("B", 9)
	w.CellFormat(0, 5, text, "B", 1, "L", false, 0, "")
	w.font("", textSize)
}

// together starts a page where what comes next would be parted.
func (w writer) together(height float64) {
	if w.GetY()+height > 279-pageMargin {
		w.AddPage()
	}
}

func (w writer) lines(lines ...string) {
	w.font("", textSize)
	for _, line := range lines {
		w.MultiCell(0, rowHeight-0.3, line, "", "L", false)
	}
}

// containers stand in two columns where there are many.
func (w writer) containers(all []containerRow) {
	columns := 1
	if len(all) > 6 {
		columns = 2
	}
	var head []string
	var widths []float64
	for range columns {
		head = append(head, w.Say("number"), w.Say("container|kind"), w.Say("tare"), w.Say("gross"), w.Say("net"), w.Say("state"))
		widths = append(widths, 20, 16, 12, 13, 13, 17)
	}
	if columns == 1 { // several may stand in a row
		widths = []float64{90, 20, 18, 18, 18, 18}
	}
	rows := [][]string{head}
	for i := 0; i < len(all); i += columns {
		var row []string
		for _, c := range all[i:min(i+columns, len(all))] {
			row = append(row, c.Number, c.Kind, c.Tare, c.Gross, c.Net, c.State)
		}
		rows = append(rows, row)
	}
	w.table(widths, rows)
}

// table writes rows, the first of which is its head, cutting no text: what does
// not fit its cell goes on in the next line of it.
func (w writer) table(widths []float64, rows [][]string) {
	for i, row := range rows {
		w.font(map[bool]string{true: "B"}[i == 0], textSize-0.5)
		lines, high := make([][]string, len(row)), 1
		for k, text := range row {
			lines[k] = w.SplitText(text, widths[k]-1)
			high = max(high, len(lines[k]))
		}
		w.together(float64(high) * (rowHeight - 0.4))
		x, y := w.GetX(), w.GetY()
		for k := range row {
			w.SetXY(x, y)
			w.MultiCell(widths[k], rowHeight-0.4, strings.Join(lines[k], "\n"), "", "L", false)
			x += widths[k]
		}
		w.SetXY(pageMargin, y+float64(high)*(rowHeight-0.4))
	}
}

func (w writer) heating(f locale.Voice, v *View) {
	if len(v.heat) == 0 {
		return
	}
	w.heading(w.Say("How warm it was: tanks in the week before and while filling, store since"))
	png, err := heatingPNG(f, v.heat)
	if err != nil {
		w.SetError(err)
		return
	}
	const height = pageWidth * heatingHeight / 690.0
	w.together(height + 2*rowHeight)
	w.picture("heating", png, pageMargin, w.GetY(), pageWidth)
	w.SetY(w.GetY() + height + 1)
	w.lines(strings.Join(v.Places, "; ") + ". " + w.Say("Where no temperature was logged, the place's usual one is drawn."))
}

func (w writer) checks(checks []checkRow, elsewhere string) {
	w.heading(w.Say("Verdicts"))
	if len(checks) == 0 {
		w.lines(w.Say("No check recorded."))
	}
	if elsewhere != "" {
		w.lines(elsewhere)
	}
	for _, c := range checks {
		w.together(3 * rowHeight)
		w.font("B", textSize)
		w.MultiCell(0, rowHeight, c.Title()+": "+c.Outcome, "", "L", false)
		if c.Outdated != "" {
			w.lines(w.Say("The check no longer fits the lot: %s.", c.Outdated))
		}
		w.brief(c.Brief)
		if len(c.Lines) == 0 {
			continue
		}
		rows := [][]string{{w.Say("parameter"), w.Say("limit"), w.Say("value"), w.Say("verdict"), w.Say("clause")}}
		for _, l := range c.Lines {
			rows = append(rows, []string{l.Parameter, l.Limit, l.Value, l.Outcome, strings.TrimSpace(l.Clause.Text + " " + l.Note)})
		}
		w.table([]float64{44, 40, 22, 30, 46}, rows)
	}
}

// brief tells lines one after another.
func (w writer) brief(lines []checkLine) {
	if len(lines) == 0 {
		return
	}
	told := make([]string, len(lines))
	for i, l := range lines {
		told[i] = l.Briefly() + " (" + l.Clause.Text + ")"
	}
	w.lines(strings.Join(told, "; ") + ".")
}

func (w writer) keeps(k keeping) {
	w.heading(w.Say("How long it keeps"))
	if k.Store == "" {
		w.lines(w.Say("Nothing of the lot is here to calculate with."))
		return
	}
	w.lines(k.Words)
	for _, line := range k.Lines {
		w.lines(line.String())
	}
}
