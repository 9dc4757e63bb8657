package pages

import (
	"cmp"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/db"
	"pullbook/domain/estimate"
	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

const (
	tankRoute      = tanksPath + "/:id"
	tankChartRoute = tankRoute + "/course.svg"
)

// tankView is one tank's story over a range of time.
type tankView struct {
	tankCard
	Mass, Temperature string
	ID                string
	Ranges            []rangeChoice
	First, Last       string
	Chart, Narrow     string
	// Samples are the plot's curves in figures.
	Samples []tankSample
	// In and Out are what came and went over the range.
	In, Out string
	// Latest and Earlier are what happened, the latest first.
	Latest, Earlier eventTable
	// Unshown are earlier events of the range.
	Unshown int
	Sift    siftView
	MakeUp  []sourceRow
}

type rangeChoice struct {
	Address, Name string
	Here          bool
}

// eventTable is some of what happened to a tank.
type eventTable struct {
	Label string
	Rows  []tankEvent
}

type tankSample struct{ When, Held, Moisture, Warm, HMF string }

type tankEvent struct {
	When, What, In, Out, Held, Reading string
	Entry                              entryLink

	at time.Time
}

type sourceRow struct{ Address, Name, Share, Mass string }

// span of time that a tank's story is told of.
type tankRange struct {
	key         string
	from, until time.Time
}

// The ranges that a reader may choose.
const (
	rangeSeason  = "season"
	rangeDays    = "days"
	rangeHolding = "holding"
	rangeDaysLen = 14 * 24 * time.Hour
	// aroundWhatHappened is shown of the time before the first and after the last thing that happened.
	aroundWhatHappened = 24 * time.Hour
)

// tankAsked is the tank that an address names.
func tankAsked(ctx echo.Context, b *ledger.Book) (ledger.ID, error) {
	id, err := uuid.Parse(ctx.Param("id"))
	if err == nil {
		if e := b.InForce(id); e != nil && e.Kind == ledger.KindTank {
			return b.Root(id), nil
		}
	}
	return id, fault.New(fault.NotFound, "The outfit has no such tank.")
}

// rangeOf is the range that a query asks for: this season, the last days of the
// book, or since the tank last came to hold honey.
func (p *pages) rangeOf(ctx echo.Context, b *ledger.Book, tank ledger.ID) tankRange {
	r := tankRange{key: ctx.QueryParam("range"), until: b.Latest()}
	if r.until.IsZero() { // nothing happened yet
		r.until = p.Now()
	}
	since, ever := b.State().HoldsSince(tank)
	switch {
	case r.key == rangeDays:
		r.from = r.until.Add(-rangeDaysLen)
		return r
	case r.key == rangeHolding && ever:
		r.from = since.Add(-time.Hour)
		return r
	}
	r.key = rangeSeason
	r.from = r.until.AddDate(-1, 0, 0)
	id, found, err := p.chosen("", b)
	if s := ledger.Named[ledger.Season](b, id); err == nil && found && s != nil {
		if first, err := s.First.On(b.Location()); err == nil && first.Before(r.until) {
			r.from = first
		}
		if last, err := s.Last.On(b.Location()); err == nil && last.AddDate(0, 0, 1).Before(r.until) && last.After(r.from) {
			r.until = last.AddDate(0, 0, 1)
		}
	}
	return r.around(b, tank)
}

// around is the range from shortly before the first thing that happened to the tank, and until
// shortly after the last where it has been empty since.
func (r tankRange) around(b *ledger.Book, tank ledger.ID) tankRange {
	first, last, any := b.HappenedTo(tank, r.from, r.until)
	if !any {
		return r
	}
	if from := first.Add(-aroundWhatHappened); from.After(r.from) {
		r.from = from
	}
	holds, _ := b.State().Holder(tank)
	if until := last.Add(aroundWhatHappened); holds.Grams == 0 && r.until.Equal(b.Latest()) && until.Before(r.until) {
		r.until = until
	}
	return r
}

func (p *pages) tank(ctx echo.Context) error {
	asked, err := siftingAsked(ctx)
	if err != nil {
		return err
	}
	return p.kept(ctx, "tank.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		id, err := tankAsked(ctx, b)
		if err != nil {
			return nil, err
		}
		r := p.rangeOf(ctx, b, id)
		tanks, course, meter := tanksNow(b, func(t season.TankLine) bool { return t.TankID == id }), b.Course(id, r.from, r.until, tankSamples), b.Meter(id)
		_, ever := b.State().HoldsSince(id)
		l, happened := links{}, make([]message.Text, len(course))
		for i, m := range course {
			if m.Of != nil {
				happened[i] = tankHappening(b, id, m)
				l.add(b, m.Root)
			}
		}
		return func(f locale.Voice) any {
			v := &tankView{Mass: f.Mass, Temperature: f.Temperature, ID: id.String(), First: f.Day(r.from), Last: f.Minute(r.until)}
			for _, t := range tanks {
				v.tankCard, v.MakeUp = tankCardOf(f, t, p.Now()), makeUpRows(f, t.MakeUp)
			}
			v.chooseRange(f, id, r, ever)
			v.happened(f, v.tell(f, course, happened, l, meter), asked, tankPath(id)+"#what-happened")
			return v
		}, nil
	})
}

func makeUpRows(f locale.Voice, sources []season.Source) []sourceRow {
	var out []sourceRow
	for _, s := range sources {
		row := sourceRow{Name: s.Name, Share: f.Share(s.Share), Mass: f.Grams(s.Grams)}
		if s.From.Kind == ledger.PlaceYard {
			row.Address = yardPath(s.From.ID)
		}
		out = append(out, row)
	}
	return out
}

