package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/invented"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// screenshots are for people to look at; git does not keep them.
const screenshots = "../screenshots"

// A phone gets the drawing of the season that is made for it.
func TestAPhoneGetsANarrowDrawing(t *testing.T) {
	t.Parallel()
	h := pagesOf(t, metricOutfit, longNames())
	fromEverywhere(t, startViewer(t), func(t *testing.T, b *browser) {
		d := b.device(t, "en-GB")
		d.signIn(h)
		for _, size := range sizes {
			d.resize(size.width, size.height)
			d.open(d.at(h) + "/season")
			if shown := evaluated[string](d, `document.querySelector('.chart').currentSrc`); strings.Contains(shown, "form=narrow") != (size.width < 700) {
				t.Errorf("%s: the chart shown is %s", size.name, shown)
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
	options := invented.Options{Seed: 7, Location: loc, FirstYear: 2025, Seasons: 2, Outline: 1, Yards: 8, Supers: 300, Runs: 8, Import: true}
	h := pagesOf(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "metric"}, invented.Outfit(options).Entries)
	response, body := h.send(t, http.MethodGet, "/v1/reports/season", nil, http.Header{"Authorization": {"Bearer " + h.token}})
	var report openapi.SeasonReport
	if err := json.Unmarshal([]byte(body), &report); err != nil || response.StatusCode != http.StatusOK {
		t.Fatalf("the season's report: %d %v %.300s", response.StatusCode, err, body)
	}

	b := startViewer(t)
	b.resize(1280, 800)
	b.signIn(h)
	b.open(b.at(h) + "/season")
	rows := evaluated[[]map[string]string](b, readYardTable)
	if len(rows) != len(report.Yards) || len(rows) == 0 {
		t.Fatalf("the page has %d yards, the API %d", len(rows), len(report.Yards))
	}
	for i, y := range report.Yards {
		want := map[string]string{
			"#": fmt.Sprint(y.Rank), "yard": y.Name, "supers": fmt.Sprint(y.SupersPulled), "honey": oneDecimal(&y.HoneyKg),
			"per super": oneDecimal(y.KgPerSuper), "per hive": oneDecimal(y.KgPerHive), "share %": oneDecimal(scaledBy(100, &y.Share)),
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

// longNames is an outfit with the longest names that there may be, a tank over
// its capacity, and honey that no pull explains.
func longNames() []*ledger.Entry {
	long := func(name string) string { return (name + strings.Repeat(" beyond the old gravel pit", 4))[:80] }
	season := entryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	deep := entryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	drum := entryAt(0, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	tank := entryAt(0, &ledger.Tank{Name: long("Settling tank"), Use: ledger.Settling, CapacityG: 900_000})
	spare := entryAt(0, &ledger.Tank{Name: "Donaudampfschifffahrtsgesellschaftskapitaen", Use: ledger.Heated, CapacityG: 300_000})
	out := []*ledger.Entry{season, deep, drum, tank, spare}
	for i, name := range []string{long("Quarter section"), "Donaudampfschifffahrtsgesellschaftskapitaensmuetze", "Ox"} {
		yard := entryAt(0, &ledger.Yard{Name: name})
		day := float64(10 + i)
		pull := entryAt(day, &ledger.Pull{YardID: yard.ID, Supers: []ledger.SuperCount{{SuperKindID: deep.ID, Supers: 20}}, HivesWorked: 12})
		run := entryAt(day+0.2, &ledger.Run{Name: fmt.Sprint(i + 1), FramesPerSide: 30})
		out = append(out, yard, pull, run)
		if name != "Ox" {
			out = append(out, entryAt(day+0.3, &ledger.RunSupers{RunID: run.ID, PullID: pull.ID, SuperCount: ledger.SuperCount{SuperKindID: deep.ID, Supers: 20}}))
		}
		out = append(out, entryAt(day+0.5, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run.ID}, To: ledger.Place{Kind: ledger.PlaceTank, ID: tank.ID}, MassG: 520_250 - int64(i)*40_125}))
	}
	lot := entryAt(20, &ledger.Lot{Code: "26-" + strings.Repeat("0", 20) + "7", Product: long("Clover and canola")})
	return append(out, lot, entryAt(20.1, &ledger.Fill{LotID: lot.ID, TankID: tank.ID, ContainerKindID: drum.ID, Container: "D-001", TareG: 18_000, GrossG: 308_000}))
}

func entryAt(day float64, body ledger.Body) *ledger.Entry {
	at := time.Date(2026, time.July, 1, 8, 0, 0, 0, time.UTC).Add(time.Duration(day * 24 * float64(time.Hour)))
	return &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: at, Via: ledger.ViaImport, Body: body}
}

// size is a window that a page must fit: a laptop's, the same at 200 % zoom, a
// phone's.
type size struct {
	name          string
	width, height int64
}

var sizes = []size{{"laptop", 1280, 800}, {"zoomed", 640, 400}, {"phone", 320, 640}}

// lookAt gives the browser a size, and the way to look at a page in it: opened,
// complained about, and kept as a picture.
func (b *browser) lookAt(s size) func(name string, h *pageHouse, path string) {
	b.resize(s.width, s.height)
	return func(name string, h *pageHouse, path string) {
		b.open(b.at(h) + path)
		b.complain(s.name + " " + name)
		b.picture(filepath.Join(screenshots, name+"-"+s.name+".png"), s.width, s.height)
	}
}
