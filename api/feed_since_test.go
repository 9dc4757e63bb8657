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
	if rows := s.rows(t, "runs.csv?since="+since); len(rows) != 1 || rows[0]["honey_kg"] != "1040.0000" {
		t.Errorf("%v", rows)
	}
	if rows := s.rows(t, "lots.csv?since="+since); len(rows) != 0 {
		t.Errorf("no lot changed: %v", rows)
	}
}

// A log that was corrected to fewer points, or of which only some are asked for,
// leaves none of the others behind.
func TestPointsThatACorrectionLeftOutAreGone(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	first := fmt.Sprint(s.head(t).LastEntry)
	log := s.book(t, "temperature-logs", s.aLog(10, 15)).ID
	since := fmt.Sprint(s.head(t).LastEntry)
	statuses := func(address string) (out string) {
		for _, row := range s.rows(t, "temperatures.csv?"+address) {
			out += row["point"] + row["status"] + " "
		}
		return out
	}
	fewer := s.book(t, "temperature-logs", s.aLog(10, 12, "replaces", log, "reason", "three days of another tank")).ID
	for address, want := range map[string]string{
		"since=" + since:                                "1stands 2stands 3stands 4gone 5gone 6gone ",
		"since=" + since + "&from=2026-08-12":           "3stands 1gone 2gone 4gone 5gone 6gone ",
		"since=" + since + "&from=2026-08-20":           "1gone 2gone 3gone 4gone 5gone 6gone ",
		"since=" + first + "&season=2026&to=2026-08-10": "1stands 2gone 3gone 4gone 5gone 6gone ",
	} {
		if got := statuses(address); got != want {
			t.Errorf("%s: %s", address, got)
		}
	}
	s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(22, "9:00"), "replaces": fewer, "reason": "no such log"})
	if got := statuses("since=" + since); got != "1gone 2gone 3gone 4gone 5gone 6gone " {
		t.Errorf("withdrawn: %s", got)
	}
}

// TestWhoeverFollowsAFeedHasWhatTheWholeFeedSays: rows taken over by their id,
// and left out where they are gone, come to the same as the feed read anew.
func TestWhoeverFollowsAFeedHasWhatTheWholeFeedSays(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	feeds := []string{"readings", "movements", "containers", "pulls", "tanks", "temperatures"}
	filter := map[string]string{"readings": "&from=2026-08-21&lot=L26-001", "temperatures": "&from=2026-08-10"}
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
	var readings, fills, logs []string
	send := func(path string, body M) string { return s.book(t, path, body).ID }
	drums := 100
	random := rand.New(rand.NewPCG(26, 7))
	for range 25 {
		for range 1 + random.IntN(6) {
			when := at(20+random.IntN(3), "10:00")
			switch random.IntN(13) {
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
			case 7, 12:
				logs = append(logs, send("temperature-logs", s.aLog(5+random.IntN(8), 14+random.IntN(4))))
			case 8, 10, 11:
				if n := len(logs); n > 0 {
					one, first := random.IntN(n), 5+random.IntN(8)
					logs[one] = send("temperature-logs", s.aLog(first, first+random.IntN(4), "replaces", logs[one], "reason", "another logger's"))
				}
			case 9:
				if n := len(logs); n > 3 {
					send("withdrawals", M{"id": id(), "occurred_at": when, "replaces": logs[n-1], "reason": "no"})
					logs = logs[:n-1]
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
	return fmt.Sprint(row["id"], row["part"], row["point"])
}
