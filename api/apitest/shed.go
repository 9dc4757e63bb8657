package apitest

import (
	"cmp"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// Shed is an outfit in the middle of a season that goes on today: the page
// records by the device's own clock. 2000 kg of 17.4 % are in the large tank, 600
// kg of 19.2 % in tank 2; a run is open, 12 supers of Mill Race wait.
type Shed struct {
	entries                                                         []*ledger.Entry
	alder, mill, Deep, drum, Large, Two, Blue, run, Lot, Fill, pull uuid.UUID
}

func NewShed() *Shed {
	s := &Shed{}
	now := time.Now()
	add := func(daysAgo float64, body ledger.Body) uuid.UUID {
		e := &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: now.Add(-time.Duration(daysAgo * 24 * float64(time.Hour))).Truncate(time.Second).UTC(), Via: ledger.ViaImport, Body: body}
		s.entries = append(s.entries, e)
		return e.ID
	}
	day := func(days int) ledger.Date { return ledger.Date(now.AddDate(0, 0, days).Format(time.DateOnly)) }
	add(100, &ledger.Season{Name: "the flow", First: day(-150), Last: day(150)})
	s.alder = add(100, &ledger.Yard{Name: "Alder Bend"})
	s.mill = add(100, &ledger.Yard{Name: "Mill Race"})
	s.Deep = add(100, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	s.drum = add(100, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	s.Large = add(100, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 4_500_000, HoseMark: "red", Shape: &ledger.TankShape{Form: "upright_cylinder", DiameterCM: 160, HeightCM: 160}})
	s.Two = add(100, &ledger.Tank{Name: "tank 2", Use: ledger.Settling, CapacityG: 900_000})
	s.Blue = add(100, &ledger.Instrument{Name: "blue refractometer", Scale: ledger.ScaleMoisture, Compensates: true, StdUncertainty: new(0.1)})
	add(100, &ledger.Room{Name: "hot room", Use: ledger.HotRoom})
	for _, of := range []struct {
		tank   uuid.UUID
		grams  int64
		read   float64
		supers int
	}{{s.Large, 2_290_000, 17.4, 80}, {s.Two, 600_000, 19.2, 22}} {
		pull := add(6, &ledger.Pull{YardID: s.alder, Supers: []ledger.SuperCount{{SuperKindID: s.Deep, Supers: of.supers}}, HivesWorked: 20})
		run := add(5, &ledger.Run{Name: fmt.Sprint("of ", of.supers), FramesPerSide: 30})
		add(4.9, &ledger.RunSupers{RunID: run, PullID: pull, SuperCount: ledger.SuperCount{SuperKindID: s.Deep, Supers: of.supers}})
		add(4.5, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run}, To: ledger.Place{Kind: ledger.PlaceTank, ID: of.tank}, MassG: of.grams})
		add(4.4, &ledger.RunEnd{RunID: run, WaxG: of.grams / 60})
		for i := range 6 {
			m := &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: of.read}
			add(4-float64(i)/10, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: of.tank}, Point: ledger.PointMixed, InstrumentID: s.Blue, Moisture: m})
		}
	}
	s.Lot = add(3, &ledger.Lot{Code: "L26-014", Product: "clover honey"})
	s.Fill = add(2.9, &ledger.Fill{LotID: s.Lot, TankID: s.Large, ContainerKindID: s.drum, Container: "D-009", TareG: 18_200, GrossG: 308_200})
	s.pull = add(1, &ledger.Pull{YardID: s.mill, Supers: []ledger.SuperCount{{SuperKindID: s.Deep, Supers: 12}}, HivesWorked: 6})
	s.run = add(0.1, &ledger.Run{Name: "this morning", FramesPerSide: 30})
	return s
}

// Truck is a dispatch that a manager prepared: three drums of the lot and one of another,
// all released. Beside is a drum of the lot that is not part of it.
type Truck struct {
	Plan, Lot, Other uuid.UUID
	Drums            []uuid.UUID // D-009, D-010, D-011, E-001
	Beside           uuid.UUID   // D-012
}

