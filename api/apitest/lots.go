package apitest

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// LotHouse has two lots: L-1 of three drums read at 17.2, 17.4 and 17.6 %, which
// a laboratory has analysed, and L-2 of one drum that nobody read.
type LotHouse struct {
	*House
	Lot, Other ledger.ID
	Fills      []ledger.ID
	Instrument ledger.ID
}

func OpenLots(t *testing.T, outfit db.Outfit) *LotHouse {
	t.Helper()
	twenty := 20.0
	season := EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	drum := EntryAt(0, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	deep := EntryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	tank := EntryAt(0, &ledger.Tank{Name: "settling tank", Use: ledger.Settling, CapacityG: 4_500_000, HoseMark: "red"})
	store := EntryAt(0, &ledger.Room{Name: "drum store", Use: ledger.Store, UsualTemperatureC: &twenty})
	buyer := EntryAt(0, &ledger.Buyer{Name: "Northgate Packing"})
	yard := EntryAt(0, &ledger.Yard{Name: "Alder Bend"})
	blue := EntryAt(0, &ledger.Instrument{Name: "blue refractometer", Scale: ledger.ScaleMoisture, Compensates: true, StdUncertainty: new(0.2)})
	pull := EntryAt(1, &ledger.Pull{YardID: yard.ID, Supers: []ledger.SuperCount{{SuperKindID: deep.ID, Supers: 60}}, HivesWorked: 20})
	run := EntryAt(1.2, &ledger.Run{Name: "1", FramesPerSide: 30})
	entries := []*ledger.Entry{season, drum, deep, tank, store, buyer, yard, blue, pull, run,
		EntryAt(1.3, &ledger.RunSupers{RunID: run.ID, PullID: pull.ID, SuperCount: ledger.SuperCount{SuperKindID: deep.ID, Supers: 60}}),
		EntryAt(1.5, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run.ID}, To: ledger.Place{Kind: ledger.PlaceTank, ID: tank.ID}, MassG: 1_400_000})}
	lot := EntryAt(2, &ledger.Lot{Code: "L-1", Product: "clover honey", StoreID: store.ID})
	other := EntryAt(2, &ledger.Lot{Code: "L-2"})
	entries = append(entries, lot, other)
	h := &LotHouse{Lot: lot.ID, Other: other.ID, Instrument: blue.ID}
	for i, number := range []string{"D-1", "D-2", "D-3"} {
		fill := EntryAt(2.1+float64(i)/100, &ledger.Fill{LotID: lot.ID, TankID: tank.ID, ContainerKindID: drum.ID, Container: number, TareG: 18_000, GrossG: 308_000})
		h.Fills = append(h.Fills, fill.ID)
		entries = append(entries, fill, EntryAt(3+float64(i)/100, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: fill.ID}, InstrumentID: blue.ID,
			Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.2 + 0.2*float64(i)}}))
	}
	entries = append(entries,
		EntryAt(2.2, &ledger.Fill{LotID: other.ID, TankID: tank.ID, ContainerKindID: drum.ID, Container: "D-9", TareG: 18_000, GrossG: 298_000}),
		EntryAt(4, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot.ID}, Laboratory: "Fern Valley", ContainersSampled: 3,
			CertificateNumber: "26-1207", Accreditation: "ISO/IEC 17025, no. 4411", Measured: []ledger.Measured{
				{Quantity: "hmf_mg_per_kg", Value: 8, StdUncertainty: new(0.5), LimitOfQuantification: new(0.8), Method: "HPLC"}, {Quantity: "diastase_gothe", Value: 15, StdUncertainty: new(1.0)},
			}}))
	h.House = Open(t, outfit, entries)
	return h
}

func (h *LotHouse) Path() string { return "/lots/" + h.Lot.String() }

var FormID = regexp.MustCompile(`name="id" value="([0-9a-f-]{36})">`)

// Decide sends a lot's form as a person does: after looking at the page.
func (h *LotHouse) Decide(t *testing.T, by *House, do string, pairs ...string) (*http.Response, string) {
	t.Helper()
	_, page := by.Get(t, h.Path())
	form := url.Values{"do": {do}}
	if _, after, ok := strings.Cut(page, `aria-labelledby="`+do+`"`); ok {
		if m := FormID.FindStringSubmatch(after); m != nil {
			form.Set("id", m[1])
		}
	}
	for i := 0; i < len(pairs); i += 2 {
		form.Add(pairs[i], pairs[i+1])
	}
	return by.Send(t, http.MethodPost, h.Path(), form, nil)
}

// State is what the page of the lot says of it.
func (h *LotHouse) State(t *testing.T, by *House) string {
	t.Helper()
	_, page := by.Get(t, h.Path())
	m := regexp.MustCompile(`<p class="figure word"><span class="told[^"]*"><span aria-hidden="true">.</span> ([^<]+)</span></p>`).FindStringSubmatch(page)
	if m == nil {
		t.Fatalf("no state on the page:\n%s", page)
	}
	return m[1]
}
