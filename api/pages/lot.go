package pages

import (
	"cmp"
	"slices"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/reports"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/domain/standard"
	"pullbook/domain/trace"
)

// lotView is one lot with all that bears on whether it may leave.
type lotView struct {
	ID, Code, Product, Note, Store, Mass, Entries string
	Net, Held, Dispatched, Moisture, Filled       string
	State                                         mark
	History                                       []lotDecision
	Here, Sent, Emptied                           []lotContainer
	MakeUp                                        []certificate.Source
	Readings                                      []lotReading
	Measured                                      []measuredBeside
	Verdicts                                      []ruleSetVerdict
	LeftOut                                       []string
	Checks                                        []lotCheck
	Ferments                                      fermentingView
	Keeps                                         keepingView
	Drawing, Sheet, SheetPDF, Labels, Heating     string
	Actions                                       lotActions
	// MayLeave: it is released, here, and whoever looks may send it off.
	MayLeave bool
}

// lotDecision is one time that somebody held, released or opened a lot.
type lotDecision struct {
	State                             mark
	At, By, Why, Note, Entry, Journal string
	// Override: released without a check that meets.
	Override bool
}

// lotReading is one figure or word read on the lot or on a container of it.
type lotReading struct{ What, Figure, On, At, Instrument, Method string }

type lotContainer struct{ Anchor, Number, Kind, Net, Filled, Tank, Buyer, Gone, State string }

// measuredBeside is what was measured of a parameter beside what the book
// expects of it.
type measuredBeside struct{ Parameter, Measured, Expected, Low, High, Unit, How string }

// lotCheck is a recorded check.
type lotCheck struct {
	Entry, On, By, Note, Journal string
	Results                      []checkResult
	// Outdated says why it no longer speaks of the lot; Changed are the entries by
	// which figures changed that it rested on.
	Outdated string
	Changed  []entryLink
}

type checkResult struct {
	Name  certificate.SetName
	Grade string
	mark
}

func (p *pages) lotPage(ctx echo.Context) error {
	id, err := lotParam(ctx)
	if err != nil {
		return err
	}
	return p.kept(ctx, "lot.html", func(who db.Principal, f locale.Voice, b *ledger.Book) (any, error) {
		return p.lotView(f, who, b, id, &refusedForm{})
	})
}

func lotParam(ctx echo.Context) (ledger.ID, error) {
	id, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		return id, fault.New(fault.NotFound, "The outfit has no such lot.")
	}
	return id, nil
}

func (p *pages) lotView(f locale.Voice, who db.Principal, b *ledger.Book, id ledger.ID, refused *refusedForm) (*lotView, error) {
	r, err := season.Lot(b, id)
	if err != nil {
		return nil, err
	}
	on := reports.OnDay(p.Service, b, nil)
	v := &lotView{
		ID: r.LotID.String(), Code: r.Code, Product: r.Product, Note: r.Note, Store: b.Name(r.StoreID), Mass: f.Mass, Entries: f.Count(int(b.Len())),
		Net: f.Grams(r.NetG), Held: f.Grams(r.HeldG), Dispatched: f.Grams(r.DispatchedG), Moisture: f.Percent(r.MoisturePct), Filled: certificate.Span(f, r.FirstFill, r.LastFill),
		State: statusMark(f, b.State().LotStatus(r.LotID).Status), History: decisions(f, b, r.LotID), MakeUp: certificate.SourceRows(f, r.MakeUp, certificate.MostRows),
		Readings: lotReadings(f, b, r),
		Drawing:  recallDrawingPath + "?of=" + r.LotID.String(), Sheet: sheetPath(r.LotID), SheetPDF: sheetPath(r.LotID) + ".pdf",
		Labels: labelsPath(r.LotID), Heating: lotPath(r.LotID) + "/heating.svg",
	}
	v.MayLeave = who.Role == db.Manager && r.HeldG > 0 && b.State().LotStatus(r.LotID).Status == ledger.StatusReleased
	if len(certificate.HeatingOf(p.Service, b, r)) == 0 {
		v.Heating = ""
	}
	v.containers(f, r.Containers)
	g, err := quality.Gather(b, r.LotID, on)
	if err != nil {
		return nil, err
	}
	for _, l := range g.LeftOut {
		v.LeftOut = append(v.LeftOut, l.In(f))
	}
	v.Measured = measuredOf(f, g, quality.Estimates(b, g, on))
	sets, err := reports.RuleSetsInUse(b, nil, on)
	if err != nil {
		return nil, err
	}
	if v.Verdicts, err = verdictsOf(f, g, sets, on); err != nil {
		return nil, err
	}
	if v.Ferments, err = fermentingOf(f, b, g, on); err != nil {
		return nil, err
	}
	if v.Keeps, err = keepingOf(f, b, r.LotID, sets, on); err != nil {
		return nil, err
	}
	if v.Checks, err = lotChecks(f, b, r.LotID); err != nil {
		return nil, err
	}
	v.Actions, err = actionsOf(f, who, b, r, sets, on, refused)
	return v, err
}

// decisions are what was decided about a lot, the latest first.
func decisions(f locale.Voice, b *ledger.Book, lot ledger.ID) []lotDecision {
	type happened struct {
		at time.Time
		lotDecision
	}
	var out []happened
	b.InForceOf(ledger.KindLotStatus, func(_ ledger.ID, e *ledger.Entry) bool {
		s := e.Body.(*ledger.LotStatus)
		if b.Root(s.LotID) != lot {
			return true
		}
		d := lotDecision{
			State: statusMark(f, s.Status), At: f.Minute(e.OccurredAt), By: e.RecordedBy, Note: s.Note, Override: s.Override,
			Entry: f.Count(int(e.Number)), Journal: journalPath + "/" + e.ID.String(),
		}
		if s.Why != "" {
			d.Why = s.Why.Text().In(f)
		}
		out = append(out, happened{e.OccurredAt, d})
		return true
	})
	slices.SortStableFunc(out, func(x, y happened) int { return y.at.Compare(x.at) })
	list := make([]lotDecision, len(out))
	for i, d := range out {
		list[i] = d.lotDecision
	}
	return list
}

