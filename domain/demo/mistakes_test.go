package demo_test

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/demo"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
	"pullbook/domain/units"
)

// Mistake is a kind of error that people make in a book.
type Mistake string

// The mistakes, with the sizes in which they are planted.
const (
	// ReadingOnWrongTank: a tank's moisture booked to the house's other tank,
	// which holds honey at least 0.6 points drier or wetter.
	ReadingOnWrongTank Mistake = "reading on the wrong tank"
	// HoseOnWrongTank: honey of a run, 250 kg or more, booked to the other tank,
	// which has room for it in truth.
	HoseOnWrongTank Mistake = "hose on the wrong tank"
	// DigitSlip: a moisture with its last two digits the wrong way round, 17.6 as
	// 16.7, so 0.9 points off or more and still a likely moisture.
	DigitSlip Mistake = "digit slip"
	// LoadTwice: a load written down again 3 to 15 minutes later.
	LoadTwice Mistake = "load twice"
	// RunTwice: the honey of a run written down again.
	RunTwice Mistake = "run twice"
	// PoundsAsKilograms: the pounds of a run's honey written down as kilograms.
	PoundsAsKilograms Mistake = "pounds as kilograms"
	// GrossAsNet: a container's gross taken for its net, so that the tare counts
	// as honey.
	GrossAsNet Mistake = "gross as net"
	// DrumFarOff: a drum's gross 15 to 40 kg off.
	DrumFarOff Mistake = "drum far off"
	// StocktakeFarOff: a dip 12 to 25 cm off.
	StocktakeFarOff Mistake = "stocktake far off"
	// NeverExtracted: supers pulled that went into no run.
	NeverExtracted Mistake = "never extracted"
	// RunWithoutPull: a run into which no supers were booked.
	RunWithoutPull Mistake = "run without pull"
	// WarmWithoutLog: a heated tank's logs lost for about two days and more.
	WarmWithoutLog Mistake = "warm without log"
	// ReadingOnSpareTank: a tank's moisture booked to a tank that no run ever led to.
	ReadingOnSpareTank Mistake = "reading on a tank that no run ever led to"
	// HoseOnSpareTank: honey of a run, 250 kg or more, booked to such a tank.
	HoseOnSpareTank Mistake = "honey booked to a tank that no run ever led to"
	// DrumInPounds, PailInPounds and ToteInPounds: the kilograms of a full container
	// written down where pounds are asked.
	DrumInPounds Mistake = "kilograms of a drum taken for pounds"
	PailInPounds Mistake = "kilograms of a pail taken for pounds"
	ToteInPounds Mistake = "kilograms of a tote taken for pounds"
	// LoadsOnOneRun: the loads of the next run written down as more of this one.
	LoadsOnOneRun Mistake = "loads of the next run on this one"
)

// Mistakes lists all kinds.
func Mistakes() []Mistake {
	return []Mistake{ReadingOnWrongTank, HoseOnWrongTank, DigitSlip, LoadTwice, RunTwice, PoundsAsKilograms,
		GrossAsNet, DrumFarOff, StocktakeFarOff, NeverExtracted, RunWithoutPull, WarmWithoutLog}
}

// MoreMistakes lists those that README.md has in the table of chances alone.
func MoreMistakes() []Mistake {
	return []Mistake{ReadingOnSpareTank, HoseOnSpareTank, DrumInPounds, PailInPounds, ToteInPounds, LoadsOnOneRun}
}

// Planted is one mistake in a book.
type Planted struct {
	Mistake Mistake
	// Entry is the entry that is wrong. Where something was left out it is what
	// that belongs to: the run without supers, the tank without logs.
	Entry ledger.ID
	// Size is how far off it is, in Unit.
	Size float64
	Unit string
	// At is when it happened.
	At time.Time
	// RightTank is the tank that was meant, of a reading or hose on the wrong one.
	RightTank ledger.ID
	// Hidden is true where even one who knows what was so, and how instruments
	// scatter, could not tell it from chance.
	Hidden bool
}

// scatterPct is how far a good reading of a tank is from its honey, as a standard
// deviation: by its instrument, and by what one sample differs from the rest.
func scatterPct(m *ledger.MoistureReading) float64 { return math.Hypot(m.StdUncertaintyPct, sampleSD) }

// sampleSD is how far the season's samples are from the tank's honey, in points; of the
// runs' they are nearer.
const sampleSD = 0.06

// hidden reports whether a reading may be of honey of that moisture.
func hidden(m *ledger.MoistureReading, truePct float64) bool {
	return math.Abs(m.Pct-truePct) <= ledger.Unfitting*scatterPct(m)
}

