package chart

import (
	"math"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/plot"
	"pgregory.net/rapid"

	"pullbook/api/locale"
)

// Whatever the time between an hour and decades, its labels stand apart, and there are some.
func TestAScaleOfTimeHasRoomForItsLabels(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(voices).Draw(t, "voice")
		from := time.Date(2023, 5, 1, 0, rapid.IntRange(0, 60*24*800).Draw(t, "minutes"), 0, 0, time.UTC)
		until := from.Add(time.Duration(math.Exp(rapid.Float64Range(math.Log(2), math.Log(40*365*24)).Draw(t, "log of hours")) * float64(time.Hour)))
		for name, form := range forms {
			pl := Framed(form, f, "quantity")
			pl.X.Tick.Marker = plot.TickerFunc(func(low, high float64) []plot.Tick { return timeTicks(f, form, low, high, calendars) })
			pl.X.Min, pl.X.Max, pl.Y.Min, pl.Y.Max = seconds(from), seconds(until), 0, 1000
			svg, err := SVG(pl, form.Width, panelHeight)
			if err != nil {
				t.Fatal(err)
			}
			standsClear(t, name, svg)
			if len(timeTicks(f, form, seconds(from), seconds(until), calendars)) == 0 {
				t.Errorf("%s: nothing is marked from %v until %v", name, from, until)
			}
		}
	})
}

func TestTheDaysMarkedAreThoseThatAPersonWouldChoose(t *testing.T) {
	t.Parallel()
	winnipeg, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		tag         string
		form        Form
		from, until string
		want        string
	}{
		{"en-GB", Wide, "2026-06-23", "2026-09-12", "1 Jul, 10 Jul, 20 Jul, 1 Aug, 10 Aug, 20 Aug, 1 Sep, 10 Sep"},
		{"en-US", Wide, "2026-06-23", "2026-09-12", "Jul 1, Jul 10, Jul 20, Aug 1, Aug 10, Aug 20, Sep 1, Sep 10"},
		{"es-AR", Wide, "2026-06-23", "2026-09-12", "1 jul., 10 jul., 20 jul., 1 ago., 10 ago., 20 ago., 1 sep., 10 sep."},
		{"en-US", Narrow, "2026-06-23", "2026-09-12", "Jul 2026, Aug, Sep"},
		{"en-GB", Wide, "2026-08-03", "2026-08-08", "3 Aug, 4 Aug, 5 Aug, 6 Aug, 7 Aug, 8 Aug"},
		{"en-GB", Narrow, "2026-08-03", "2026-08-08", "3 Aug, 5 Aug, 7 Aug"},
		{"en-GB", Narrow, "2028-02-29", "2028-02-29", "29 Feb"},
		{"en-US", Wide, "2025-10-05", "2026-03-20", "Oct 15, Nov 1, Nov 15, Dec 1, Dec 15, Jan 1, Jan 15, Feb 1, Feb 15, Mar 1, Mar 15"}, // the clock goes back on 2 November
		{"es-MX", Narrow, "2025-10-05", "2026-03-20", "nov. 2025, ene. 2026, mar."},
		{"en-GB", Narrow, "2019-08-01", "2026-09-20", "2020, 2022, 2024, 2026"},
	} {
		f := locale.NewVoice(locale.LanguageFor(tt.tag), "metric", winnipeg)
		at := func(day string, hours int) float64 {
			d, err := time.ParseInLocation(time.DateOnly, day, winnipeg)
			if err != nil {
				t.Fatal(err)
			}
			return seconds(d.Add(time.Duration(hours) * time.Hour))
		}
		var got []string
		for _, tick := range DayTicks(f, tt.form, at(tt.from, 0), at(tt.until, 23)) {
			got = append(got, tick.Label)
			if when := time.Unix(int64(tick.Value), 0).In(winnipeg); when.Hour() != 0 || when.Minute() != 0 {
				t.Errorf("%s is marked at %v, not at midnight", tick.Label, when)
			}
		}
		if text := strings.Join(got, ", "); text != tt.want {
			t.Errorf("%s, %.0f wide, from %s until %s: %s\nwant %s", tt.tag, tt.form.Width, tt.from, tt.until, text, tt.want)
		}
	}
}
