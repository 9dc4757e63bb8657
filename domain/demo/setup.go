package demo

import (
	"fmt"
	"math/rand/v2"
	"time"

	"pullbook/domain/ledger"
)

// shared is the set-up that all houses of an outfit use.
type shared struct {
	medium, deep      ledger.ID
	drum, pail, tote  ledger.ID
	packers, bakery   ledger.ID
	farmGate          ledger.ID
	contract          ledger.ID
	terms             ledger.ID // the bakers', where they ask for a residue
	bench, handHeld   instrument
	drumScale, hoist  ledger.ID
	colour, loggers   ledger.ID
	mediumK, deepK    *ledger.SuperKind
	drumK, pailK, toK *ledger.ContainerKind
}

// Boxes with ten frames. Net and gross weights: common practice, 35-40 lb net
// of a medium, 60-70 lb of a deep, empty drawn boxes 18-24 and 28-34 lb.
var (
	mediumKind = ledger.SuperKind{Name: "medium", FramesPerSuper: 10, TareG: 9_500, UsualNetG: 16_500, FullestNetG: 22_700}
	deepKind   = ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 14_000, UsualNetG: 29_000, FullestNetG: 34_500}
)

// Containers as the trade has them: a 55 US gallon drum, a five gallon pail of
// 60 lb and a 1,000 litre tote.
var (
	drumKind = ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_500, UsualNetG: 295_000}
	pailKind = ledger.ContainerKind{Name: "pail", VolumeML: 20_000, TareG: 1_050, UsualNetG: 27_200}
	toteKind = ledger.ContainerKind{Name: "tote", VolumeML: 1_000_000, TareG: 60_000, UsualNetG: 1_400_000}
)

func setUpOutfit(w *writer, o Options) *shared {
	at := time.Date(o.FirstYear, time.January, 5, 9, 0, 0, 0, o.Location)
	put := func(b ledger.Body) ledger.ID {
		at = at.Add(time.Minute)
		return w.add(at, time.Minute, owner, b).ID
	}
	for s := range o.Seasons {
		y := o.FirstYear + s
		put(&ledger.Season{Name: fmt.Sprint(y), First: ledger.Date(fmt.Sprintf("%d-01-01", y)), Last: ledger.Date(fmt.Sprintf("%d-12-31", y))})
	}
	s := &shared{mediumK: &mediumKind, deepK: &deepKind, drumK: &drumKind, pailK: &pailKind, toK: &toteKind}
	medium, deep, drum, pail, tote := mediumKind, deepKind, drumKind, pailKind, toteKind
	s.medium, s.deep = put(&medium), put(&deep)
	s.drum, s.pail, s.tote = put(&drum), put(&pail), put(&tote)
	s.bench.id = put(&ledger.Instrument{Name: "bench refractometer", Scale: "refractive_index", StdUncertainty: new(float64(benchSD)), CheckEveryDays: 14})
	s.handHeld.id = put(&ledger.Instrument{Name: "hand-held refractometer", Scale: "moisture", Compensates: true, StdUncertainty: new(float64(handHeldSD)), CheckEveryDays: 14})
	s.handHeld.honeyScale = true
	s.drumScale = put(&ledger.Instrument{Name: "drum scale", Scale: "kg", StdUncertainty: new(float64(drumScaleSDKg)), CheckEveryDays: 7})
	s.hoist = put(&ledger.Instrument{Name: "hoist scale", Scale: "kg", StdUncertainty: new(2.0), CheckEveryDays: 60})
	s.colour = put(&ledger.Instrument{Name: "colour photometer", Scale: "other", StdUncertainty: new(float64(colourSDMM)), CheckEveryDays: 60})
	s.loggers = put(&ledger.Instrument{Name: "temperature loggers", Scale: "celsius", StdUncertainty: new(float64(loggerSDC)), CheckEveryDays: 60})
	s.packers = put(&ledger.Buyer{Name: "Greywater Packers", Address: "3 Elevator Row, Greywater"})
	s.bakery = put(&ledger.Buyer{Name: "Millstone Bakers", Address: "18 Lock Street, Greywater"})
	s.farmGate = put(&ledger.Buyer{Name: "Farm gate"})
	s.contract = put(contract(s.packers, fmt.Sprintf("%d-01-01", o.FirstYear)))
	if o.ToldInFull {
		s.terms = put(bakersTerms(s.bakery, fmt.Sprintf("%d-01-01", o.FirstYear+o.Seasons-1)))
	}
	return s
}