// Plant copies a book and makes n mistakes of a kind in it, in places that
// depend on the seed. Fewer are made where the book gives less occasion. The
// truth is that of the book as it was.
func Plant(b *demo.Book, m Mistake, n int, seed uint64) (*demo.Book, []Planted) {
	p := &planter{book: b, seed: seed, rng: rand.New(rand.NewPCG(seed, uint64(len(m)))),
		changed: map[int]*ledger.Entry{}, dropped: map[int]bool{}, added: map[int]*ledger.Entry{}, locked: map[ledger.ID]bool{}}
	for _, e := range b.Entries {
		if e.Replaces != (ledger.ID{}) {
			p.locked[e.ID], p.locked[e.Replaces] = true, true
		}
	}
	var out []Planted
	for _, i := range p.rng.Perm(len(b.Entries)) {
		if len(out) == n {
			break
		}
		if e := b.Entries[i]; !p.locked[e.ID] {
			if done, ok := p.try(m, i, e); ok {
				done.Mistake, done.At = m, e.OccurredAt
				if done.Entry == (ledger.ID{}) {
					done.Entry = e.ID
				}
				out = append(out, done)
			}
		}
	}
	return p.result(), out
}

type planter struct {
	book    *demo.Book
	seed    uint64
	rng     *rand.Rand
	changed map[int]*ledger.Entry
	dropped map[int]bool
	// added holds the entry written down after another.
	added  map[int]*ledger.Entry
	locked map[ledger.ID]bool
	count  uint64
}

// try makes the mistake at an entry, if that gives occasion.
func (p *planter) try(m Mistake, i int, e *ledger.Entry) (Planted, bool) {
	switch x := e.Body.(type) {
	case *ledger.Reading:
		switch m {
		case ReadingOnWrongTank:
			return p.readingOnWrongTank(i, x)
		case ReadingOnSpareTank:
			if x.On.Kind == ledger.PlaceTank && x.Moisture != nil {
				wrong := *x
				wrong.On.ID = p.spareTank()
				p.change(i, &wrong)
				return Planted{Size: 1, Unit: "readings", RightTank: x.On.ID}, true
			}
		case DigitSlip:
			return p.digitSlip(i, x)
		}
	case *ledger.Movement:
		if x.From.Kind != ledger.PlaceRun || x.MassG < 250_000 {
			return Planted{}, false
		}
		switch m {
		case HoseOnWrongTank:
			return p.hoseOnWrongTank(i, x)
		case HoseOnSpareTank:
			wrong := *x
			wrong.To.ID = p.spareTank()
			p.change(i, &wrong)
			return Planted{Size: kg(x.MassG), Unit: "kg", RightTank: x.To.ID}, true
		case RunTwice:
			again := *x
			id := p.add(i, time.Duration(8+p.rng.IntN(20))*time.Minute, &again)
			return Planted{Entry: id, Size: kg(x.MassG), Unit: "kg"}, true
		case PoundsAsKilograms:
			pounds := *x
			pounds.MassG = int64(math.Round(kg(x.MassG)/units.KilogramsPerPound) * 1000)
			p.change(i, &pounds)
			return Planted{Size: kg(pounds.MassG - x.MassG), Unit: "kg"}, true
		}
	case *ledger.Load:
		if m == LoadTwice {
			again := *x
			id := p.add(i, time.Duration(3+p.rng.IntN(12))*time.Minute, &again)
			return Planted{Entry: id, Size: float64(x.FramesLeft + x.FramesRight), Unit: "frames"}, true
		}
	case *ledger.Fill:
		return p.badFill(m, i, x)
	case *ledger.Stocktake:
		if m == StocktakeFarOff {
			return p.badDip(i, x)
		}
	case *ledger.Pull:
		if m == NeverExtracted {
			return p.neverExtracted(i, x)
		}
	case *ledger.Run:
		switch m {
		case RunWithoutPull:
			return p.runWithoutPull(e)
		case LoadsOnOneRun:
			return p.loadsOnOneRun(i, e)
		}
	case *ledger.TemperatureLog:
		if m == WarmWithoutLog {
			return p.warmWithoutLog(i, x)
		}
	}
	return Planted{}, false
}

// change replaces what an entry says.
func (p *planter) change(i int, body ledger.Body) {
	e := *p.book.Entries[i]
	e.Body = body
	p.changed[i] = &e
}

// add writes another entry down after the i-th, some time later.
func (p *planter) add(i int, later time.Duration, body ledger.Body) ledger.ID {
	e := *p.book.Entries[i]
	p.count++
	var name [16]byte
	binary.BigEndian.PutUint64(name[:8], p.seed)
	binary.BigEndian.PutUint64(name[8:], p.count)
	e.ID, e.Body, e.OccurredAt = uuid.NewSHA1(e.ID, name[:]), body, e.OccurredAt.Add(later)
	p.added[i] = &e
	return e.ID
}

