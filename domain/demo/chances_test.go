package demo_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/demo"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
	"pullbook/domain/units"
)

// The table of chances rests on seasons that no threshold was set by (those were 0 to
// 29) and that no other table shows; the smaller run that holds it rests on others.
const (
	chanceSeasons, firstChance = 100, 3000
	smallSeasons, firstSmall   = 10, 5000
)

// chance counts how often something was tried, how often the book found it, and how often
// one could who knows what was so and how instruments scatter. inHand is what one could
// who knows the scatter and the good readings, where that was asked.
type chance struct{ tries, found, best, inHand int }

func (c *chance) add(found, best bool) {
	c.tries++
	if found {
		c.found++
	}
	if best {
		c.best++
	}
}

// chances are the rows of the table by their names.
type chances map[string]*chance

func (c chances) row(name string) *chance {
	if c[name] == nil {
		c[name] = &chance{}
	}
	return c[name]
}

func (c chances) sum(other chances) {
	for name, o := range other {
		r := c.row(name)
		r.tries, r.found, r.best, r.inHand = r.tries+o.tries, r.found+o.found, r.best+o.best, r.inHand+o.inHand
	}
}

// The readings that are off, in points; a good one tells of false alarms.
var (
	goodBefore = []int{1, 3, 10}
	offBy      = []float64{0, 0.5, 0.7, 1, 1.5}
)

// occasionsASeason is at how many moments of a season a reading is put in.
const occasionsASeason = 4

// Every mistake of each size is put into a season by itself.
func chancesIn(t testing.TB, seed uint64) chances {
	c := chances{}
	clean := demo.Outfit(demo.Ordinary(seed))
	anyway := findings(t, clean)
	c.row("nothing is wrong, a whole season").add(len(anyway) > 0, false)
	had := keys(anyway)
	for _, m := range append([]Mistake{DigitSlip, ReadingOnWrongTank, HoseOnWrongTank}, MoreMistakes()...) {
		wrong, planted := Plant(clean, m, 1, seed)
		if len(planted) == 0 {
			continue
		}
		found := slices.ContainsFunc(findings(t, wrong), func(f *ledger.Flag) bool {
			return !had[findingKey{f.Code, f.Entry}] && concerns(f, planted[0])
		})
		c.row(sized(planted[0])).add(found, !planted[0].Hidden)
	}
	c.sum(refusedIn(t, clean))
	rng := rand.New(rand.NewPCG(seed, 7))
	for _, i := range pourings(clean, rng) {
		c.sum(readingsOff(t, clean, i, rng))
	}
	return c
}

// sized names a mistake with its size, where that decides.
func sized(p Planted) string {
	name := string(p.Mistake)
	switch p.Mistake {
	case DigitSlip:
		return fmt.Sprintf("two digits of a reading swapped, %.1f points off", p.Size)
	case ReadingOnWrongTank:
		for _, most := range []float64{1, 1.5} {
			if p.Size < most {
				return fmt.Sprintf("%s, that is less than %.1f points away", name, most)
			}
		}
		return name + ", that is further away"
	}
	return name
}

// pourings picks moments right after honey of a run came into a tank.
func pourings(b *demo.Book, rng *rand.Rand) (out []int) {
	for _, i := range rng.Perm(len(b.Entries)) {
		m, ok := b.Entries[i].Body.(*ledger.Movement)
		if ok && m.From.Kind == ledger.PlaceRun && m.To.Kind == ledger.PlaceTank && truth(b, i, m.To.ID).MassG >= 150_000 {
			out = append(out, i)
		}
		if len(out) == occasionsASeason {
			break
		}
	}
	return out
}

func truth(b *demo.Book, i int, tank ledger.ID) demo.TankTruth {
	for _, t := range b.Truth.Tanks[b.Entries[i].ID] {
		if t.Tank == tank {
			return t
		}
	}
	return demo.TankTruth{}
}

// readingsOff reads a tank right after honey came into it: so many good readings with
// the scatter of the season's own, then one that is off.
func readingsOff(t testing.TB, clean *demo.Book, i int, rng *rand.Rand) chances {
	c := chances{}
	tank := clean.Entries[i].Body.(*ledger.Movement).To.ID
	so := truth(clean, i, tank).MoisturePct
	var shown [11]float64
	for k := range shown {
		seen := so + math.Hypot(sampleSD, honey.MethodRepeatabilityPct)*rng.NormFloat64()
		shown[k] = math.Round((seen+handHeldSD*rng.NormFloat64())*10) / 10
	}
	side := float64(2*rng.IntN(2) - 1)
	for _, n := range goodBefore {
		for _, off := range offBy {
			last := math.Round((shown[10]+side*off)*10) / 10
			wrong, odd := withReadings(clean, i, tank, append(slices.Clone(shown[:n]), last))
			book, err := ledger.Open(wrong.Location, wrong.Recorded())
			if err != nil {
				t.Error(err)
				return c
			}
			found := slices.ContainsFunc(book.State().FlagsOn(odd), func(f ledger.Flag) bool { return f.Code == ledger.ReadingUnexpected })
			row, sd := c.row(offName(off, n)), knownScatter()
			row.add(found, math.Abs(last-so) > ledger.Unfitting*sd)
			if math.Abs(last-mean(shown[:n])) > ledger.Unfitting*sd*math.Sqrt(1+1/float64(n)) {
				row.inHand++
			}
		}
	}
	return c
}

