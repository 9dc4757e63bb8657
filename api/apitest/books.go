package apitest

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// LongNames is an outfit with the longest names that there may be, a tank over
// its capacity, and honey that no pull explains.
func LongNames() []*ledger.Entry {
	long := func(name string) string { return (name + strings.Repeat(" beyond the old gravel pit", 4))[:80] }
	season := EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	deep := EntryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	drum := EntryAt(0, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	tank := EntryAt(0, &ledger.Tank{Name: long("Settling tank"), Use: ledger.Settling, CapacityG: 900_000})
	spare := EntryAt(0, &ledger.Tank{Name: "Donaudampfschifffahrtsgesellschaftskapitaen", Use: ledger.Heated, CapacityG: 300_000})
	out := []*ledger.Entry{season, deep, drum, tank, spare}
	for i, name := range []string{long("Quarter section"), "Donaudampfschifffahrtsgesellschaftskapitaensmuetze", "Ox"} {
		yard := EntryAt(0, &ledger.Yard{Name: name})
		day := float64(10 + i)
		pull := EntryAt(day, &ledger.Pull{YardID: yard.ID, Supers: []ledger.SuperCount{{SuperKindID: deep.ID, Supers: 20}}, HivesWorked: 12})
		run := EntryAt(day+0.2, &ledger.Run{Name: fmt.Sprint(i + 1), FramesPerSide: 30})
		out = append(out, yard, pull, run)
		if name != "Ox" {
			out = append(out, EntryAt(day+0.3, &ledger.RunSupers{RunID: run.ID, PullID: pull.ID, SuperCount: ledger.SuperCount{SuperKindID: deep.ID, Supers: 20}}))
		}
		out = append(out, EntryAt(day+0.5, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run.ID}, To: ledger.Place{Kind: ledger.PlaceTank, ID: tank.ID}, MassG: 520_250 - int64(i)*40_125}))
	}
	lot := EntryAt(20, &ledger.Lot{Code: "26-" + strings.Repeat("0", 20) + "7", Product: long("Clover and canola")})
	return append(out, lot, EntryAt(20.1, &ledger.Fill{LotID: lot.ID, TankID: tank.ID, ContainerKindID: drum.ID, Container: "D-001", TareG: 18_000, GrossG: 308_000}))
}

func EntryAt(day float64, body ledger.Body) *ledger.Entry {
	at := time.Date(2026, time.July, 1, 8, 0, 0, 0, time.UTC).Add(time.Duration(day * 24 * float64(time.Hour)))
	return &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: at, Via: ledger.ViaImport, Body: body}
}

// OpenWithTank has a settling tank that the page can gauge.
func OpenWithTank(t *testing.T, outfit db.Outfit) (*House, string) {
	t.Helper()
	tank := EntryAt(0, &ledger.Tank{Name: "Settling tank", Use: ledger.Settling, CapacityG: 2_000_000,
		Shape: &ledger.TankShape{Form: "upright_cylinder", DiameterCM: 110, HeightCM: 150}})
	h := Open(t, outfit, []*ledger.Entry{tank})
	h.SignIn(t)
	return h, tank.ID.String()
}

const (
	AskMoisture = "/calculators?ask=moisture&scale=refractive_index&reading=1.4935&sample_temperature_c=25&compensated=no&instrument_std_uncertainty=0.0002"
	AskWarming  = "/calculators?ask=warming&mass_kg=1200&moisture_pct=17.4&start_temperature_c=22&control_c=45&heater_w=2500&ambient_c=18&hours=36" +
		"&area_m2=6&insulation_mm=50&loss_w_per_k=12&wall_allowance_k=10&wall_share=0.1&hmf_mg_per_kg=4.2&diastase_gothe=18.5"
	AskHMF = "/calculators?ask=hmf&hmf_mg_per_kg=4.2&hmf_limit_mg_per_kg=40&temperature_c=45"
	// AskDays asks with 600 supers that are still out, AskBlend for two drums of the demo's honey.
	AskDays  = "/plans/days?ask=days&supers_out=600&drums_on_hand=10&hot_room_supers=&supers_an_hour=&evening_hours="
	AskBlend = "/plans/blend?ask=blend&kg=560&most_kg=700&rule_sets=&grade=&moisture_most_pct=18.5&kind=&probability=0.95&source_kg=10"
	// AskPlanWarming asks how to warm the demo's small tank.
	AskPlanWarming = "/plans/warming?ask=plan-warming&what=tank+small+tank&to=liquid&hours=60&start_temperature_c=24&heater_w=3000&probability=0.8&hmf_kwh=20&around=still_air&kwh_price=0.35"
	DipInATank     = "&dip_cm=64.5&moisture_pct=17.2&temperature_c=30&dip_std_uncertainty_cm=0.5"
	// AskSales asks which of the demo's honey goes to its contract.
	AskSales = "/plans/sales?ask=sales&keep=3&probability=0.95"
)

