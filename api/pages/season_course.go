package pages

import (
	"cmp"
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/reports"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// routeSeasonPictures serves what is drawn of a season.
func (p *pages) routeSeasonPictures(e *echo.Echo, squeezed echo.MiddlewareFunc) {
	e.GET(seasonChartPath, p.seasonChart, squeezed)
	e.GET(courseRoute, p.courseChart, squeezed)
	e.GET(moistureRoute, p.moistureChart, squeezed)
	e.GET(mapRoute, p.yardMap, squeezed)
}

const (
	courseRoute   = "/charts/course.svg"
	moistureRoute = "/charts/moisture.svg"
)

// courseChart draws how a season's honey came in.
func (p *pages) courseChart(ctx echo.Context) error {
	return p.seasonPicture(ctx, func(_ *ledger.Book, r *season.Report, form chart.Form) (written, error) {
		return func(f locale.Voice) ([]byte, error) { return chart.SeasonCourse(form, f, r) }, nil
	})
}

// moistureChart draws what was read of a season's pulls and runs.
func (p *pages) moistureChart(ctx echo.Context) error {
	return p.seasonPicture(ctx, func(b *ledger.Book, r *season.Report, form chart.Form) (written, error) {
		limit, err := p.moistureLimit(b, r.Season.Last)
		return func(f locale.Voice) ([]byte, error) {
			return chart.SeasonMoisture(form, f, r.Course.Moisture, limit.pct())
		}, err
	})
}

// seasonPicture draws something of the season that a request names, wide or, with
// form=narrow, for a phone. The tables beside it say the same.
func (p *pages) seasonPicture(ctx echo.Context, draw func(*ledger.Book, *season.Report, chart.Form) (written, error)) error {
	return p.keptChart(ctx, func(b *ledger.Book) (written, error) {
		id, _, err := p.chosen(ctx.QueryParam("season"), b)
		if err != nil {
			return nil, err
		}
		r, err := season.Of(b, id)
		if err != nil {
			return nil, err
		}
		return draw(b, r, formAsked(ctx))
	})
}

// heldLimit is the most moisture that the outfit's honey may have, and by what.
type heldLimit struct {
	most standard.Decimal
	by   message.Text
}

// pct is nil where there is no limit.
func (l *heldLimit) pct() *float64 {
	if l == nil {
		return nil
	}
	return new(l.most.Float64())
}

// said is empty where there is no limit.
func (l *heldLimit) said(f locale.Voice) string {
	if l == nil {
		return ""
	}
	return f.Say("The dashed line is the limit of %s %% (%s).", l.most.Said(), l.by)
}

// moistureLimit is the strictest limit of moisture among the rule sets that the outfit
// sells by, as they are on the last day of a season, or today while it lasts; nil where
// none has one.
func (p *pages) moistureLimit(b *ledger.Book, last ledger.Date) (*heldLimit, error) {
	on := min(reports.OnDay(p.Service, b, nil), standard.Date(last))
	sets, err := reports.RuleSetsSoldBy(b, on)
	if err != nil {
		return nil, err
	}
	set, most, ok := quality.Strictest(sets, "moisture")
	if !ok {
		return nil, nil
	}
	return &heldLimit{most, set.SaidTitle()}, nil
}

// courseView is how a season came in.
type courseView struct {
	Picture string
	// By is the last day with honey. PerSuper and PerHive are empty where nobody counted.
	By, Honey, PerSuper, PerHive string
	// Before names the season that is drawn beside it, with what it had by the same day
	// and how much more there is now; empty where none is.
	Before, BeforeHoney, Change string
	Days                        []courseRow
}

type courseRow struct{ Day, Honey, Sum, Before string }

// course is nil where no run gave honey.
func (v *seasonView) course() *courseView {
	f, r := v.F, v.Report
	if len(r.Course.Days) == 0 {
		return nil
	}
	last := r.Course.Days[len(r.Course.Days)-1]
	c := &courseView{
		Picture: courseRoute + seasonQuery(r.SeasonID), By: f.Date(string(last.On)), Honey: f.Grams(r.HoneyG),
	}
	if r.Together.KgPerSuper != nil {
		c.PerSuper = f.Kilograms(r.Together.KgPerSuper)
	}
	if r.Together.KgPerHive != nil {
		c.PerHive = f.Kilograms(r.Together.KgPerHive)
	}
	if len(r.Course.Before) > 0 {
		c.Before, c.BeforeHoney, c.Change = r.Before.Name, f.Grams(last.BeforeG), f.GramsChange(new(last.SumG-last.BeforeG))
	}
	days := r.Course.EachDay()
	for _, d := range days {
		row := courseRow{f.Date(string(d.On)), locale.Missing, locale.Missing, f.Grams(d.BeforeG)}
		if d.HoneyG > 0 {
			row.Honey = f.Grams(d.HoneyG)
		}
		if d.On <= last.On {
			row.Sum = f.Grams(d.SumG)
		}
		if v.asked.dates(string(d.On), string(d.On)) && v.asked.holds(row.Day, row.Honey) {
			c.Days = append(c.Days, row)
		}
	}
	v.count(len(c.Days), len(days))
	return c
}

// moistureView is what was read of a season's pulls and runs.
type moistureView struct {
	Picture, Limit string
	// Driest and Wettest are of all readings.
	Readings, Days, Driest, Wettest string
	// Over counts the days with a reading above the limit; empty where there is none.
	Over string
	Rows []moistureRow
}

type moistureRow struct{ Day, Readings, Mean, Driest, Wettest string }

// moisture is nil where nothing was read.
func (v *seasonView) moisture() *moistureView {
	f, days := v.F, v.Report.Course.Moisture
	if len(days) == 0 {
		return nil
	}
	m := &moistureView{Picture: moistureRoute + seasonQuery(v.Report.SeasonID), Limit: v.limit.said(f), Days: f.Count(len(days))}
	readings, over, limit := 0, 0, v.limit.pct()
	for _, d := range days {
		readings += d.Readings
		if limit != nil && d.HighPct > *limit {
			over++
		}
		row := moistureRow{f.Date(string(d.On)), f.Count(d.Readings), f.Percent(&d.MeanPct), f.Percent(&d.LowPct), f.Percent(&d.HighPct)}
		if v.asked.dates(string(d.On), string(d.On)) && v.asked.holds(row.Day, row.Mean) {
			m.Rows = append(m.Rows, row)
		}
	}
	v.count(len(m.Rows), len(days))
	driest := slices.MinFunc(days, func(a, b season.MoistureDay) int { return cmp.Compare(a.LowPct, b.LowPct) })
	wettest := slices.MaxFunc(days, func(a, b season.MoistureDay) int { return cmp.Compare(a.HighPct, b.HighPct) })
	m.Readings, m.Driest, m.Wettest = f.Count(readings), f.Percent(&driest.LowPct), f.Percent(&wettest.HighPct)
	if limit != nil {
		m.Over = f.Count(over)
	}
	return m
}