func (p *planter) result() *demo.Book {
	out := &demo.Book{Name: p.book.Name, Location: p.book.Location, Truth: p.book.Truth}
	put := func(e *ledger.Entry, delay time.Duration) {
		out.Entries = append(out.Entries, e)
		out.Delays = append(out.Delays, delay)
	}
	for i, e := range p.book.Entries {
		if c := p.changed[i]; c != nil {
			e = c
		}
		if !p.dropped[i] {
			put(e, p.book.Delays[i])
		}
		if a := p.added[i]; a != nil {
			put(a, max(0, p.book.Delays[i]-a.OccurredAt.Sub(e.OccurredAt)))
		}
	}
	return out
}

// otherTank is how the house's other tank stood, and this one.
func (p *planter) otherTank(id, tank ledger.ID) (this, other demo.TankTruth, ok bool) {
	for _, t := range p.book.Truth.Tanks[id] {
		if t.Tank == tank {
			this, ok = t, true
		} else {
			other = t
		}
	}
	return this, other, ok
}

// apartPct is how far apart two tanks must be for a reading to tell them apart.
const apartPct = 0.6

func (p *planter) readingOnWrongTank(i int, x *ledger.Reading) (Planted, bool) {
	this, other, ok := p.otherTank(p.book.Entries[i].ID, x.On.ID)
	apart := math.Abs(this.MoisturePct - other.MoisturePct)
	if !ok || x.Moisture == nil || other.MassG < 150_000 || apart < apartPct {
		return Planted{}, false
	}
	wrong := *x
	wrong.On.ID = other.Tank
	p.change(i, &wrong)
	return Planted{Size: apart, Unit: "points", RightTank: x.On.ID, Hidden: hidden(x.Moisture, other.MoisturePct)}, true
}

func (p *planter) hoseOnWrongTank(i int, x *ledger.Movement) (Planted, bool) {
	_, other, ok := p.otherTank(p.book.Entries[i].ID, x.To.ID)
	if !ok || other.MassG+x.MassG > other.CapacityG {
		return Planted{}, false
	}
	wrong := *x
	wrong.To.ID = other.Tank
	p.change(i, &wrong)
	return Planted{Size: kg(x.MassG), Unit: "kg", RightTank: x.To.ID}, true
}

func (p *planter) digitSlip(i int, x *ledger.Reading) (Planted, bool) {
	if x.Moisture == nil || x.Moisture.Scale != "moisture" || x.On.Kind == ledger.PlacePull {
		return Planted{}, false
	}
	tenths := int(math.Round(x.Moisture.AsRead * 10))
	slipped := tenths/100*100 + tenths%10*10 + tenths/10%10
	if slipped == tenths || slipped < 145 || slipped > 210 {
		return Planted{}, false
	}
	m, err := honey.FromHoneyScale(float64(slipped)/10, 20, honey.Refractometer{Compensated: true, ScaleStdUncertainty: 0.15})
	if err != nil {
		return Planted{}, false
	}
	wrong, reading := *x, *x.Moisture
	reading.AsRead, reading.Pct, reading.StdUncertaintyPct = float64(slipped)/10, m.Pct, m.StdUncertaintyPct
	wrong.Moisture = &reading
	p.change(i, &wrong)
	return Planted{Size: math.Abs(float64(slipped-tenths)) / 10, Unit: "points",
		Hidden: hidden(&reading, p.book.Truth.MoisturePct[p.book.Entries[i].ID])}, true
}

// spareTank sets up a tank beside the house's own.
func (p *planter) spareTank() ledger.ID {
	for i, e := range p.book.Entries {
		if t, ok := e.Body.(*ledger.Tank); ok && t.Use != ledger.Sump && p.added[i] == nil {
			spare := *t
			spare.Name, spare.HoseMark, spare.CapacityG = "spare tank", "blue", 4_500_000
			return p.add(i, time.Minute, &spare)
		}
	}
	panic("a house has tanks")
}

// inPounds says of which kind the containers are whose kilograms are taken for pounds.
var inPounds = map[Mistake]string{DrumInPounds: "drum", PailInPounds: "pail", ToteInPounds: "tote"}

// loadsOnOneRun goes on writing down the loads of the next run under a run, numbered on.
func (p *planter) loadsOnOneRun(i int, run *ledger.Entry) (Planted, bool) {
	loads := func(of ledger.ID) (at []int, frames, number int) {
		for i, e := range p.book.Entries {
			if l, ok := e.Body.(*ledger.Load); ok && l.RunID == of && !p.locked[e.ID] {
				at, frames, number = append(at, i), frames+l.FramesLeft+l.FramesRight, max(number, l.Load)
			}
		}
		return at, frames, number
	}
	_, own, number := loads(run.ID)
	for _, next := range p.book.Entries[i+1:] {
		if next.Kind != ledger.KindRun {
			continue
		}
		at, frames, _ := loads(next.ID)
		for _, j := range at {
			wrong := *p.book.Entries[j].Body.(*ledger.Load)
			wrong.RunID, wrong.Load = run.ID, wrong.Load+number
			p.change(j, &wrong)
		}
		return Planted{Size: float64(frames), Unit: "frames"}, own > 0 && frames > own/2
	}
	return Planted{}, false
}

