package certificate

import (
	"bytes"
	"cmp"
	"encoding/base64"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"
	"rsc.io/qr"

	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/domain/standard"
	"pullbook/openapi"
)

// View is a lot's certificate in words and figures, the same for page and PDF.
type View struct {
	Outfit, Code, Product, Status, Override string
	Mass, Net, Filled, Printed              string
	Containers                              []containerRow
	// Count is of the containers, which may stand several in a row.
	Count    string
	MakeUp   []Source
	Readings []readingRow
	Checks   []checkRow
	// Elsewhere says where the lines of the checks stand, where there is no room for
	// them.
	Elsewhere             string
	Keeps                 keeping
	Places                []string
	Cautions              []string
	Entry, Digest, Verify string
	// VerifyCaution is what has to be known of the address to verify by.
	VerifyCaution string
	Heating, PDF  string
	QR            template.URL

	// ContainersWords and StatusWords say how many there are, and whether the lot
	// may be sold.
	ContainersWords, StatusWords string

	code *qr.Code
	heat []HeatSeries
}

type containerRow struct{ Number, Kind, Tare, Gross, Net, State string }

// Source is a yard's part of a lot, in the reader's words.
type Source struct{ Name, Pulled, Net, Share string }

type readingRow struct{ At, On, Instrument, What, Figure string }

type checkRow struct {
	Name SetName
	// Rest is which check it was: its entry and day.
	Rest, Outcome, Outdated string
	Lines                   []checkLine
	// Brief are lines that are told in running text, to save room.
	Brief []checkLine
}

// Title is the check in one line.
func (c checkRow) Title() string { return c.Name.String() + " " + c.Rest }

type checkLine struct {
	Parameter, Limit, Value, Outcome string
	Clause                           Quoted
	// Note is what has to be known of the clause.
	Note string
}

type keeping struct {
	// Store says what temperature is reckoned with; empty where nothing of the
	// lot is here.
	Store string
	// Words say at which temperature, how likely it ferments, and why.
	Words string
	Lines []keepLine
}

// keepLine is when one limit is passed.
type keepLine struct {
	What            string
	RuleSet, Clause Quoted
	When            string
}

func (k keepLine) String() string {
	return fmt.Sprintf("%s (%s, %s) %s", k.What, k.RuleSet.Text, k.Clause.Text, k.When)
}

// Layout puts a certificate into words and figures, and lays it out.
type Layout func(locale.Voice) (*View, error)

// Of takes from a book what a lot's certificate says. What it returns makes it, of no
// more than so many sheets of paper as PDF, and needs no book. Its code leads to
// an address.
func Of(s *request.Service, o db.Outfit, b *ledger.Book, lot ledger.ID, to request.Address, most float64) (Layout, error) {
	r, err := season.Lot(b, lot)
	if err != nil {
		return nil, err
	}
	checks, err := checksOf(b, r.LotID)
	if err != nil {
		return nil, err
	}
	kept, err := keepsOf(s, b, r.LotID)
	if err != nil {
		return nil, err
	}
	status, readings, sent, last := b.State().LotStatus(r.LotID).Status, readingsOf(b, r), sentOnAWord(b, r), b.Numbered(b.Len())
	v := &View{
		Outfit: o.Name, Code: r.Code, Product: r.Product, Override: overrideOf(b.Decided(r.LotID, EndOfTime)), Digest: shownDigest(last.Digest),
		Verify: to.Base + VerifyPath + sealOf(o.ID, b, r.LotID).String(), heat: HeatingOf(s, b, r),
	}
	return func(f locale.Voice) (*View, error) {
		v.Entry, v.VerifyCaution, v.Printed = f.Count(int(last.Number)), to.Caution.In(f), f.Minute(s.Now())
		v.head(f, r, status, sent)
		for _, k := range kept {
			v.Keeps = keepingIn(f, k)
		}
		var err error
		if v.code, err = qr.Encode(v.Verify, qr.M); err != nil {
			return nil, fmt.Errorf("QR code of lot %s: %w", v.Code, err)
		}
		v.QR = template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(v.code.PNG()))
		return v, v.layOut(f, &content{r, figuresRead(readings), checks, v.Keeps.Lines}, most)
	}, nil
}

