package reports

import (
	"math"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/openapi"
)

// GetShedReport is all that a page must know to record without network.
func (s Handler) GetShedReport(ctx echo.Context) error {
	voice := request.VoiceOf(ctx)
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, voicing(ctx), func(o db.Outfit, b *ledger.Book) (request.Write, error) {
		out := openapi.ShedReport{
			OutfitID: o.ID, Outfit: o.Name, TimeZone: o.TimeZone, Units: openapi.ShedReportUnits(o.Units), ThroughEntry: b.Len(),
			UnfittingDeviations: ledger.Unfitting, FittingDeviations: ledger.Fitting,
			Seasons: []openapi.ShedSeason{}, Tanks: []openapi.ShedTank{}, Rooms: []openapi.ShedRoom{}, Yards: []openapi.ShedYard{},
			SuperKinds: []openapi.ShedSuperKind{}, ContainerKinds: []openapi.ShedContainerKind{}, Instruments: []openapi.ShedInstrument{},
			Checks: []openapi.ShedCheck{}, Runs: []openapi.ShedRun{}, Pulls: []openapi.ShedPull{}, Lots: []openapi.ShedLot{}, Stock: []openapi.ShedStock{},
			Prepared: []openapi.ShedPrepared{}, Blends: []openapi.ShedBlend{}, Plans: []openapi.ShedPlan{},
		}
		shedSetUp(b, &out)
		shedWork(season.ShedOf(b), &out)
		blends := b.PreparedBlends()
		for _, e := range blends[:min(len(blends), mostPrepared)] {
			out.Blends = append(out.Blends, shedBlend(b, e))
		}
		shedPlans(b, s.Now(), &out)
		open := b.Prepared()
		out.MorePrepared = wire.OrNil(max(0, len(open)-mostPrepared))
		var advised []advised
		for _, e := range open[:min(len(open), mostPrepared)] {
			advised = append(advised, preparedIn(b, e, s.Now()))
		}
		return func() ([]byte, error) {
			for _, x := range advised {
				out.Prepared = append(out.Prepared, x.out(voice))
			}
			return request.Marshal(out)
		}, nil
	})
}

// voicing names what sentences of an answer hang on; "" for programs, to which it speaks English.
func voicing(ctx echo.Context) string {
	if ctx.Get(request.PageKey) == nil {
		return ""
	}
	return request.LanguageOf(ctx).Lang + " " + request.Principal(ctx).Reads.Units
}

// shedSetUp fills in what the outfit has.
func shedSetUp(b *ledger.Book, out *openapi.ShedReport) {
	for _, t := range season.Tanks(b) {
		out.Tanks = append(out.Tanks, shedTank(b, t))
	}
	b.InForceOf(ledger.KindSeason, func(_ ledger.ID, e *ledger.Entry) bool {
		x := e.Body.(*ledger.Season)
		out.Seasons = append(out.Seasons, openapi.ShedSeason{Name: x.Name, First: wire.DateOut(x.First), Last: wire.DateOut(x.Last)})
		return true
	})
	b.InForceOf(ledger.KindRoom, func(root ledger.ID, e *ledger.Entry) bool {
		x := e.Body.(*ledger.Room)
		out.Rooms = append(out.Rooms, openapi.ShedRoom{RoomID: root, Name: x.Name, Use: string(x.Use)})
		return true
	})
	b.InForceOf(ledger.KindYard, func(root ledger.ID, e *ledger.Entry) bool {
		out.Yards = append(out.Yards, openapi.ShedYard{YardID: root, Name: e.Body.(*ledger.Yard).Name})
		return true
	})
	b.InForceOf(ledger.KindSuperKind, func(root ledger.ID, e *ledger.Entry) bool {
		x := e.Body.(*ledger.SuperKind)
		out.SuperKinds = append(out.SuperKinds, openapi.ShedSuperKind{
			SuperKindID: root, Name: x.Name, FramesPerSuper: x.FramesPerSuper, TareKg: wire.Kg(x.TareG), UsualNetKg: wire.Kg(x.UsualNetG), FullestNetKg: wire.Kg(x.FullestNetG),
		})
		return true
	})
	b.InForceOf(ledger.KindContainerKind, func(root ledger.ID, e *ledger.Entry) bool {
		x := e.Body.(*ledger.ContainerKind)
		out.ContainerKinds = append(out.ContainerKinds, openapi.ShedContainerKind{
			ContainerKindID: root, Name: x.Name, VolumeL: float64(x.VolumeML) / 1000, UsualTareKg: wire.Kg(x.TareG), UsualNetKg: wire.Kg(x.UsualNetG), MostNetKg: wire.Kg(x.MostNetG()),
		})
		return true
	})
	b.InForceOf(ledger.KindInstrument, func(root ledger.ID, e *ledger.Entry) bool {
		x := e.Body.(*ledger.Instrument)
		out.Checks = append(out.Checks, shedCheck(b, root, x))
		if shownRange[x.Scale] != nil {
			out.Instruments = append(out.Instruments, shedInstrument(root, x))
		}
		return true
	})
}

