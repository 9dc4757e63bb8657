package season_test

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/demo"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// A yard's story says of each season what the season's report says of the yard,
// and its runs sum to its honey.
func TestAYardsStoryIsWhatTheSeasonsSayOfIt(t *testing.T) {
	t.Parallel()
	options := demo.Options{Seed: 7, Location: time.UTC, FirstYear: 2025, Seasons: 2, Outline: 1, Yards: 6, Supers: 300, Runs: 8, Import: true}
	b, err := ledger.Open(time.UTC, demo.Outfit(options).Recorded())
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	b.InForceOf(ledger.KindYard, func(yard ledger.ID, _ *ledger.Entry) bool {
		story, err := season.Yard(b, yard)
		if err != nil {
			t.Fatal(err)
		}
		var ofSeasons, ofRuns int64
		for _, s := range story.Seasons {
			report, err := season.Of(b, s.SeasonID)
			if err != nil {
				t.Fatal(err)
			}
			for _, y := range report.Yards {
				if y.YardID == yard && (y.HoneyG != s.HoneyG || y.Rank != s.Rank || y.SupersPulled != s.SupersPulled) {
					t.Errorf("%s in %s: %+v, the report has %+v", story.Yard.Name, s.Season.Name, s.YardLine, y)
				}
			}
			if got, want := *s.Together.KgPerSuper, *report.Together.KgPerSuper; got != want {
				t.Errorf("in %s all yards gave %v kg per super, the report has %v", s.Season.Name, got, want)
			}
			ofSeasons += s.HoneyG
			seen++
		}
		for _, r := range story.Runs {
			ofRuns += r.HoneyG
		}
		if ofRuns != ofSeasons {
			t.Errorf("%s: %d g in runs, %d in seasons", story.Yard.Name, ofRuns, ofSeasons)
		}
		return true
	})
	if seen < 8 {
		t.Errorf("only %d seasons of yards", seen)
	}
	if _, err := season.Yard(b, uuid.New()); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("no yard: %v", err)
	}
}
