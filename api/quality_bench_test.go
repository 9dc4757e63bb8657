package api_test

import (
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
)

// season500 is a service over a book with a season's 500 lots of four drums,
// each drum read and each lot analysed.
type season500 struct {
	handler http.Handler
	books   *books.Books
	manager db.Principal
	reader  string
	lot     ledger.ID
}

func openSeason500(b *testing.B) *season500 {
	b.Helper()
	ctx := b.Context()
	url := dbtest.New(b)
	operator, err := db.Open(ctx, url, db.OperatorRole, 1)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(operator.Close)
	service, err := db.Open(ctx, dbtest.As(url, db.ServiceRole), db.ServiceRole, 4)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(service.Close)
	s := &season500{books: books.Open(service, 4)}
	b.Cleanup(s.books.Close)
	outfit := db.Outfit{ID: uuid.New(), Name: "Fern Gully Honey", TimeZone: "America/Winnipeg", Units: "metric"}
	if err := operator.CreateOutfit(ctx, outfit); err != nil {
		b.Fatal(err)
	}
	if err := operator.CreatePerson(ctx, outfit.ID, db.Person{ID: uuid.New(), Name: "Mirren", Role: db.Manager}); err != nil {
		b.Fatal(err)
	}
	if s.reader, err = operator.CreateToken(ctx, outfit.ID, "Mirren", "bench"); err != nil {
		b.Fatal(err)
	}
	if s.manager, err = s.books.SignIn(ctx, s.reader); err != nil {
		b.Fatal(err)
	}
	config := request.DefaultConfig()
	config.Log = slog.New(slog.NewTextHandler(io.Discard, nil))
	if s.handler, err = api.New(service, s.books, config); err != nil {
		b.Fatal(err)
	}
	s.fill(b)
	return s
}

func (s *season500) put(b *testing.B, body ledger.Body) ledger.ID {
	b.Helper()
	e := &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: time.Now().Add(-time.Hour), Via: ledger.ViaImport, Body: body}
	if _, err := s.books.Append(b.Context(), s.manager, e); err != nil {
		b.Fatal(err)
	}
	return e.ID
}

func (s *season500) fill(b *testing.B) {
	b.Helper()
	year := time.Now().Year()
	s.put(b, &ledger.Season{Name: "this", First: ledger.Date(fmt.Sprintf("%d-01-01", year)), Last: ledger.Date(fmt.Sprintf("%d-12-31", year))})
	drum := s.put(b, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	tank := s.put(b, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 4_500_000})
	twenty := 20.0
	store := s.put(b, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &twenty})
	for i := range 500 {
		s.lot = s.put(b, &ledger.Lot{Code: fmt.Sprintf("26-%03d", i), StoreID: store})
		for j := range 4 {
			fill := s.put(b, &ledger.Fill{LotID: s.lot, TankID: tank, ContainerKindID: drum, Container: fmt.Sprintf("%d-%d", i, j), TareG: 18_000, GrossG: 308_000})
			s.put(b, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: fill},
				Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 16.5 + float64((i+j)%30)/10}})
		}
		s.put(b, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: s.lot}, Laboratory: "Fern Valley", Measured: []ledger.Measured{
			{Quantity: "hmf_mg_per_kg", Value: float64(5 + i%40), StdUncertainty: new(0.5), Method: "HPLC"}, {Quantity: "diastase_gothe", Value: float64(6 + i%20), StdUncertainty: new(1.0)},
			{Quantity: "conductivity_ms_per_cm", Value: 0.3}, {Quantity: "colour_mm_pfund", Value: float64(i % 120)}, {Quantity: "sucrose_g_per_100g", Value: 1.5},
			{Quantity: "fructose_plus_glucose_g_per_100g", Value: 70}, {Quantity: "free_acidity_meq_per_kg", Value: 20}, {Quantity: "insoluble_g_per_100g", Value: 0.05},
		}})
	}
}

func (s *season500) get(b *testing.B, path string) int {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	r.Header.Set("Authorization", "Bearer "+s.reader)
	w := httptest.NewRecorder()
	s.handler.ServeHTTP(w, r)
	if w.Code != http.StatusOK {
		b.Fatalf("%s: %d %s", path, w.Code, w.Body)
	}
	return w.Body.Len()
}

// BenchmarkSeasonAgainstEveryRuleSet asks for 500 lots against all rule sets in
// force: with nothing changed since the last time, and right after an entry.
func BenchmarkSeasonAgainstEveryRuleSet(b *testing.B) {
	s := openSeason500(b)
	for _, path := range []string{"/v1/reports/verdicts", "/v1/reports/keeping?rule_sets=eu-honey,codex-cxs-12-1981-annex", "/v1/reports/keeping"} {
		size := s.get(b, path)
		b.Run("unchanged"+path, func(b *testing.B) {
			for b.Loop() {
				s.get(b, path)
			}
			b.ReportMetric(float64(size), "body-bytes")
		})
		b.Run("changed"+path, func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				s.put(b, &ledger.LotStatus{LotID: s.lot, Status: ledger.StatusHeld, Why: ledger.HeldForFinding})
				b.StartTimer()
				s.get(b, path)
			}
		})
	}
	b.Run("unchanged/v1/reports/verdicts/lot", func(b *testing.B) {
		for b.Loop() {
			s.get(b, "/v1/reports/verdicts/"+s.lot.String())
		}
	})
}
