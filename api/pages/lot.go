package pages

import (
	"cmp"
	"slices"
	"strconv"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/reports"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/domain/standard"
	"pullbook/domain/trace"
)

// lotView is one lot with all that bears on whether it may leave.
type lotView struct {
	ID, Code, Product, Note, Store, Mass, Entries string
	// Elsewhere is nil except right after a form of the page was recorded.
	Elsewhere *elsewhereView
	// Doubt is what has to be known beside the state.
	Doubt                                   string
	Net, Held, Dispatched, Moisture, Filled string
	State                                   mark
	History                                 []lotDecision
	Here, Sent, Emptied                     []lotContainer
	Sift, SiftReadings                      siftView
	// OnHand is how many of them are here, whichever are asked for.
	OnHand int
	comesFrom
	MakeUp                                    []certificate.Source
	Readings                                  []lotReading
	Measured                                  []measuredBeside
	Verdicts                                  []ruleSetVerdict
	LeftOut                                   []string
	Checks                                    []lotCheck
	Ferments                                  fermentingView
	Keeps                                     keepingView
	Drawing, Sheet, SheetPDF, Labels, Heating string
	// Limits is where the limits are drawn; empty where no rule set says anything of the lot.
	Limits  string
	Actions lotActions
	// MayLeave: it is released, here, and whoever looks may send it off.
	MayLeave bool

	// asked is which of its containers are asked for.
	asked   sifting
	who     db.Principal
	entries int
	report  *season.LotReport
	status  ledger.Status
	// decided are the entries that held, released or opened it, the latest first.
	decided  []*ledger.Entry
	readings []readOnLot
	standing quality.Standing
	gathered *quality.Gathered
	expected []quality.Estimate
	on       standard.Date
	// sets are the rule sets in use, verdicts what they say; every are all rule sets, for those
	// who may check a lot.
	sets, every []ledger.Resolved
	verdicts    []standard.Check
	ferments    *quality.Fermentation
	kept        []quality.Keeps
	checks      []checkOfLot
}

// readOnLot is a reading of a lot. container is empty where it was on the lot as a whole.
type readOnLot struct {
	*ledger.Entry
	container, by string
	certificates  []*ledger.Entry
}

// checkOfLot is a recorded check, and why it no longer speaks of the lot.
type checkOfLot struct {
	*ledger.Entry
	outdated message.Text
	changed  []*ledger.Entry
}

// lotDecision is one time that somebody held, released or opened a lot.
type lotDecision struct {
	State                             mark
	At, By, Why, Note, Entry, Journal string
	// Override: released without a check that meets.
	Override bool
}

// lotReading is one figure or word read on the lot or on a container of it. Stated is what
// the laboratory's certificate says beside it.
type lotReading struct {
	What, Figure, On, At, Instrument, Method string
	Stated                                   []string
	// Certificates are the files of those of the laboratory's result.
	Certificates []paperView
}

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
	reply, err := p.replyShown(ctx)
	if err != nil {
		return err
	}
	asked, err := siftingAsked(ctx)
	if err != nil {
		return err
	}
	return p.kept(ctx, "lot.html", func(who db.Principal, b *ledger.Book) (wording, error) {
		v, err := p.lotView(who, b, id)
		if err != nil {
			return nil, err
		}
		return func(f locale.Voice) any {
			v.Elsewhere, v.asked = elsewhereViewOf(f, reply), asked
			return v.inWords(f, &refusedForm{})
		}, nil
	})
}

func lotParam(ctx echo.Context) (ledger.ID, error) {
	id, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		return id, fault.New(fault.NotFound, "The outfit has no such lot.")
	}
	return id, nil
}