func shedTank(b *ledger.Book, t season.TankLine) openapi.ShedTank {
	x := ledger.Named[ledger.Tank](b, t.TankID)
	out := openapi.ShedTank{
		TankID: t.TankID, Name: t.Name, Use: string(t.Use), HoseMark: wire.OrNil(x.HoseMark), CapacityKg: wire.Kg(t.CapacityG), HeldKg: wire.Kg(t.Grams),
		Expected: ExpectedOut(t.Expected), SampleStdUncertaintyPct: b.State().SampleSD(t.TankID),
	}
	moisture := usualMoistureInShed
	if m := b.LastMoisture(t.TankID, b.Latest()); m != nil {
		moisture = m.Pct
	}
	cold, errCold := honey.DensityKgPerL(moisture, 20)
	warm, errWarm := honey.DensityKgPerL(moisture, 40)
	if x.Shape == nil || errCold != nil || errWarm != nil {
		return out
	}
	shape, err := x.Shape.Gauge()
	if err != nil {
		return out
	}
	out.KgPerLAt20C, out.KgPerLAt40C = &cold, &warm
	out.Dip = new(dipTable(shape))
	return out
}

// usualMoistureInShed stands in for the density of honey that was never read;
// common practice.
const usualMoistureInShed = 17.5

// dipTable is a tank's shape as lines so close together that one may go straight
// from one to the next: with the density it is off by less than a five hundredth of
// the content, or of a litre. They stand closer where the tank widens fast, as in a cone.
func dipTable(shape honey.Tank) []openapi.DipPoint {
	const lines = 60
	low, rim := shape.LowestCm(), shape.RimCm()
	var out []openapi.DipPoint
	for i := range lines + 1 {
		depth := low + (rim-low)*float64(i)/lines
		litres, err := shape.Litres(depth)
		if err != nil {
			continue
		}
		line := openapi.DipPoint{DepthCm: depth, Litres: litres}
		if len(out) > 0 {
			out = append(out, between(shape, out[len(out)-1], line, mostHalvings)...)
		}
		out = append(out, line)
	}
	return out
}

// mostHalvings bounds the lines that come between two of dipTable.
const mostHalvings = 3

// between are the lines that have to come between two, so that straight lines do.
func between(shape honey.Tank, low, high openapi.DipPoint, halvings int) []openapi.DipPoint {
	depth := (low.DepthCm + high.DepthCm) / 2
	litres, err := shape.Litres(depth)
	if off := math.Abs(litres - (low.Litres+high.Litres)/2); err != nil || halvings == 0 || off <= max(0.001*litres, 0.002) {
		return nil
	}
	middle := openapi.DipPoint{DepthCm: depth, Litres: litres}
	out := append(between(shape, low, middle, halvings-1), middle)
	return append(out, between(shape, middle, high, halvings-1)...)
}

// shownRange is from where to where, and in what steps, an instrument's own scale
// is turned into moisture beforehand.
var shownRange = map[string]*struct{ from, to, step float64 }{
	ledger.ScaleMoisture:        {5, 40, 1},
	ledger.ScaleBrix:            {58.75, 92.75, 0.25},
	ledger.ScaleRefractiveIndex: {1.4388, 1.5252, 0.0008},
}