// handHeldSD is that of the season's hand-held refractometer, in points.
const handHeldSD = 0.15

// knownScatter is how good readings scatter about the tank's honey: by the sample, the
// method, the instrument and its last digit.
func knownScatter() float64 {
	lastDigit := 0.1 / math.Sqrt(12)
	return math.Sqrt(sampleSD*sampleSD + honey.MethodRepeatabilityPct*honey.MethodRepeatabilityPct + handHeldSD*handHeldSD + lastDigit*lastDigit)
}

func mean(of []float64) float64 {
	sum := 0.0
	for _, x := range of {
		sum += x
	}
	return sum / float64(len(of))
}

func offName(off float64, n int) string {
	after := fmt.Sprintf("after %d good readings", n)
	if n == 1 {
		after = "after one good reading"
	}
	if off == 0 {
		return "a good reading " + after
	}
	return fmt.Sprintf("a reading %.1f points off %s", off, after)
}

// withReadings copies a book and has a tank read after the i-th entry, every twenty
// seconds. It gives the last of the readings.
func withReadings(b *demo.Book, i int, tank ledger.ID, shown []float64) (*demo.Book, ledger.ID) {
	out := *b
	out.Entries, out.Delays = slices.Clone(b.Entries), slices.Clone(b.Delays)
	var with ledger.ID
	for _, e := range b.Entries {
		if x, ok := e.Body.(*ledger.Instrument); ok && x.Scale == ledger.ScaleMoisture {
			with = e.ID
		}
	}
	var last ledger.ID
	for k, pct := range shown {
		m, err := honey.FromHoneyScale(pct, 20, honey.Refractometer{Compensated: true, ScaleStdUncertainty: handHeldSD})
		if err != nil {
			panic(err) // no invented honey is near the ends of the table
		}
		e := *b.Entries[i]
		last = uuid.NewSHA1(e.ID, []byte{byte(k)})
		e.ID, e.Kind, e.OccurredAt = last, ledger.KindReading, e.OccurredAt.Add(time.Duration(20*(k+1))*time.Second)
		e.Body = &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: tank}, Point: ledger.PointGate, InstrumentID: with,
			Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: pct, Compensated: true, Pct: m.Pct, StdUncertaintyPct: m.StdUncertaintyPct, Formula: m.Formula}}
		out.Entries = slices.Insert(out.Entries, i+1+k, &e)
		out.Delays = slices.Insert(out.Delays, i+1+k, b.Delays[i])
	}
	return &out, last
}

// refusedIn types the pounds of one full container of each kind where kilograms are
// asked. It is found where the book does not take it.
func refusedIn(t testing.TB, clean *demo.Book) chances {
	c := chances{}
	p := &planter{book: clean}
	kinds, tried := p.containers(), map[ledger.ID]bool{}
	book, err := ledger.Open(clean.Location, clean.Recorded())
	if err != nil {
		t.Error(err)
		return c
	}
	for _, e := range clean.Entries {
		x, ok := e.Body.(*ledger.Fill)
		if !ok || tried[x.ContainerKindID] || float64(x.NetG()) < 0.95*float64(kinds[x.ContainerKindID].UsualNetG) {
			continue
		}
		tried[x.ContainerKindID] = true
		wrong := *x
		wrong.GrossG, wrong.TareG = int64(float64(x.GrossG)/units.KilogramsPerPound), int64(float64(x.TareG)/units.KilogramsPerPound)
		late := e.OccurredAt.Add(time.Hour)
		again := ledger.Entry{Number: book.Len() + 1, ID: uuid.NewSHA1(e.ID, []byte("again")), Kind: ledger.KindFill, OccurredAt: e.OccurredAt,
			RecordedAt: late, RecordedBy: e.RecordedBy, Replaces: e.ID, Reason: "weighed again", Body: &wrong}
		c.row(fmt.Sprintf("pounds of a %s taken for kilograms (refused)", kinds[x.ContainerKindID].Name)).add(book.Check(&again, late) != nil, true)
	}
	return c
}