// lotView takes from the book what is told of a lot.
func (p *pages) lotView(who db.Principal, b *ledger.Book, id ledger.ID) (*lotView, error) {
	r, err := season.Lot(b, id)
	if err != nil {
		return nil, err
	}
	v := &lotView{
		ID: r.LotID.String(), Code: r.Code, Product: r.Product, Note: r.Note, Store: b.Name(r.StoreID),
		Drawing: recallDrawingPath + "?of=" + r.LotID.String(), Sheet: sheetPath(r.LotID), SheetPDF: sheetPath(r.LotID) + ".pdf", Labels: labelsPath(r.LotID),
		who: who, entries: int(b.Len()), report: r, status: b.State().LotStatus(r.LotID).Status, decided: decisions(b, r.LotID),
		readings: lotReadings(b, r), on: reports.OnDay(p.Service, b, nil),
	}
	v.MayLeave = who.Role == db.Manager && r.HeldG > 0 && v.status == ledger.StatusReleased
	if len(certificate.HeatingOf(p.Service, b, r)) > 0 {
		v.Heating = lotPath(r.LotID) + "/heating.svg"
	}
	if v.checks, err = lotChecks(b, r.LotID); err != nil {
		return nil, err
	}
	return v, v.judge(b)
}

// judge takes what the rule sets say of the lot, and how it keeps.
func (v *lotView) judge(b *ledger.Book) (err error) {
	lot := v.report.LotID
	if v.gathered, err = quality.Gather(b, lot, v.on); err != nil {
		return err
	}
	if v.standing, err = quality.StandingOf(b, lot, v.on); err != nil {
		return err
	}
	v.expected = quality.Estimates(b, v.gathered, v.on)
	if v.sets, v.verdicts, err = verdictsToday(b, v.gathered, v.on); err != nil {
		return err
	}
	if v.ferments, err = quality.FermentationOf(b, v.gathered, quality.ClimateOf(b), v.on); err != nil {
		return err
	}
	v.ferments.Advise(b, v.gathered, v.on, v.sets...)
	if v.kept, err = quality.Keeping(b, []ledger.ID{lot}, v.sets, v.on); err != nil {
		return err
	}
	if v.who.Role != db.Reader {
		v.every, err = reports.EveryRuleSet(b, v.on)
	}
	return err
}

// verdictsToday are the rule sets in use, and what each says of what was gathered of a lot.
func verdictsToday(b *ledger.Book, gathered *quality.Gathered, on standard.Date) (sets []ledger.Resolved, verdicts []standard.Check, err error) {
	if sets, err = reports.RuleSetsInUse(b, nil, on); err != nil {
		return nil, nil, err
	}
	evidence, err := gathered.EvidenceOn(quality.ClimateOf(b), on)
	if err != nil {
		return nil, nil, err
	}
	for _, set := range sets {
		check, err := set.Check(evidence, on, standard.SimpleAcceptance())
		if err != nil {
			return nil, nil, err
		}
		verdicts = append(verdicts, check)
	}
	return sets, verdicts, nil
}

// inWords puts what was taken into words, with what a form held that the book refused.
func (v *lotView) inWords(f locale.Voice, refused *refusedForm) *lotView {
	r := v.report
	v.Mass, v.Entries, v.Doubt = f.Mass, f.Count(v.entries), v.standing.Doubt().In(f)
	v.Net, v.Held, v.Dispatched, v.Moisture, v.Filled = f.Grams(r.NetG), f.Grams(r.HeldG), f.Grams(r.DispatchedG), f.Percent(r.MoisturePct), certificate.Span(f, r.FirstFill, r.LastFill)
	v.State, v.MakeUp, v.LeftOut = statusMark(f, v.status), certificate.SourceRows(f, r.MakeUp, certificate.MostRows), f.SayEach(v.gathered.LeftOut)
	for _, e := range v.decided {
		v.History = append(v.History, decisionRow(f, e))
	}
	v.listReadings(f)
	v.containers(f, r.Containers)
	v.comesFrom = comesFromOf(f, r.MakeUp)
	v.Measured = measuredOf(f, v.gathered, v.expected)
	for i, set := range v.sets {
		v.Verdicts = append(v.Verdicts, verdictOf(f, set, &v.verdicts[i]))
		if len(v.Verdicts[i].Lines) > 0 {
			v.Limits = lotPath(r.LotID) + "/limits.svg"
		}
	}
	v.Ferments, v.Keeps = fermentingOf(f, v.ferments), keepingOf(f, v.kept, v.on)
	for _, c := range slices.SortedFunc(slices.Values(v.checks), func(x, y checkOfLot) int { return cmp.Compare(y.Number, x.Number) }) {
		v.Checks = append(v.Checks, c.row(f))
	}
	v.Actions = v.actions(f, refused)
	return v
}

