package quality

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Gathered is a lot's readings in a standard's words.
type Gathered struct {
	LotID    ledger.ID
	Lot      *ledger.Lot
	Basis    ledger.Basis
	Evidence *standard.Evidence
	// Numbers are the containers' numbers, FillOf what they are.
	Numbers []string
	FillOf  map[string]ledger.ID
	// since is when the honey in each container last came into it, by number.
	since map[string]time.Time
	// firstSample is when something was first measured or seen of the whole lot; zero where
	// nothing was.
	firstSample time.Time
	// expected is what the book expects of the containers' moisture.
	expected []standard.Expected
	// LeftOut says which readings did not count, and why.
	LeftOut []message.Text
	results []dated
	loc     *time.Location
	// hmf are the results of the whole lot, older ones too, in order of time.
	hmf []heat.LabResult
}

// dated is a result with where it came from.
type dated struct {
	standard.Result
	entry *ledger.Entry
}

// Gather collects what is known of a lot at the end of a day. Readings on its
// containers count by container, readings on the lot as samples of the whole.
// It fails where no such lot stands.
func Gather(b *ledger.Book, lotID ledger.ID, on standard.Date) (*Gathered, error) {
	return gatherUntil(b, lotID, endOf(on, b.Location()))
}

// gatherUntil collects what is known of a lot from what happened up to an instant.
func gatherUntil(b *ledger.Book, lotID ledger.ID, until time.Time) (*Gathered, error) {
	e := b.InForce(lotID)
	if e == nil || e.Kind != ledger.KindLot {
		return nil, fault.New(fault.NotFound, "The book has no lot %s.", lotID)
	}
	g := &Gathered{LotID: b.Root(lotID), Lot: e.Body.(*ledger.Lot), Basis: b.Basis(lotID, until), FillOf: map[string]ledger.ID{}, since: map[string]time.Time{}, loc: b.Location()}
	for _, id := range g.Basis.Fills {
		number := b.Name(id)
		g.Numbers = append(g.Numbers, number)
		g.FillOf[number] = b.Root(id)
		g.since[number] = b.LastFilled(id, until)
		for _, x := range expectedMoisture(b, id) {
			x.ContainerID = number
			g.expected = append(g.expected, x)
		}
	}
	g.collect(b)
	g.dropStale()
	return g, g.combine()
}

// expectedMoisture is where the moisture of a container is to be expected: from the last
// reading on its tank before it was filled, also where the book doubts that reading, and
// from all that was read of the honey.
func expectedMoisture(b *ledger.Book, fill ledger.ID) []standard.Expected {
	var out []standard.Expected
	add := func(mean, sd float64) {
		out = append(out, standard.Expected{Parameter: "moisture", Low: max(0, mean-2*sd), High: min(100, mean+2*sd)})
	}
	if m, layers := tankReading(b, fill); m != nil {
		add(m.Pct, math.Hypot(m.StdUncertaintyPct, layers))
	}
	if h, _ := b.State().Holder(fill); h.Belief.Moisture.Mean > 0 { // 0 where nothing is expected
		add(h.Belief.Moisture.Mean, h.Belief.Moisture.StandardDeviation())
	}
	return out
}

// before reports whether other honey came since an instant into a container; never into the
// lot as a whole, which has no number.
func (g *Gathered) before(container string, at time.Time) bool { return at.Before(g.since[container]) }

// sampledBefore reports whether a sample of the whole lot was taken before an instant.
func (g *Gathered) sampledBefore(at time.Time) bool {
	return !g.firstSample.IsZero() && g.firstSample.Before(at)
}

// day is the day of an instant where the lot is.
func (g *Gathered) day(at time.Time) standard.Date {
	return standard.Date(at.In(g.loc).Format(time.DateOnly))
}

// endOf is the last instant of a day.
func endOf(on standard.Date, loc *time.Location) time.Time {
	at, err := time.ParseInLocation(time.DateOnly, string(on), loc)
	if err != nil {
		return time.Time{}
	}
	y, m, d := at.Date()
	return time.Date(y, m, d+1, 0, 0, 0, 0, loc).Add(-time.Microsecond)
}

func (g *Gathered) collect(b *ledger.Book) {
	for _, id := range g.Basis.Readings {
		e, _ := b.Entry(id)
		r := e.Body.(*ledger.Reading)
		container := ""
		if r.On.Kind == ledger.PlaceContainer {
			container = b.Name(r.On.ID)
		}
		if g.before(container, measuredAt(e, r, b.Location())) {
			g.LeftOut = append(g.LeftOut, message.F("What was measured on %s before other honey came into it was left out.", container))
			continue
		}
		results, _ := r.Results()
		for _, one := range results {
			one.At, one.ContainerID = measuredAt(e, r, b.Location()), container
			if container == "" {
				one.CompositeOf = r.ContainersSampled
			}
			g.results = append(g.results, dated{one, e})
		}
		if r.On.Kind == ledger.PlaceLot {
			if g.firstSample.IsZero() || e.OccurredAt.Before(g.firstSample) {
				g.firstSample = e.OccurredAt
			}
			g.keepHMF(measuredAt(e, r, b.Location()), r)
		}
	}
}