func (v *tankView) chooseRange(f locale.Voice, id ledger.ID, r tankRange, everHeld bool) {
	add := func(key, name string) {
		v.Ranges = append(v.Ranges, rangeChoice{tankPath(id) + "?" + url.Values{"range": {key}}.Encode(), name, key == r.key})
	}
	add(rangeSeason, f.Say("This season"))
	add(rangeDays, f.Say("Last 14 days"))
	if everHeld {
		add(rangeHolding, f.Say("Since it last held honey"))
	}
	v.Chart = tankPath(id) + "/course.svg?" + url.Values{"range": {r.key}}.Encode()
	v.Narrow = v.Chart + "&form=narrow"
}

// How much of a story is told in figures.
const (
	tankSamples = 11
	mostEvents  = 80
	// latestEvents are in sight, the earlier ones folded.
	latestEvents = 8
)

// tell shows a tank's course, and returns what happened, the latest first. happened says what that
// was at each moment of the course.
func (v *tankView) tell(f locale.Voice, course []ledger.Moment, happened []message.Text, l links, meter *heat.Meter) (events []tankEvent) {
	var in, out int64
	for i, m := range course {
		switch {
		case m.Of != nil:
			in, out = in+m.InG, out+m.OutG
			events = append(events, tankEventOf(f, m, happened[i], l))
		case m.Even:
			s := tankSample{When: f.Minute(m.At), Held: f.Grams(m.Grams), Moisture: locale.Missing, HMF: locale.Missing, Warm: f.Number(f.Degrees(meter.TemperatureC(m.At)), 1)}
			if m.Belief != nil {
				s.Moisture, s.HMF = estimated(f, m.Belief.Moisture, 1), estimated(f, m.Belief.HMF(), 1)
			}
			v.Samples = append(v.Samples, s)
		}
	}
	v.In, v.Out = f.Grams(in), f.Grams(out)
	slices.Reverse(events)
	return events
}

// happened leaves of what happened, the latest first, what is asked for, and of that the latest.
func (v *tankView) happened(f locale.Voice, events []tankEvent, asked sifting, address string) {
	left := siftRows(asked, events, func(e tankEvent) bool {
		return asked.day(e.at.In(f.Zone)) && asked.holds(e.When, e.What, e.In, e.Out, e.Held, e.Reading, e.Entry.Name)
	})
	v.Unshown = max(0, len(left)-mostEvents)
	left = left[:len(left)-v.Unshown]
	v.Sift = asked.view(f, address, len(left), len(events), "range")
	latest := latestEvents
	if asked.on() {
		latest = len(left)
	}
	latest = min(latest, len(left))
	v.Latest = eventTable{f.Say("table of what happened"), left[:latest]}
	v.Earlier = eventTable{f.Say("table of what happened before"), left[latest:]}
}

// estimated is a mean with its standard deviation.
func estimated(f locale.Voice, e estimate.Estimate, places int) string {
	return f.Number(e.Mean, places) + " ± " + f.Number(e.StandardDeviation(), places)
}

// tankEvent is something that happened to a tank, as a line of its table.
func tankEventOf(f locale.Voice, m ledger.Moment, happened message.Text, l links) tankEvent {
	e := tankEvent{When: f.Minute(m.At), What: happened.In(f), Held: f.Grams(m.Grams), Entry: l.to(f, m.Root), at: m.At}
	if m.InG != 0 {
		e.In = f.Grams(m.InG)
	}
	if m.OutG != 0 {
		e.Out = f.Grams(m.OutG)
	}
	if r, ok := m.Of.Body.(*ledger.Reading); ok {
		e.Reading = readingText(f, r)
	}
	return e
}

// tankHappening says in words what happened to a tank.
func tankHappening(b *ledger.Book, tank ledger.ID, m ledger.Moment) message.Text {
	switch x := m.Of.Body.(type) {
	case *ledger.Movement:
		if b.Root(x.To.ID) == tank {
			return message.F("in from %s", placeWords(b, x.From))
		}
		return message.F("out to %s", placeWords(b, x.To))
	case *ledger.Fill:
		return message.F("filled into %s, lot %s", x.Container, b.Name(x.LotID))
	case *ledger.Stocktake:
		if x.Method == "scale" {
			return message.F("stocktake by scale")
		}
		return message.F("stocktake by dip")
	case *ledger.Wash:
		return message.F("washed")
	case *ledger.Reading:
		if x.Laboratory != "" {
			return message.F("laboratory: %s", x.Laboratory)
		}
		return message.F("reading")
	}
	return message.Verbatim(string(m.Of.Kind))
}

// placeWords is how one speaks of where honey came from or went.
func placeWords(b *ledger.Book, place ledger.Place) message.Text {
	name := cmp.Or(b.Name(place.ID), locale.Missing)
	switch place.Kind {
	case ledger.PlaceRun:
		return message.F("run %s", name)
	case ledger.PlaceContainer:
		return message.F("container %s", name)
	case ledger.PlaceWaste:
		return message.F("waste")
	}
	return message.Verbatim(name)
}

// readingText is what a reading found: moisture, HMF, diastase.
func readingText(f locale.Voice, r *ledger.Reading) string {
	var out []string
	if r.Moisture != nil {
		out = append(out, f.Number(r.Moisture.Pct, 1)+" %")
	}
	for _, m := range r.Measured {
		switch m.Quantity {
		case chart.HMFQuantity:
			out = append(out, "HMF "+f.Number(m.Value, 1)+" mg/kg")
		case "diastase_gothe":
			out = append(out, f.Say("diastase %s", message.Number{V: m.Value, Places: 1}))
		}
	}
	return strings.Join(out, ", ")
}