// house is a honey house with its yards, tanks and rooms.
type house struct {
	w      *writer
	o      Options
	shared *shared
	number int
	yards  []yard
	hot    ledger.ID
	store  ledger.ID
	sump   ledger.ID
	large  *tank
	small  *tank
	// containers is what stands in the store.
	containers []*container
	// numbers counts lots, drums, pails and totes of a year.
	numbers  map[yearly]int
	released map[ledger.ID]bool
	analysed map[ledger.ID]analysis
}

// yard is a place as it truly is.
type yard struct {
	id    ledger.ID
	name  string
	hives int
	// yield is the fullness of its boxes beside the usual.
	yield float64
	// supers is how many boxes a hive gives beside the average.
	supers      float64
	moisturePct float64
	pfundMM     float64
	msPerCM     float64
	deeps       bool
	wet         bool
}

func setUpHouse(w *writer, o Options, s *shared, number int) *house {
	h := &house{w: w, o: o, shared: s, number: number,
		numbers: map[yearly]int{}, released: map[ledger.ID]bool{}, analysed: map[ledger.ID]analysis{}}
	at := time.Date(o.FirstYear, time.January, 6, 9, 0, 0, 0, o.Location).Add(time.Duration(number) * time.Hour)
	put := func(b ledger.Body) ledger.ID {
		at = at.Add(time.Minute)
		return w.add(at, time.Minute, owner, b).ID
	}
	hot, store := 33.0, 14.0
	h.hot = put(&ledger.Room{Name: prefixed(number, "hot room"), Use: ledger.HotRoom, UsualTemperatureC: &hot})
	drums := &ledger.Room{Name: prefixed(number, "drum store"), Use: ledger.Store, UsualTemperatureC: &store}
	if o.ToldInFull {
		drums.WarmestMonthMeanC, drums.ColdestMonthMeanC, drums.WarmestMonth = new(19.5), new(4.5), 8 // of storeC, as months go
	}
	h.store = put(drums)
	warm := 30.0
	h.sump = put(&ledger.Tank{Name: prefixed(number, "sump"), Use: ledger.Sump, CapacityG: 480_000, HoseMark: "white",
		Shape: &ledger.TankShape{Form: "box", LengthCM: 100, WidthCM: 60, HeightCM: 60}, UsualTemperatureC: &warm})
	h.small, h.large = smallTank(), largeTank()
	if o.ToldInFull {
		h.small.stands(15)
	}
	h.small.id = put(h.small.setUp(prefixed(number, "small tank"), ledger.Heated, 3000, "green"))
	h.large.id = put(h.large.setUp(prefixed(number, "large tank"), ledger.Settling, 0, "red"))
	rng := rand.New(rand.NewPCG(o.Seed, uint64(number)))
	for i := range o.Yards {
		y := madeUpYard(rng, number, i)
		y.id = put(y.setUp(rng, number))
		h.yards = append(h.yards, y)
	}
	return h
}

func madeUpYard(rng *rand.Rand, house, i int) yard {
	y := yard{
		name:        yardName(house, i),
		hives:       16 + rng.IntN(25),
		yield:       within(1+0.10*rng.NormFloat64(), 0.75, 1.2),
		supers:      within(1+0.15*rng.NormFloat64(), 0.6, 1.4),
		moisturePct: within(17.2+0.55*rng.NormFloat64(), 15.8, 18.4),
		pfundMM:     14 + 24*rng.Float64(),
		msPerCM:     0.14 + 0.16*rng.Float64(),
		deeps:       rng.Float64() < 0.4,
		wet:         i%len(yardNames) == wetYard,
	}
	if y.wet {
		y.moisturePct = 20.2
	}
	return y
}

// setUp puts the yard on an invented piece of country.
func (y *yard) setUp(rng *rand.Rand, house int) *ledger.Yard {
	round := func(x float64) *float64 { x = float64(int(x*1000)) / 1000; return &x }
	b := &ledger.Yard{
		Name:         y.name,
		Registration: fmt.Sprintf("SH-%d%02d%03d", 7, house%100, 100+rng.IntN(900)),
		Country:      "CA",
		Latitude:     round(50.10 + 0.45*rng.Float64() + 0.3*float64(house%5)),
		Longitude:    round(-99.60 + 0.70*rng.Float64()),
	}
	if y.wet {
		b.Note = "low ground by the water; honey comes in wet"
	}
	return b
}

func within(x, low, high float64) float64 { return min(max(x, low), high) }