// head fills what stands above the tables.
func (v *View) head(f locale.Voice, r *season.LotReport, status ledger.Status, sent []onAWord) {
	v.Status, v.Mass, v.Net, v.Filled = status.Text().In(f), f.Mass, f.Grams(r.NetG), Span(f, r.FirstFill, r.LastFill)
	v.Count, v.Cautions = f.Count(len(r.Containers)), f.SayEach(quality.CertificateCautions)
	v.ContainersWords = f.Say("Containers: %s, %s net, filled %s", v.Count, message.Kg(wire.Kg(r.NetG)), v.Filled)
	v.StatusWords = f.Say("Status: %s", v.Status)
	if v.Override != "" {
		v.StatusWords = f.Say("Status: %s, by a manager's override: %s", v.Status, v.Override)
	}
	for _, x := range sent {
		v.StatusWords = f.Say("%s. Sent to %s on a manager's word (entry %s): %s", v.StatusWords, x.Buyer, x.Entry, x.Note)
	}
	for _, h := range v.heat {
		v.Places = append(v.Places, h.words(f))
	}
}

func checkRows(f locale.Voice, checks []check, room layout) []checkRow {
	var out []checkRow
	for _, c := range checks {
		r := c.Result
		row := checkRow{
			Name: NameOfSetEdition(f, r.Name, r.Edition, r.Version), Outcome: standard.SayOutcome(r.Outcome).In(f),
			Rest: f.Say("(entry %s, on %s)", c.Entry, f.LongDate(ledger.Date(c.On))),
		}
		if !c.Outdated.IsEmpty() {
			row.Outdated = c.Outdated.In(f)
		}
		if r.Grade != "" {
			row.Outcome = f.Say("%s, grade %s", row.Outcome, standard.SayGrade(r.Grade))
		}
		for _, l := range r.Lines {
			line := lineRow(f, l, r.Version > 0)
			switch {
			case l.Outcome == standard.DoesNotApply.String() || !concerns(r, l):
			case room.outcomesOnly:
			case room.allBriefly || room.metBriefly && l.Outcome == standard.Meets.String():
				row.Brief = append(row.Brief, line)
			default:
				row.Lines = append(row.Lines, line)
			}
		}
		out = append(out, row)
	}
	return out
}

// concerns reports whether a line is about the lot: of the grade that it is of, or of
// the next one up.
func concerns(r ledger.RuleSetResult, l ledger.VerdictLine) bool {
	return l.Grade == "" || r.Grade == "" && r.NextGrade == "" || l.Grade == r.Grade || l.Grade == r.NextGrade
}

// Briefly is what was found, without limit and clause.
func (l checkLine) Briefly() string {
	if l.Value == locale.Missing {
		return l.Parameter + " " + l.Outcome
	}
	return l.Parameter + " " + l.Value + " " + l.Outcome
}

// lineRow says a stored line from its figures: its own words are English.
func lineRow(f locale.Voice, l ledger.VerdictLine, own bool) checkLine {
	out := checkLine{
		Parameter: standard.SayLabelled(l.Parameter, l.Label).In(f), Limit: standard.ReadBounds(l.Limit).In(f), Value: storedValue(f, l),
		Outcome: standard.SayOutcome(l.Outcome).In(f), Clause: Quote(f, standard.SayClause(l.Clause), own),
	}
	if l.Grade != "" {
		out.Parameter = f.Say("%s, grade %s", out.Parameter, standard.SayGrade(l.Grade))
	}
	if l.FromMemory {
		out.Note = f.Say("(from memory)")
	}
	return out
}

