package api_test

import (
	"fmt"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// afterEntry are entries that somebody has just recorded.
func (h *lookHouse) afterEntry() []ledger.Body {
	return []ledger.Body{
		&ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: h.tank}, Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.4}},
		&ledger.Movement{From: ledger.Place{Kind: ledger.PlaceTank, ID: h.tank}, To: ledger.Place{Kind: ledger.PlaceWaste}, MassG: 2_000},
		&ledger.Fill{LotID: h.lot, TankID: h.tank, ContainerKindID: h.drum, Container: uuid.NewString(), TareG: 18_000, GrossG: 308_000},
	}
}

func (h *lookHouse) record(b *testing.B, body ledger.Body) {
	b.Helper()
	e := &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: time.Now().Add(-time.Minute), Via: ledger.ViaImport, Body: body}
	if _, err := h.books.Append(b.Context(), h.who, e); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkFresh asks for each report and page of a season of 50,000 entries right after an
// entry, and tells the processor time of it beside what it lasted.
func BenchmarkFresh(b *testing.B) {
	h := openLookHouse(b, 50_000)
	reports := "/v1/reports/"
	for _, asked := range []struct{ name, path string }{
		{"report findings", reports + "findings"}, {"report tanks", reports + "tanks"}, {"report season", reports + "season"}, {"report lots", reports + "lots"},
		{"report runs", reports + "runs"}, {"report shed", reports + "shed"}, {"report balance", reports + "reconciliation"},
		{"today", "/"}, {"findings", "/findings"}, {"tanks", "/tanks"}, {"season", "/season"}, {"lots", "/lots"}, {"yard", "/yards/" + h.yard.String()}, {"map", "/charts/yards.svg"},
		{"balance", "/balance"}, {"tank", "/tanks/" + h.tank.String()}, {"lot", "/lots/" + h.lot.String()},
	} {
		h.get(b, asked.path)
		for i, body := range h.afterEntry() {
			b.Run(fmt.Sprint(asked.name, "/", body.Kind()), func(b *testing.B) {
				var worked time.Duration
				b.ReportAllocs()
				for b.Loop() {
					b.StopTimer()
					h.record(b, h.afterEntry()[i])
					before := processorTime()
					b.StartTimer()
					h.get(b, asked.path)
					worked += processorTime() - before
				}
				b.ReportMetric(worked.Seconds()*1e3/float64(b.N), "cpu-ms/op")
			})
		}
	}
}

// processorTime is what the whole process took of it, which others on the machine do not
// lengthen.
func processorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