// shedInstrument is a refractometer, with what its figures at 20 °C mean.
func shedInstrument(root ledger.ID, x *ledger.Instrument) openapi.ShedInstrument {
	out := openapi.ShedInstrument{InstrumentID: root, Name: x.Name, Scale: x.Scale, CompensatesTemperature: x.Compensates, Shown: []openapi.ShedShown{}}
	with := honey.Refractometer{Compensated: x.Compensates, ScaleStdUncertainty: x.ScaleStdUncertainty()}
	convert := map[string]func(float64, float64, honey.Refractometer) (honey.Moisture, error){
		ledger.ScaleMoisture: honey.FromHoneyScale, ledger.ScaleRefractiveIndex: honey.FromRefractiveIndex, ledger.ScaleBrix: honey.FromBrix,
	}[x.Scale]
	r := shownRange[x.Scale]
	for i := 0; r.from+float64(i)*r.step <= r.to+r.step/2; i++ {
		shown := min(r.from+float64(i)*r.step, r.to)
		if m, err := convert(shown, 20, with); err == nil {
			if !x.Compensates && out.UnsaidTemperaturePct == nil && math.Abs(m.Pct-usualMoistureInShed) <= 0.5 {
				out.UnsaidTemperaturePct = unsaidPct(m, func(w honey.Refractometer) (honey.Moisture, error) { return convert(shown, 20, w) }, with)
			}
			out.Shown = append(out.Shown, openapi.ShedShown{Shown: shown, MoisturePct: m.Pct, StdUncertaintyPct: m.StdUncertaintyPct})
		}
	}
	return out
}

// shedCheck is an instrument with its last check.
func shedCheck(b *ledger.Book, root ledger.ID, x *ledger.Instrument) openapi.ShedCheck {
	out := openapi.ShedCheck{InstrumentID: root, Name: x.Name, Scale: x.Scale, CheckEveryDays: wire.OrNil(x.CheckEveryDays)}
	if last, at := b.LastCheck(root); last != nil {
		out.CheckedAt, out.LeftWrong = &at, wire.OrNil(last.LeftWrong())
		out.Reference, out.Expected, out.Tolerance = &last.Reference, &last.Expected, &last.Tolerance
	}
	return out
}

// unsaidPct is what it adds to the uncertainty of a figure that nobody says how warm the
// sample was, which hardly hangs on the figure: 0.44 to 0.47 points at 13 to 25 %.
func unsaidPct(m honey.Moisture, with func(honey.Refractometer) (honey.Moisture, error), r honey.Refractometer) *float64 {
	r.ThermometerStdUncertaintyC = ledger.UnsaidSampleSDC
	unsaid, err := with(r)
	if err != nil {
		return nil
	}
	return new(math.Sqrt(unsaid.StdUncertaintyPct*unsaid.StdUncertaintyPct - m.StdUncertaintyPct*m.StdUncertaintyPct))
}

// shedWork fills in what is being worked at.
func shedWork(work season.Shed, out *openapi.ShedReport) {
	for _, r := range work.Runs {
		out.Runs = append(out.Runs, openapi.ShedRun{
			RunID: r.RunID, Name: r.Run.Name, StartedAt: r.StartedAt, FramesPerSide: r.Run.FramesPerSide, LastLoad: r.LastLoad, SupersIn: r.SupersIn, HoneyKg: wire.Kg(r.HoneyG),
		})
	}
	for _, p := range work.Pulls {
		pull := openapi.ShedPull{PullID: p.PullID, YardID: p.YardID, Yard: p.Yard, PulledAt: p.PulledAt}
		for _, c := range p.Left {
			pull.Supers = append(pull.Supers, openapi.SuperCount{SuperKindID: c.SuperKindID, Supers: c.Supers})
		}
		out.Pulls = append(out.Pulls, pull)
	}
	for _, l := range work.Lots {
		lot := openapi.ShedLot{LotID: l.LotID, Code: l.Lot.Code, Product: wire.OrNil(l.Lot.Product), Status: string(l.Status)}
		if f := l.LastFill; f != nil {
			lot.LastContainer, lot.LastTareKg = &f.Container, new(wire.Kg(f.TareG))
			lot.LastContainerKindID, lot.LastTankID = &f.ContainerKindID, &f.TankID
		}
		out.Lots = append(out.Lots, lot)
	}
	for _, l := range work.Stock {
		stock := openapi.ShedStock{LotID: l.LotID, Code: l.Code}
		for _, c := range l.Containers {
			stock.Containers = append(stock.Containers, openapi.ShedContainer{FillID: c.FillID, Container: c.Number})
		}
		out.Stock = append(out.Stock, stock)
	}
}
