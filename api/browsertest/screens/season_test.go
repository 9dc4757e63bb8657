package screens_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/db"
	"pullbook/domain/demo"
	"pullbook/openapi"
)

// A phone gets the drawing of the season that is made for it.
func TestAPhoneGetsANarrowDrawing(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	browsertest.AtEach(t, browsertest.Origins(), browsertest.Start(t), func(t *testing.T, b *browsertest.Browser) {
		d := b.Device(t, "en-GB")
		d.SignIn(h)
		for _, size := range browsertest.Sizes {
			d.Resize(size.Width, size.Height)
			d.Open(d.At(h) + "/season")
			if shown := browsertest.Evaluated[string](d, `document.querySelector('.chart').currentSrc`); strings.Contains(shown, "form=narrow") != (size.Width < 700) {
				t.Errorf("%s: the chart shown is %s", size.Name, shown)
			}
		}
	})
}

// TestTheTableShowsWhatTheAPISays reads the season off the page, as a person
// would, and asks the API for the same.
func TestTheTableShowsWhatTheAPISays(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	options := demo.Options{Seed: 7, Location: loc, FirstYear: 2025, Seasons: 2, Outline: 1, Yards: 8, Supers: 300, Runs: 8, Import: true}
	h := apitest.Open(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "metric"}, demo.Outfit(options).Entries)
	response, body := h.Send(t, http.MethodGet, "/v1/reports/season", nil, http.Header{"Authorization": {"Bearer " + h.Token}})
	var report openapi.SeasonReport
	if err := json.Unmarshal([]byte(body), &report); err != nil || response.StatusCode != http.StatusOK {
		t.Fatalf("the season's report: %d %v %.300s", response.StatusCode, err, body)
	}

	b := browsertest.Start(t)
	b.Resize(1280, 800)
	b.SignIn(h)
	b.Open(b.At(h) + "/season")
	rows := browsertest.Evaluated[[]map[string]string](b, readYardTable)
	if len(rows) != len(report.Yards) || len(rows) == 0 {
		t.Fatalf("the page has %d yards, the API %d", len(rows), len(report.Yards))
	}
	for i, y := range report.Yards {
		want := map[string]string{
			"#": fmt.Sprint(*y.Rank), "yard": y.Name, "supers": fmt.Sprint(y.SupersPulled), "honey": oneDecimal(y.HoneyKg),
			"per super": oneDecimal(y.KgPerSuper), "per hive": oneDecimal(y.KgPerHive), "share %": oneDecimal(scaledBy(100, y.Share)),
			"moisture %": oneDecimal(y.MoisturePct), "in 2025": oneDecimal(y.LastSeasonKg), "change": oneDecimal(y.ChangeKg),
		}
		for column, text := range want {
			if got := rows[i][column]; got != text {
				t.Errorf("%s, %s: the page says %q, the API %q", y.Name, column, got, text)
			}
		}
	}
}

// readYardTable gives each row's cells by the heading of their column, without
// the spaces within numbers.
const readYardTable = `(() => {
	const table = document.querySelector('table.yards')
	const plain = cell => cell.innerText.replace(/[\u00a0\n]/g, ' ').trim()
	const heads = [...table.tHead.rows[0].cells].map(plain)
	return [...table.tBodies[0].rows].map(row => Object.fromEntries([...row.cells].map((cell, i) =>
		[heads[i], plain(cell).replace(/\u202f/g, '').replace('\u2212', '-').replace(/^\+/, '')])))
})()`

func oneDecimal(v *float64) string {
	if v == nil {
		return "\u2013"
	}
	return fmt.Sprintf("%.1f", *v)
}

func scaledBy(factor float64, v *float64) *float64 {
	scaled := factor * *v
	return &scaled
}