// chancesOver adds up seasons, two at a time.
func chancesOver(t testing.TB, first uint64, seasons int) chances {
	each := make([]chances, seasons)
	twoAtATime(seasons, func(i int) { each[i] = chancesIn(t, first+uint64(i)) })
	all := chances{}
	for _, c := range each {
		all.sum(c)
	}
	return all
}

const chancesHead = "| mistake | tried | found | knowing the truth | knowing the good readings |\n|---|---|---|---|---|\n"

// table is in order of the names, good readings and seasons first.
func (c chances) table() string {
	names := make([]string, 0, len(c))
	for name := range c {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int { return strings.Compare(inOrder(a), inOrder(b)) })
	var b strings.Builder
	b.WriteString(chancesHead)
	for _, name := range names {
		r := c[name]
		best, inHand := percentOf(r.best, r.tries), ""
		switch {
		case strings.HasPrefix(name, "nothing"):
			best = ""
		case strings.Contains(name, "good reading"):
			inHand = percentOf(r.inHand, r.tries)
		}
		fmt.Fprintf(&b, "| %s | %d | %d (%s) | %s | %s |\n", name, r.tries, r.found, percentOf(r.found, r.tries), best, inHand)
	}
	return b.String()
}

// inOrder puts ten good readings after three.
func inOrder(name string) string {
	name = strings.NewReplacer("after one good", "after 01 good", "after 3 good", "after 03 good").Replace(name)
	if strings.HasPrefix(name, "nothing") || strings.HasPrefix(name, "a good") {
		return " " + name
	}
	return name
}

func percentOf(k, n int) string { return fmt.Sprintf("%.0f %%", percent(k, n)) }

// BenchmarkChancesOfMistakes makes the table of chances of domain/ledger/README.md, and
// writes it there with -update:
//
//	go test ./domain/demo -run xxx -bench Chances -benchtime 1x -update
func BenchmarkChancesOfMistakes(b *testing.B) {
	for b.Loop() {
		table := chancesOver(b, firstChance, chanceSeasons).table()
		if !*update {
			fmt.Print(table) // a log of a benchmark is cut off
		}
		if *update {
			text, err := os.ReadFile(findingsREADME)
			if err != nil {
				b.Fatal(err)
			}
			if err := os.WriteFile(findingsREADME, []byte(replaced(b, string(text), "chances", table)), 0o644); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// tolerated is how unlikely a figure of the smaller run may be by the table: of some
// forty rows one in a few hundred runs would fall below.
const tolerated = 1e-4

// The table of chances says of each row what a smaller run over other seasons finds,
// within its chance.
func TestASmallerRunFindsAsOftenAsTheTableSays(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile(findingsREADME)
	if err != nil {
		t.Fatal(err)
	}
	said := map[string][2]int{}
	for _, line := range strings.Split(within(t, string(text), "chances"), "\n") {
		cells := strings.Split(line, " | ")
		var r [2]int
		if len(cells) < 3 {
			continue
		}
		if _, err := fmt.Sscanf(cells[1]+" "+cells[2], "%d %d", &r[0], &r[1]); err == nil {
			said[strings.TrimPrefix(cells[0], "| ")] = r
		}
	}
	small := chancesOver(t, firstSmall, smallSeasons)
	for name, r := range small {
		s, told := said[name]
		if !told {
			t.Errorf("README.md has no row %q", name)
			continue
		}
		// What is so often by the table is as uncertain as its own count: with one more of
		// either sort the table's 0 and 100 % are no certainties.
		p := float64(s[1]+1) / float64(s[0]+2)
		found := distuv.Binomial{N: float64(r.tries), P: p}
		least, most := found.CDF(float64(r.found)), 1-found.CDF(float64(r.found)-1)
		if min(least, most) < tolerated {
			t.Errorf("%s: found %d of %d, and by the table %d of %d", name, r.found, r.tries, s[1], s[0])
		}
	}
	if len(small) < len(said)-2 {
		t.Errorf("the smaller run has %d rows, the table %d", len(small), len(said))
	}
}

// within is what stands between two marks of the README.
func within(t testing.TB, readme, name string) string {
	t.Helper()
	_, after, found := strings.Cut(readme, "<!-- begin "+name+" -->\n")
	inside, _, ended := strings.Cut(after, "<!-- end "+name+" -->")
	if !found || !ended {
		t.Fatalf("README.md has no place for %q", name)
	}
	return inside
}

// replaced is a README with another text between two marks.
func replaced(t testing.TB, readme, name, text string) string {
	t.Helper()
	old := within(t, readme, name)
	begin := "<!-- begin " + name + " -->\n"
	return strings.Replace(readme, begin+old, begin+text, 1)
}