// Prepare adds one to what the shed has, for Northgate Packing and today.
func (s *Shed) Prepare() Truck {
	now := s.entries[len(s.entries)-1].OccurredAt
	at := 0
	add := func(body ledger.Body) uuid.UUID {
		at++
		e := &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: now.Add(time.Duration(at) * time.Second), Via: ledger.ViaImport, Body: body}
		s.entries = append(s.entries, e)
		return e.ID
	}
	fill := func(lot uuid.UUID, number string) uuid.UUID {
		return add(&ledger.Fill{LotID: lot, TankID: s.Large, ContainerKindID: s.drum, Container: number, TareG: 18_200, GrossG: 308_200})
	}
	buyer, other := add(&ledger.Buyer{Name: "Northgate Packing"}), add(&ledger.Lot{Code: "L26-015", Product: "clover honey"})
	out := Truck{Lot: s.Lot, Other: other, Drums: []uuid.UUID{s.Fill, fill(s.Lot, "D-010"), fill(s.Lot, "D-011"), fill(other, "E-001")}, Beside: fill(s.Lot, "D-012")}
	for _, lot := range []uuid.UUID{s.Lot, other} {
		add(&ledger.LotStatus{LotID: lot, Status: ledger.StatusReleased, Override: true, Note: "sold by sample"})
	}
	out.Plan = add(&ledger.PreparedDispatch{BuyerID: buyer, LeavesOn: ledger.Date(time.Now().Format(time.DateOnly)), Containers: out.Drums, Reference: "WB 1182", Note: "red strap on the left"})
	return out
}

// PrepareBlend adds a blend that is to be made in the second tank: of drums D-009 and D-010, and of 100 kg of the
// large tank.
func (s *Shed) PrepareBlend() (blend, second uuid.UUID) {
	now := s.entries[len(s.entries)-1].OccurredAt
	for i, body := range []ledger.Body{
		&ledger.Fill{LotID: s.Lot, TankID: s.Large, ContainerKindID: s.drum, Container: "D-010", TareG: 18_200, GrossG: 308_200},
		nil,
	} {
		if body == nil {
			body = &ledger.PreparedBlend{Title: "two drums for the bakery", TankID: s.Two, Note: "stir it well", Takes: []ledger.BlendTake{
				{From: ledger.Place{Kind: ledger.PlaceContainer, ID: s.Fill}}, {From: ledger.Place{Kind: ledger.PlaceContainer, ID: second}},
				{From: ledger.Place{Kind: ledger.PlaceTank, ID: s.Large}, MassG: 100_000},
			}}
		}
		e := &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: now.Add(time.Duration(i+1) * time.Second), Via: ledger.ViaImport, Body: body}
		s.entries = append(s.entries, e)
		blend, second = e.ID, cmp.Or(second, e.ID)
	}
	return blend, second
}

// AdoptPlan has somebody go by a plan: the heater of the large tank is set since an hour ago and off in ten days, and
// twelve supers are pulled at Alder Bend.
func (s *Shed) AdoptPlan() (plan uuid.UUID) {
	last := s.entries[len(s.entries)-1].OccurredAt
	begun := last.Add(-time.Hour)
	body := &ledger.AdoptedPlan{Title: "clear the large tank", Of: ledger.PlanOfWarming, Note: "stir it now and then", Steps: []ledger.PlanStep{
		{Does: ledger.PlanHeats, AboutID: s.Large, At: &begun, SetC: new(45)}, {Does: ledger.PlanPulls, AboutID: s.alder, Count: 12},
		{Does: ledger.PlanMoves, AboutID: s.mill}, {Does: ledger.PlanHeats, AboutID: s.Large, At: new(begun.AddDate(0, 0, 10))}}}
	e := &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: last.Add(time.Second), Via: ledger.ViaImport, Body: body}
	s.entries = append(s.entries, e)
	return e.ID
}

// Spun adds two supers that were booked into the open run, and one load of it with more
// frames than they have.
func (s *Shed) Spun() {
	now := s.entries[len(s.entries)-1].OccurredAt
	for i, body := range []ledger.Body{
		&ledger.RunSupers{RunID: s.run, PullID: s.pull, SuperCount: ledger.SuperCount{SuperKindID: s.Deep, Supers: 2}},
		&ledger.Load{RunID: s.run, Load: 1, FramesLeft: 30, FramesRight: 28},
	} {
		s.entries = append(s.entries, &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: now.Add(time.Duration(i+1) * time.Minute), Via: ledger.ViaImport, Body: body})
	}
}

// Instrument adds a refractometer before those that are there.
func (s *Shed) Instrument(name, scale string) uuid.UUID {
	return s.before(&ledger.Instrument{Name: name, Scale: scale, Compensates: true, StdUncertainty: new(0.0002)})
}

// PlainRefractometer adds one that shows moisture and does not correct for the temperature.
func (s *Shed) PlainRefractometer(name string) uuid.UUID {
	return s.before(&ledger.Instrument{Name: name, Scale: ledger.ScaleMoisture, StdUncertainty: new(0.1)})
}

func (s *Shed) before(i *ledger.Instrument) uuid.UUID {
	e := &ledger.Entry{ID: uuid.New(), Kind: ledger.KindInstrument, OccurredAt: s.entries[0].OccurredAt, Via: ledger.ViaImport, Body: i}
	s.entries = slices.Insert(s.entries, 0, e)
	return e.ID
}

func (s *Shed) Open(t testing.TB, units string) *House {
	t.Helper()
	return Open(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: "America/Winnipeg", Units: units}, s.entries)
}
