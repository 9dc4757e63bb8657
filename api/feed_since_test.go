package api_test

import (
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

func TestAFeedAskedSinceAnEntryGivesWhatReadsOtherwise(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	misread := s.book(t, "readings", s.aReading("moisture_pct", 18.4)).ID
	taken := s.book(t, "readings", s.aReading()).ID
	untouched := s.book(t, "readings", s.aReading()).ID
	since := s.feed(t, "readings.csv").header.Get("Pullbook-Entry")
	if rows := s.rows(t, "readings.csv?since="+since); len(rows) != 0 {
		t.Errorf("nothing happened, and the feed gives %v", rows)
	}
	s.book(t, "readings", s.aReading("moisture_pct", 17.8, "replaces", misread, "reason", "misread"))
	withdrawal := s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(22, "9:00"), "replaces": taken, "reason": "never taken"}).Number
	fresh := s.book(t, "readings", s.aReading()).ID
	r := s.feed(t, "readings.jsonl?since="+since)
	got := lines(t, r)
	want := map[string]string{misread: "stands", taken: "gone", fresh: "stands"}
	if len(got) != len(want) || got[untouched] != nil {
		t.Errorf("%s", r.raw)
	}
	for root, status := range want {
		if got[root]["status"] != status {
			t.Errorf("%s: %v", root, got[root])
		}
	}
	if got[misread]["moisture_pct"] != 17.8 || got[taken]["entry"] != float64(withdrawal) {
		t.Errorf("%s", r.raw)
	}
	// A yard's, tank's or lot's new name stands in rows that were not touched.
	since = r.header.Get("Pullbook-Entry")
	s.book(t, "tanks", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "great tank", "use": "settling", "capacity_kg": 4500, "replaces": s.large, "reason": "renamed"})
	if got := lines(t, s.feed(t, "readings.jsonl?since="+since)); got[untouched]["on_name"] != "great tank" {
		t.Errorf("%v", got)
	}
	// What a run gave is worked out from entries that are not its own.
	since = fmt.Sprint(s.head(t).LastEntry)
	s.book(t, "movements", s.aMovement("occurred_at", at(21, "11:00"), "mass_kg", 40))
	if rows := s.rows(t, "runs.csv?since="+since); len(rows) != 1 || rows[0]["honey_kg"] != "1040.000" {
		t.Errorf("%v", rows)
	}
	if rows := s.rows(t, "lots.csv?since="+since); len(rows) != 0 {
		t.Errorf("no lot changed: %v", rows)
	}
}

// TestWhoeverFollowsAFeedHasWhatTheWholeFeedSays: rows taken over by their id,
// and left out where they are gone, come to the same as the feed read anew.
func TestWhoeverFollowsAFeedHasWhatTheWholeFeedSays(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	feeds := []string{"readings", "movements", "containers", "pulls", "tanks"}
	filter := map[string]string{"readings": "&from=2026-08-21&lot=L26-001"}
	kept := map[string]map[string]string{}
	since := map[string]string{}
	follow := func(name string) {
		t.Helper()
		ask := name + ".jsonl?season=2026" + filter[name]
		if name == "tanks" {
			ask = name + ".jsonl?units=metric"
		}
		whole := map[string]string{}
		for line := range strings.Lines(string(s.feed(t, ask).raw)) {
			whole[keyOf(t, line)] = line
		}
		if since[name] == "" {
			kept[name] = whole
		} else {
			for line := range strings.Lines(string(s.feed(t, ask+"&since="+since[name]).raw)) {
				if strings.Contains(line, `"status":"gone"`) {
					delete(kept[name], keyOf(t, line))
				} else {
					kept[name][keyOf(t, line)] = line
				}
			}
		}
		if !maps.Equal(kept[name], whole) {
			t.Fatalf("%s followed: %v\nread anew: %v", name, slices.Sorted(maps.Values(kept[name])), slices.Sorted(maps.Values(whole)))
		}
		since[name] = s.feed(t, ask).header.Get("Pullbook-Entry")
	}
	var readings, fills []string
	send := func(path string, body M) string { return s.book(t, path, body).ID }
	drums := 100
	random := rand.New(rand.NewPCG(26, 7))
	for range 15 {
		for range 1 + random.IntN(6) {
			when := at(20+random.IntN(3), "10:00")
			switch random.IntN(7) {
			case 0:
				readings = append(readings, send("readings", s.aReading("occurred_at", when, "on", M{"kind": "container", "id": s.drum1})))
			case 1:
				drums++
				fills = append(fills, send("fills", s.aFill("container", fmt.Sprint("D-", drums), "occurred_at", when)))
			case 2:
				send("movements", s.aMovement("occurred_at", when))
			case 3:
				send("pulls", s.aPull("occurred_at", when, "gross_kg", 400))
			case 4:
				if n := len(readings); n > 0 {
					readings[n-1] = send("readings", s.aReading("occurred_at", when, "moisture_pct", 16.8, "replaces", readings[n-1], "reason", "misread"))
				}
			case 5:
				if n := len(readings); n > 0 {
					send("withdrawals", M{"id": id(), "occurred_at": when, "replaces": readings[n-1], "reason": "no"})
					readings = readings[:n-1]
				}
			case 6:
				if n := len(fills); n > 0 {
					drums++
					fills[n-1] = send("fills", s.aFill("container", fmt.Sprint("D-", drums), "occurred_at", when, "replaces", fills[n-1], "reason", "misread"))
				}
			}
		}
		for _, name := range feeds {
			follow(name)
		}
	}
}

func keyOf(t *testing.T, line string) string {
	var row M
	if err := json.Unmarshal([]byte(line), &row); err != nil {
		t.Fatal(err)
	}
	return fmt.Sprint(row["id"], row["part"])
}
