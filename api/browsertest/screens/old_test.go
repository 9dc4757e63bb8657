package screens_test

import (
	"encoding/json"
	"net/url"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/domain/ledger"
)

// oldHouse has an old season from sheets: no entry says which pulls went into its run, and
// nobody sold its drums. imported is what brought them in.
func oldHouse(t *testing.T) (h *apitest.House, season, yard, imported string) {
	t.Helper()
	var entries []*ledger.Entry
	put := func(day string, body ledger.Body) ledger.ID {
		at, err := time.Parse(time.DateOnly, day)
		if err != nil {
			t.Fatal(err)
		}
		e := apitest.EntryAt(0, body)
		e.OccurredAt, e.Via = at.Add(18*time.Hour), ledger.ViaImport
		entries = append(entries, e)
		return e.ID
	}
	of := put("2024-01-01", &ledger.Season{Name: "2024", First: "2024-01-01", Last: "2024-12-31"})
	deep := put("2024-01-01", &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	drum := put("2024-01-01", &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	tank := put("2024-01-01", &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 4_900_000})
	put("2024-01-01", &ledger.Buyer{Name: "before the book"})
	var yards []ledger.ID
	for i, name := range []string{"Alder Bend", "Birch Hollow"} {
		id := put("2024-01-01", &ledger.Yard{Name: name, Latitude: new(50.0), Longitude: new(-97 - 0.1*float64(i))})
		yards = append(yards, id)
		put("2024-07-20", &ledger.HiveCount{YardID: id, Name: "main flow", Hives: 20})
		pull := put("2024-08-01", &ledger.Pull{YardID: id, Supers: []ledger.SuperCount{{SuperKindID: deep, Supers: 20}}})
		run := put("2024-08-02", &ledger.Run{Name: name, FramesPerSide: 30})
		if i == 0 {
			put("2024-08-02", &ledger.RunSupers{RunID: run, PullID: pull, SuperCount: ledger.SuperCount{SuperKindID: deep, Supers: 20}})
		}
		put("2024-08-02", &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run}, To: ledger.Place{Kind: ledger.PlaceTank, ID: tank}, MassG: 540_000})
	}
	lot := put("2024-08-10", &ledger.Lot{Code: "24-001"})
	for _, number := range []string{"D-1", "D-2", "D-3"} {
		put("2024-08-10", &ledger.Fill{LotID: lot, TankID: tank, ContainerKindID: drum, Container: number, TareG: 18_000, GrossG: 308_000})
	}
	it := put("2026-11-20", &ledger.Import{Of: ledger.ContainersOf, File: "drums 2024.csv", SHA256: "00", Entries: 3, Rows: 3, Headings: "00", Mapping: json.RawMessage("{}")})
	h = apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	return h, of.String(), yards[1].String(), it.String()
}

func oldScreens(season, yard, imported string) []browsertest.Screen {
	gone := "/import/" + imported + "/gone"
	return []browsertest.Screen{
		{Name: "season-not-known", Route: "/season", Path: "/season?season=" + season, By: (*browsertest.Browser).Unfold},
		{Name: "yard-not-known", Route: "/yards/:id", Path: "/yards/" + yard, By: (*browsertest.Browser).Unfold},
		{Name: "old-stock", Route: "/findings", Path: "/findings"},
		{Name: "gone", Route: "/import/:id/gone", Path: gone},
		{Name: "gone-refused", Route: "POST /import/:id/gone", Path: gone, Sent: url.Values{"id": {uuid.NewString()}, "buyer": {""}, "day": {"2024-08-01"}, "note": {" "}}},
	}
}