func storedValue(f locale.Voice, l ledger.VerdictLine) string {
	value, err := standard.ParseDecimal(l.Value)
	switch {
	case err != nil:
		return locale.Missing
	case l.LowValue != "":
		if low, err := standard.ParseDecimal(l.LowValue); err == nil {
			return f.Say("between %s and %s", low.Short().Said(), value.Short().Said())
		}
		return f.Say("%s", value.Short().Said())
	case l.LessThan:
		return f.Say("less than %s", value.Short().Said())
	}
	return f.Say("%s", value.Short().Said())
}

// keepsOf is how long a lot keeps; none where nothing of it is here.
func keepsOf(s *request.Service, b *ledger.Book, lot ledger.ID) ([]quality.Keeps, error) {
	on := reports.OnDay(s, b, nil)
	sets, err := reports.RuleSetsInUse(b, nil, on)
	if err != nil {
		return nil, err
	}
	return quality.Keeping(b, []ledger.ID{lot}, sets, on)
}

func keepingIn(f locale.Voice, k quality.Keeps) keeping {
	out := keeping{Store: k.StoreBasis.In(f)}
	out.Words = f.Say("Temperature of the store: %s. Risk of fermentation: %s. %s.", k.StoreBasis, message.F("risk|"+strings.ReplaceAll(k.Risk.String(), "_", " ")), message.Capital(k.Why))
	lines := slices.DeleteFunc(slices.Clone(k.Lines), func(l quality.KeepLine) bool { return l.Leaves == nil })
	slices.SortStableFunc(lines, func(l, o quality.KeepLine) int { return cmp.Compare(l.Leaves.Low, o.Leaves.Low) })
	for _, l := range lines {
		x := l.Leaves.Roughly(k.On)
		line := keepLine{
			What:    f.Say("%s passes %s", standard.SayParameter(l.Parameter), l.Limit),
			RuleSet: Quote(f, l.Set.SaidTitle(), l.Set.Own()), Clause: Quote(f, standard.SayClause(l.Clause), l.Set.Own()),
			When: f.Say("between %s and %s, expected %s", x.Low.Said(), x.High.Said(), x.Middle.Said()),
		}
		if l.Outside {
			line.What, line.When = f.Say("%s was outside %s", standard.SayParameter(l.Parameter), l.Limit), f.Say("when it was measured on %s", l.MeasuredOn.Said())
		}
		out.Lines = append(out.Lines, line)
	}
	return out
}

// PDFType is the media type of PDF.
const PDFType = "application/pdf"

// GetLotCertificatePDF is the certificate that goes with a lot, to print.
func (s Handler) GetLotCertificatePDF(ctx echo.Context, lot string, _ openapi.GetLotCertificatePDFParams) error {
	reports.Attach(ctx, "lot-sheet.pdf")
	to := s.AddressFor(ctx)
	return s.ReadAs(ctx, PDFType, to.Base, func(o db.Outfit, b *ledger.Book) (request.Write, error) {
		id, err := reports.InPath(b, ledger.KindLot, lot)
		if err != nil {
			return nil, err
		}
		return PDFOf(s.Service, locale.English, o, b, id, to)
	})
}

// PDFOf takes from a book what a lot's certificate says; what it returns writes the PDF.
func PDFOf(s *request.Service, t locale.Language, o db.Outfit, b *ledger.Book, lot ledger.ID, to request.Address) (request.Write, error) {
	layOut, err := Of(s, o, b, lot, to, sheetsOfPDF)
	loc := b.Location()
	return func() ([]byte, error) {
		f := locale.NewVoice(t, o.Units, loc)
		v, err := layOut(f)
		if err != nil {
			return nil, err
		}
		var out bytes.Buffer
		if _, err := writePDF(&out, f, v); err != nil {
			return nil, fmt.Errorf("certificate of lot %s: %w", v.Code, err)
		}
		return out.Bytes(), nil
	}, err
}