// listReadings lists the figures that are asked for.
func (v *lotView) listReadings(f locale.Voice) {
	all := 0
	for _, reading := range v.readings {
		rows := reading.rows(f)
		all += len(rows)
		v.Readings = append(v.Readings, siftRows(v.asked, rows, func(r lotReading) bool {
			return v.asked.day(reading.OccurredAt.In(f.Zone)) && v.asked.holds(r.What, r.Figure, r.On, r.At, r.Instrument, r.Method)
		})...)
	}
	v.SiftReadings = v.asked.view(f, lotPath(v.report.LotID)+"#measured", len(v.Readings), all)
	v.SiftReadings.Part = "-readings"
}

// decisions are the entries by which a lot was held, released or opened, the latest first.
func decisions(b *ledger.Book, lot ledger.ID) (out []*ledger.Entry) {
	b.InForceOf(ledger.KindLotStatus, func(_ ledger.ID, e *ledger.Entry) bool {
		if b.Root(e.Body.(*ledger.LotStatus).LotID) == lot {
			out = append(out, e)
		}
		return true
	})
	slices.SortStableFunc(out, func(x, y *ledger.Entry) int { return y.OccurredAt.Compare(x.OccurredAt) })
	return out
}

func decisionRow(f locale.Voice, e *ledger.Entry) lotDecision {
	s := e.Body.(*ledger.LotStatus)
	d := lotDecision{
		State: statusMark(f, s.Status), At: f.Minute(e.OccurredAt), By: e.RecordedBy, Note: s.Note, Override: s.Override,
		Entry: f.Count(int(e.Number)), Journal: journalPath + "/" + e.ID.String(),
	}
	if s.Why != "" {
		d.Why = s.Why.Text().In(f)
	}
	return d
}

// containerAnchor is where on its lot's page a container is: the code on its
// label leads there.
func containerAnchor(fill ledger.ID) string { return "c" + fill.String()[:8] }

// containers lists those that are asked for, by what became of them.
func (v *lotView) containers(f locale.Voice, containers []season.Container) {
	for _, c := range containers {
		line := lotContainer{
			Anchor: containerAnchor(c.ID), Number: c.Number, Kind: c.Kind, Net: f.Grams(c.NetG), Filled: f.Minute(c.FilledAt), Tank: c.Tank,
			Buyer: c.Buyer, Gone: f.Day(c.GoneAt),
		}
		list := &v.Emptied
		switch c.State {
		case season.Held:
			list = &v.Here
			v.OnHand++
		case season.Dispatched:
			list = &v.Sent
		case season.Wasted:
			line.State = f.Say("thrown out")
		default:
			line.State = f.Say("back into a tank")
		}
		filled, gone := c.FilledAt.In(f.Zone), c.GoneAt.In(f.Zone)
		if (v.asked.day(filled) || !c.GoneAt.IsZero() && v.asked.day(gone)) && v.asked.holds(line.Number, line.Kind, line.Net, line.Filled, line.Tank, line.Buyer, line.Gone, line.State) {
			*list = append(*list, line)
		}
	}
	v.Sift = v.asked.view(f, lotPath(v.report.LotID)+"#containers", len(v.Here)+len(v.Sent)+len(v.Emptied), len(containers))
}

// lotReadings are all readings of a lot and its containers, earliest first.
func lotReadings(b *ledger.Book, r *season.LotReport) (out []readOnLot) {
	for _, id := range b.Basis(r.LotID, certificate.EndOfTime).Readings {
		e, _ := b.Entry(id)
		reading := e.Body.(*ledger.Reading)
		read := readOnLot{Entry: e, by: cmp.Or(reading.Laboratory, b.Name(reading.InstrumentID)), certificates: b.CertificatesOf(id)}
		if reading.On.Kind == ledger.PlaceContainer {
			read.container = b.Name(reading.On.ID)
		}
		out = append(out, read)
	}
	return out
}

