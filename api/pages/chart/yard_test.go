package chart

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/api/locale"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

func TestNoLabelOfAYardsPicturesMeetsAnotherOrLeavesThem(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(voices).Draw(t, "voice")
		maybe := func(name string, most float64) *float64 {
			if rapid.Bool().Draw(t, "there is "+name) {
				return new(rapid.Float64Range(0, most).Draw(t, name))
			}
			return nil
		}
		var seasons []season.YardSeason
		var pulls []season.PullLine
		for range rapid.IntRange(1, 50).Draw(t, "seasons") {
			var s season.YardSeason
			s.Season.Name = names(t)
			s.KgPerSuper, s.KgPerHive = maybe("per super", 40), maybe("per hive", 400)
			s.Together = season.Yield{KgPerSuper: maybe("all per super", 40), KgPerHive: maybe("all per hive", 400)}
			seasons = append(seasons, s)
		}
		far := rapid.SampledFrom([]int{1, 20 * 24, 4000 * 24}).Draw(t, "far")
		for range rapid.IntRange(1, 60).Draw(t, "pulls") {
			pulls = append(pulls, season.PullLine{PulledAt: time.Date(2024, 1, 1, rapid.IntRange(0, far).Draw(t, "hours"), 0, 0, 0, time.UTC),
				Yield: season.Yield{HoneyG: rapid.Int64Range(0, 3_000_000).Draw(t, "honey")}, MoisturePct: maybe("moisture", 25)})
		}
		for name, form := range forms {
			bySeason, err := YardSeasons(form, f, seasons)
			if err != nil {
				t.Fatal(err)
			}
			standsClear(t, name+" seasons", bySeason)
			byPull, err := YardPulls(form, f, pulls, maybe("limit", 21))
			if err != nil {
				t.Fatal(err)
			}
			standsClear(t, name+" pulls", byPull)
		}
	})
}

// Hives were counted in one of two seasons: of the other no bar per hive is drawn, and where
// they never were, there is no such picture.
func TestASeasonWithoutAHiveCountHasNoBarPerHive(t *testing.T) {
	t.Parallel()
	both := []season.YardSeason{{Season: ledger.Season{Name: "2026"}}, {Season: ledger.Season{Name: "2025"}}}
	both[0].Yield = season.Yield{KgPerSuper: new(20.0), KgPerHive: new(60.0)}
	both[1].Yield = season.Yield{KgPerSuper: new(10.0)}
	long := func(seasons []season.YardSeason) (n int) {
		svg, err := YardSeasons(Wide, inEnglish, seasons)
		if err != nil {
			t.Fatal(err)
		}
		for _, bar := range shapes(paths(t, svg), ofBars) {
			if bar.right() > bar.points[0][0] {
				n++
			}
		}
		return n
	}
	if n := long(both); n != 3 {
		t.Errorf("%d bars for two figures per super and one per hive", n)
	}
	if n := long(both[1:]); n != 1 {
		t.Errorf("%d bars for one figure per super", n)
	}
}

// In pounds the figures of the scale are larger, and the picture is the same.
func TestAPictureInPoundsSaysPounds(t *testing.T) {
	t.Parallel()
	pulls := []season.PullLine{{PulledAt: time.Date(2026, 8, 1, 12, 0, 0, 0, time.UTC), Yield: season.Yield{HoneyG: 453_592}, MoisturePct: new(17.4)}}
	svg, err := YardPulls(Wide, locale.NewVoice(locale.LanguageFor("en-US"), "us", time.UTC), pulls, nil)
	if err != nil {
		t.Fatal(err)
	}
	all, _ := texts(t, svg)
	var said []string
	for _, w := range all {
		said = append(said, w.text)
	}
	for _, want := range []string{"lb", "1,000", "Aug 1", "moisture, %"} {
		if !slices.Contains(said, want) {
			t.Errorf("one pull of 1,000 lb is drawn with %q, without %q", said, want)
		}
	}
}