func (p *planter) badFill(m Mistake, i int, x *ledger.Fill) (Planted, bool) {
	wrong := *x
	switch kind := inPounds[m]; {
	case kind != "":
		usual := p.containers()[x.ContainerKindID]
		if usual.Name != kind || float64(x.NetG()) < 0.95*float64(usual.UsualNetG) {
			return Planted{}, false
		}
		wrong.GrossG, wrong.TareG = int64(float64(x.GrossG)*units.KilogramsPerPound), int64(float64(x.TareG)*units.KilogramsPerPound)
	case x.NetG() < 200_000:
		return Planted{}, false
	case m == GrossAsNet:
		wrong.GrossG += x.TareG
	case m == DrumFarOff:
		// No container takes more than it holds: too much is refused by the book.
		wrong.GrossG -= int64(15+p.rng.IntN(26)) * 1000
	default:
		return Planted{}, false
	}
	p.change(i, &wrong)
	return Planted{Size: math.Abs(kg(wrong.GrossG - x.GrossG)), Unit: "kg"}, true
}

// containers are the kinds of them.
func (p *planter) containers() map[ledger.ID]*ledger.ContainerKind {
	of := map[ledger.ID]*ledger.ContainerKind{}
	for _, e := range p.book.Entries {
		if k, ok := e.Body.(*ledger.ContainerKind); ok {
			of[e.ID] = k
		}
	}
	return of
}

func (p *planter) badDip(i int, x *ledger.Stocktake) (Planted, bool) {
	off := float64(12 + p.rng.IntN(14))
	if p.rng.IntN(2) == 0 {
		off = -off
	}
	if x.DepthCM == nil || *x.DepthCM < 50 || *x.DepthCM+off > 120 {
		return Planted{}, false
	}
	wrong, depth := *x, *x.DepthCM+off
	wrong.DepthCM = &depth
	wrong.MassG = int64(float64(x.MassG) * depth / *x.DepthCM)
	p.change(i, &wrong)
	return Planted{Size: math.Abs(kg(wrong.MassG - x.MassG)), Unit: "kg"}, true
}

// neverExtracted has boxes come in that stand forgotten in the hot room.
func (p *planter) neverExtracted(i int, x *ledger.Pull) (Planted, bool) {
	forgotten := *x
	forgotten.GrossG, forgotten.Supers = 0, append([]ledger.SuperCount(nil), x.Supers...)
	supers := 0
	for j := range forgotten.Supers {
		forgotten.Supers[j].Supers = (forgotten.Supers[j].Supers + 1) / 2
		supers += forgotten.Supers[j].Supers
	}
	id := p.add(i, 90*time.Minute, &forgotten)
	p.added[i].AsEntered = nil
	return Planted{Entry: id, Size: float64(supers), Unit: "supers"}, true
}

func (p *planter) runWithoutPull(run *ledger.Entry) (Planted, bool) {
	supers := 0
	for i, e := range p.book.Entries {
		if x, ok := e.Body.(*ledger.RunSupers); ok && x.RunID == run.ID {
			p.dropped[i] = true
			supers += x.Supers
		}
	}
	return Planted{Size: float64(supers), Unit: "supers"}, supers > 0
}

// warmC is a temperature at which a tank is heated, not merely warm from the
// line.
const warmC = 38

func (p *planter) warmWithoutLog(i int, x *ledger.TemperatureLog) (Planted, bool) {
	if x.On.Kind != ledger.PlaceTank || p.dropped[i] || hottest(x) < warmC {
		return Planted{}, false
	}
	at := p.book.Entries[i].OccurredAt
	hours := 0.0
	for j, e := range p.book.Entries {
		log, ok := e.Body.(*ledger.TemperatureLog)
		if ok && log.On.ID == x.On.ID && e.OccurredAt.Sub(at).Abs() < 80*time.Hour {
			p.dropped[j] = true
			hours += 3 * // the loggers keep a point every three hours
				float64(len(log.Points))
		}
	}
	return Planted{Entry: x.On.ID, Size: hours, Unit: "h"}, true
}

func hottest(x *ledger.TemperatureLog) float64 {
	most := math.Inf(-1)
	for _, q := range x.Points {
		most = max(most, q.TemperatureC)
	}
	return most
}