const OldPulls = "date,yard,deeps,gross lb\n" +
	"2026-07-03,Alder Bend,40,3100\n" +
	"2026-07-05,Alder Bnd,20,1500\n" +
	"2026-07-06,Mill Race,10,61 lb\n" +
	"total,,70,4661\n"

// OldRuns do not say into which tank their honey went, and OldReadings name a tank and an
// instrument that no book has.
const (
	OldRuns     = "date,run,honey lb,weather\n2025-07-08,first of the old book,900,dry\n2025-07-09,second of the old book,800,\n"
	OldReadings = "date,tank,moisture,instrument\n2025-07-08,the old milk tank behind the barn,17.4,brass-refractometer-of-the-grandfather\n2025-07-09,the old milk tank behind the barn,wet,brass-refractometer-of-the-grandfather\n"
)

// WidePulls has yards across and days down, without a word of what the figures are.
const WidePulls = "date,Alder Bend,Mill Race,total\n" +
	"3 jul,40,10,50\n" +
	"5 jul,20,0,20\n" +
	"6 jul,,12 med,12\n"

func OpenForSheets(t *testing.T) *House {
	t.Helper()
	return Open(t, USOutfit, []*ledger.Entry{
		EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"}),
		EntryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000}),
		EntryAt(0, &ledger.Yard{Name: "Alder Bend"}),
	})
}

// LookOver is an outfit with a run that was not ended, supers that wait, a tank
// drawn beyond what it had, a lot that is held, and two yards on the map: the
// second lies 0.1 degrees of longitude east of the first at 60 degrees north,
// which is 5.56 km, and gave a quarter of its honey.
func LookOver() (entries []*ledger.Entry, tank, yard, overdrawn *ledger.Entry) {
	degrees := func(v float64) *float64 { return &v }
	season := EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	deep := EntryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	drum := EntryAt(0, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	tank = EntryAt(0, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 1_000_000, HoseMark: "red ring"})
	yard = EntryAt(0, &ledger.Yard{Name: "Alder Bend", Latitude: degrees(60), Longitude: degrees(-100)})
	east := EntryAt(0, &ledger.Yard{Name: "Mill Race", Latitude: degrees(60), Longitude: degrees(-99.9)})
	entries = []*ledger.Entry{season, deep, drum, tank, yard, east}
	put := func(day float64, body ledger.Body) *ledger.Entry {
		e := EntryAt(day, body)
		entries = append(entries, e)
		return e
	}
	deeps := func(n int) ledger.SuperCount { return ledger.SuperCount{SuperKindID: deep.ID, Supers: n} }
	pull := put(1, &ledger.Pull{YardID: yard.ID, Supers: []ledger.SuperCount{deeps(30)}})
	other := put(1.1, &ledger.Pull{YardID: east.ID, Supers: []ledger.SuperCount{deeps(5)}})
	run := put(2, &ledger.Run{Name: "first", FramesPerSide: 30})
	put(2.1, &ledger.RunSupers{RunID: run.ID, PullID: pull.ID, SuperCount: deeps(20)})
	put(2.1, &ledger.RunSupers{RunID: run.ID, PullID: other.ID, SuperCount: deeps(5)})
	put(2.5, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run.ID}, To: ledger.Place{Kind: ledger.PlaceTank, ID: tank.ID}, MassG: 500_000})
	put(2.6, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: tank.ID}, Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.4}})
	lot := put(3, &ledger.Lot{Code: "26-001"})
	put(3.1, &ledger.Fill{LotID: lot.ID, TankID: tank.ID, ContainerKindID: drum.ID, Container: "D-1", TareG: 18_000, GrossG: 308_000})
	overdrawn = put(3.2, &ledger.Fill{LotID: lot.ID, TankID: tank.ID, ContainerKindID: drum.ID, Container: "D-2", TareG: 18_000, GrossG: 308_000})
	put(3.3, &ledger.LotStatus{LotID: lot.ID, Status: ledger.StatusHeld, Why: ledger.HeldForFinding})
	return entries, tank, yard, overdrawn
}

var MetricOutfit = db.Outfit{Name: "Sedge Hollow Honey", TimeZone: "America/Winnipeg", Units: "metric"}

var USOutfit = db.Outfit{Name: "Sedge Hollow Honey", TimeZone: "America/Winnipeg", Units: "us"}