// containerAnchor is where on its lot's page a container is: the code on its
// label leads there.
func containerAnchor(fill ledger.ID) string { return "c" + fill.String()[:8] }

func (v *lotView) containers(f locale.Voice, containers []season.Container) {
	for _, c := range containers {
		line := lotContainer{
			Anchor: containerAnchor(c.ID), Number: c.Number, Kind: c.Kind, Net: f.Grams(c.NetG), Filled: f.Minute(c.FilledAt), Tank: c.Tank,
			Buyer: c.Buyer, Gone: f.Day(c.GoneAt),
		}
		switch c.State {
		case season.Held:
			v.Here = append(v.Here, line)
		case season.Dispatched:
			v.Sent = append(v.Sent, line)
		case season.Wasted:
			line.State = f.Say("thrown out")
			v.Emptied = append(v.Emptied, line)
		default:
			line.State = f.Say("back into a tank")
			v.Emptied = append(v.Emptied, line)
		}
	}
}

// lotReadings are all figures read on a lot and its containers, earliest first.
func lotReadings(f locale.Voice, b *ledger.Book, r *season.LotReport) []lotReading {
	var out []lotReading
	for _, id := range b.Basis(r.LotID, certificate.EndOfTime).Readings {
		e, _ := b.Entry(id)
		reading := e.Body.(*ledger.Reading)
		on, by := f.Say("the lot"), cmp.Or(reading.Laboratory, b.Name(reading.InstrumentID))
		if reading.On.Kind == ledger.PlaceContainer {
			on = b.Name(reading.On.ID)
		}
		results, _ := reading.Results() // what cannot be judged is not shown as judged
		for _, x := range results {
			out = append(out, lotReading{standard.SayParameter(x.Parameter).In(f), result(f, x), on, f.Day(e.OccurredAt), by, x.Method})
		}
	}
	return out
}

// result is a result as it was reported.
func result(f locale.Voice, x standard.Result) string {
	value, err := standard.ParseDecimal(x.Value)
	if err != nil {
		return f.Say("word|" + x.Value)
	}
	text := f.Say("%s", value.Said())
	if x.LessThan {
		text = f.Say("less than %s", value.Said())
	}
	if u, err := standard.ParseDecimal(x.StdUncertainty); err == nil && u.Sign() > 0 {
		text += " ± " + f.Number(2*u.Float64(), max(1, int(value.Places())))
	}
	return text + " " + standard.SayUnit(x.Unit).In(f)
}

// measuredOf sets what was measured beside what the book expects.
func measuredOf(f locale.Voice, g *quality.Gathered, expected []quality.Estimate) []measuredBeside {
	var out []measuredBeside
	for _, e := range expected {
		line := measuredBeside{
			Parameter: standard.SayParameter(e.Parameter).In(f), Measured: locale.Missing, Unit: standard.SayUnit(e.Unit).In(f), How: e.How.In(f),
			Expected: f.Number(e.Middle, 1), Low: f.Number(e.Low, 1), High: f.Number(e.High, 1),
		}
		for i, m := range g.Evidence.Estimates(e.Parameter) {
			text := f.Say("%s", m.High.Short().Said())
			if m.Low.Cmp(m.High) != 0 {
				text = f.Say("less than %s", m.High.Short().Said())
			}
			if m.UncertaintyKnown {
				text += " ± " + f.Number(2*m.StdUncertainty, 1)
			}
			if i == 0 {
				line.Measured = text
				continue
			}
			line.Measured += "; " + text
		}
		out = append(out, line)
	}
	return out
}

// lotChecks are the checks recorded of a lot, the latest first.
func lotChecks(f locale.Voice, b *ledger.Book, lot ledger.ID) ([]lotCheck, error) {
	entries := map[ledger.ID]bool{}
	var found []*ledger.Entry
	b.InForceOf(ledger.KindCheck, func(_ ledger.ID, e *ledger.Entry) bool {
		if c := e.Body.(*ledger.Check); c.Found != nil && b.Root(c.LotID) == lot {
			entries[e.ID], found = true, append(found, e)
		}
		return true
	})
	if len(found) == 0 {
		return nil, nil
	}
	slices.SortFunc(found, func(x, y *ledger.Entry) int { return cmp.Compare(y.Number, x.Number) })
	superseded, err := trace.SupersededBy(b, entries)
	if err != nil {
		return nil, err
	}
	changed := map[ledger.ID][]entryLink{}
	for _, x := range superseded {
		for _, e := range x.Through {
			changed[x.By.ID] = append(changed[x.By.ID], entryLink{journalPath + "/" + e.ID.String(), f.Count(int(e.Number))})
		}
	}
	var out []lotCheck
	for _, e := range found {
		c := e.Body.(*ledger.Check)
		line := lotCheck{
			Entry: f.Count(int(e.Number)), On: f.Date(string(c.On)), By: e.RecordedBy, Note: c.Note, Journal: journalPath + "/" + e.ID.String(),
			Outdated: b.Outdated(e.ID).In(f), Changed: changed[e.ID],
		}
		for _, r := range c.Found.Results {
			line.Results = append(line.Results, checkResult{certificate.NameOfSetEdition(f, r.Name, r.Edition, r.Version), standard.SayGrade(r.Grade).In(f), outcome(f, r.Outcome)})
		}
		out = append(out, line)
	}
	return out, nil
}