// measuredAt is when the figures of a reading were so: the day of the analysis where it is
// told, since a result may be written down weeks later.
func measuredAt(e *ledger.Entry, r *ledger.Reading, loc *time.Location) time.Time {
	if at := endOf(r.AnalysedOn, loc); r.AnalysedOn != "" && at.Before(e.OccurredAt) {
		return at
	}
	return e.OccurredAt
}

// keepHMF notes a result of the whole lot, one for each instant; "less than"
// says too little to learn from.
func (g *Gathered) keepHMF(at time.Time, r *ledger.Reading) {
	for _, m := range r.Measured {
		known := len(g.hmf) > 0 && !at.After(g.hmf[len(g.hmf)-1].At)
		if m.Quantity == "hmf_mg_per_kg" && !m.LessThan && !known {
			g.hmf = append(g.hmf, heat.LabResult{At: at, HMFMgPerKg: m.Value, SDMgPerKg: m.SD()})
		}
	}
}

// changing are parameters that time alone changes, so that an old result says
// nothing of today; sameSampling is how far apart results of them may be to be
// taken as of one moment.
var changing = map[string]bool{"hmf": true, "diastase": true, "invertase": true, "invertase_number": true}

const sameSampling = 7 * 24 * time.Hour

// dropStale keeps the latest sampling of what time changes.
func (g *Gathered) dropStale() {
	latest := map[string]time.Time{}
	for _, r := range g.results {
		if r.At.After(latest[r.Parameter]) {
			latest[r.Parameter] = r.At
		}
	}
	dropped := map[string]int{}
	g.results = slices.DeleteFunc(g.results, func(r dated) bool {
		old := changing[r.Parameter] && latest[r.Parameter].Sub(r.At) > sameSampling
		if old {
			dropped[r.Parameter]++
		}
		return old
	})
	for _, parameter := range []string{"hmf", "diastase", "invertase", "invertase_number"} {
		if n := dropped[parameter]; n > 0 {
			g.LeftOut = append(g.LeftOut, message.F("%s: %s older results were left out, since time changes it; those of %s count.",
				standard.SayParameter(parameter), n, g.day(latest[parameter]).Said()))
		}
	}
}

// EvidenceOn is what is known of the lot on a day, to be held against limits: HMF and
// diastase are carried from when they were measured to the end of that day. Where
// containers are named it is about those alone, by number. See Climate.OnDay.
func (g *Gathered) EvidenceOn(c *Climate, on standard.Date, containers ...string) (*standard.Evidence, error) {
	lot := g.lot()
	lot.Only = containers
	k := KineticsOf(g, c)
	for i := range lot.Results {
		r := &lot.Results[i]
		r.On = g.day(r.At)
		r.OnDay = c.onDay(k, g.Lot.StoreID, r, endOf(on, g.loc))
	}
	lot.Results = aboutThese(lot.Results, containers)
	return standard.NewEvidence(lot)
}

// aboutThese leaves out, of a parameter that was measured on each of some containers, what
// was measured on others. Where one of them was not read, the lot's mean speaks for it.
func aboutThese(results []standard.Result, containers []string) []standard.Result {
	if len(containers) == 0 {
		return results
	}
	going := map[string]bool{}
	for _, number := range containers {
		going[number] = true
	}
	read := map[string]map[string]bool{}
	for _, r := range results {
		if going[r.ContainerID] {
			if read[r.Parameter] == nil {
				read[r.Parameter] = map[string]bool{}
			}
			read[r.Parameter][r.ContainerID] = true
		}
	}
	return slices.DeleteFunc(results, func(r standard.Result) bool {
		return r.ContainerID != "" && !going[r.ContainerID] && len(read[r.Parameter]) == len(going)
	})
}

// lot is what was measured, in a standard's words.
func (g *Gathered) lot() standard.Lot {
	lot := standard.Lot{Code: g.Lot.Code, Containers: g.Numbers, Since: g.since, Expected: g.expected, Declaration: g.Lot.Declares}
	for _, r := range g.results {
		lot.Results = append(lot.Results, r.Result)
	}
	return lot
}

// combine makes the evidence, leaving out what cannot be read: a lot must not
// lose its verdict to one reading that should be corrected.
func (g *Gathered) combine() error {
	for {
		evidence, err := standard.NewEvidence(g.lot())
		if err == nil {
			g.Evidence = evidence
			return nil
		}
		if !g.leaveOut(standard.FieldErrors(err)) {
			return err
		}
	}
}

// leaveOut takes out the results that errors point at; false where there are
// none.
func (g *Gathered) leaveOut(errs []standard.FieldError) bool {
	bad := map[int]bool{}
	for _, f := range errs {
		index, _, _ := strings.Cut(strings.TrimPrefix(f.Field, "results/"), "/")
		if i, err := strconv.Atoi(index); err == nil {
			if !bad[i] {
				g.LeftOut = append(g.LeftOut, message.F("entry %s: %s %s was left out: %s.", g.results[i].entry.Number, standard.SayLabelled(g.results[i].Parameter, g.results[i].Label), g.results[i].Value, f.Want))
			}
			bad[i] = true
		}
	}
	kept := g.results[:0:0]
	for i, r := range g.results {
		if !bad[i] {
			kept = append(kept, r)
		}
	}
	g.results = kept
	return len(bad) > 0
}
