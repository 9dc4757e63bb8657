package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
)

// house is an outfit with a tank and a refractometer.
type house struct {
	token            string
	tank, instrument uuid.UUID
}

// setUp makes outfits, each with what a reading needs, through the service.
func setUp(ctx context.Context, operator *db.DB, url string, n int) ([]house, error) {
	houses := make([]house, n)
	for i := range houses {
		outfit := uuid.New()
		if err := operator.CreateOutfit(ctx, db.Outfit{ID: outfit, Name: fmt.Sprintf("House %d", i+1), TimeZone: "America/Winnipeg", Units: "metric"}); err != nil {
			return nil, err
		}
		if err := operator.CreatePerson(ctx, outfit, db.Person{ID: uuid.New(), Name: "Mirren", Role: db.Manager}); err != nil {
			return nil, err
		}
		token, err := operator.CreateToken(ctx, outfit, "Mirren", "measure")
		if err != nil {
			return nil, err
		}
		h := house{token: token, tank: uuid.New(), instrument: uuid.New()}
		year := time.Now().Year()
		for _, one := range []struct {
			path string
			body map[string]any
		}{
			{"seasons", map[string]any{"id": uuid.New(), "name": "now", "first": fmt.Sprintf("%d-01-01", year-1), "last": fmt.Sprintf("%d-12-31", year+1)}},
			{"tanks", map[string]any{"id": h.tank, "name": "large tank", "use": "settling", "capacity_kg": 4500}},
			{"instruments", map[string]any{"id": h.instrument, "name": "refractometer", "scale": "moisture", "compensates_temperature": true, "std_uncertainty": 0.2}},
		} {
			one.body["occurred_at"] = time.Now()
			body, err := json.Marshal(one.body)
			if err != nil {
				return nil, err
			}
			if err := send(ctx, http.DefaultClient, sending{url + "/v1/" + one.path, token, body}); err != nil {
				return nil, fmt.Errorf("set up %s: %w", one.path, err)
			}
		}
		houses[i] = h
	}
	return houses, nil
}

// reading is a new reading of the tank.
func (h house) reading(url string) sending {
	return sending{url + "/v1/readings", h.token, fmt.Appendf(nil,
		`{"id":%q,"occurred_at":%q,"on":{"kind":"tank","id":%q},"point":"gate","instrument_id":%q,"moisture_pct":17.4,"sample_temperature_c":22}`,
		uuid.NewString(), time.Now().Format(time.RFC3339Nano), h.tank, h.instrument)}
}