// rows are the figures of a reading.
func (r readOnLot) rows(f locale.Voice) (out []lotReading) {
	reading := r.Body.(*ledger.Reading)
	results, at := reading.Results() // what cannot be judged is not shown as judged
	for i, x := range results {
		out = append(out, lotReading{
			standard.SayLabelled(x.Parameter, x.Label).In(f), result(f, x), cmp.Or(r.container, f.Say("the lot")), f.Day(r.OccurredAt), r.by, x.Method,
			stated(f, reading, at[i]), paperRows(f, r.certificates),
		})
	}
	return out
}

// stated is what a laboratory says beside one of its figures, which stands at a place of its
// reading, and of itself.
func stated(f locale.Voice, r *ledger.Reading, at string) (out []string) {
	own := at == "/moisture_pct" && r.Moisture.StdUncertaintyAsSent != nil
	for i := range r.Measured {
		m := &r.Measured[i]
		if at != "/measured/"+strconv.Itoa(i) {
			continue
		}
		own = r.Laboratory != "" && m.StdUncertainty != nil
		if m.LimitOfQuantification != nil {
			out = append(out, f.Say("measures from %s up", message.Figure(*m.LimitOfQuantification)))
		}
	}
	if own {
		out = append(out, f.Say("uncertainty as the laboratory states it"))
	}
	if r.CertificateNumber != "" {
		out = append(out, f.Say("certificate %s", r.CertificateNumber))
	}
	if r.AnalysedOn != "" {
		out = append(out, f.Say("analysed on %s", f.Date(string(r.AnalysedOn))))
	}
	if r.Accreditation != "" {
		out = append(out, f.Say("accreditation: %s", r.Accreditation))
	}
	return out
}

// result is a result as it was reported.
func result(f locale.Voice, x standard.Result) string {
	value, err := standard.ParseDecimal(x.Value)
	if err != nil {
		return standard.SayWord(x.Value).In(f)
	}
	text := f.Say("%s", value.Said())
	if x.LessThan {
		text = f.Say("less than %s", value.Said())
	}
	if u, err := standard.ParseDecimal(x.StdUncertainty); err == nil && x.StdUncertainty != "" {
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

// lotChecks are the checks recorded of a lot, in the order in which the book learned of them.
func lotChecks(b *ledger.Book, lot ledger.ID) (out []checkOfLot, err error) {
	entries := map[ledger.ID]bool{}
	b.InForceOf(ledger.KindCheck, func(_ ledger.ID, e *ledger.Entry) bool {
		if c := e.Body.(*ledger.Check); c.Found != nil && b.Root(c.LotID) == lot {
			entries[e.ID], out = true, append(out, checkOfLot{Entry: e, outdated: b.Outdated(e.ID)})
		}
		return true
	})
	if len(out) == 0 {
		return nil, nil
	}
	superseded, err := trace.SupersededBy(b, entries)
	if err != nil {
		return nil, err
	}
	for _, x := range superseded {
		for i := range out {
			if out[i].ID == x.By.ID {
				out[i].changed = append(out[i].changed, x.Through...)
			}
		}
	}
	return out, nil
}

func (e checkOfLot) row(f locale.Voice) lotCheck {
	c := e.Body.(*ledger.Check)
	line := lotCheck{
		Entry: f.Count(int(e.Number)), On: f.Date(string(c.On)), By: e.RecordedBy, Note: c.Note, Journal: journalPath + "/" + e.ID.String(), Outdated: e.outdated.In(f),
	}
	for _, by := range e.changed {
		line.Changed = append(line.Changed, entryLink{journalPath + "/" + by.ID.String(), f.Count(int(by.Number))})
	}
	for _, r := range c.Found.Results {
		line.Results = append(line.Results, checkResult{certificate.NameOfSetEdition(f, r.Name, r.Edition, r.Version), standard.SayGrade(r.Grade).In(f), outcome(f, r.Outcome)})
	}
	return line
}
