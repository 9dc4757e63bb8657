package pages

import (
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

const (
	yardSeasonsRoute = yardRoute + "/seasons.svg"
	yardPullsRoute   = yardRoute + "/pulls.svg"
)

// routeYards serves yards, each with what is drawn of it.
func (p *pages) routeYards(e *echo.Echo, squeezed echo.MiddlewareFunc) {
	e.GET(yardRoute, p.yard, squeezed)
	e.GET(yardSeasonsRoute, p.yardSeasonsChart, squeezed)
	e.GET(yardPullsRoute, p.yardPullsChart, squeezed)
}

// yardAsked is the story of the yard that an address names.
func yardAsked(ctx echo.Context, b *ledger.Book) (*season.YardStory, error) {
	id, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		return nil, errNoYard
	}
	story, err := season.Yard(b, id)
	if err != nil {
		return nil, errNoYard
	}
	return story, nil
}

// yardSeasonsChart draws what a yard gave per super and per hive, season by season.
func (p *pages) yardSeasonsChart(ctx echo.Context) error {
	return p.keptChart(ctx, func(b *ledger.Book) (written, error) {
		story, err := yardAsked(ctx, b)
		if err != nil {
			return nil, err
		}
		return func(f locale.Voice) ([]byte, error) { return chart.YardSeasons(formAsked(ctx), f, story.Seasons) }, nil
	})
}

// yardPullsChart draws a yard's pulls, as many as its page has.
func (p *pages) yardPullsChart(ctx echo.Context) error {
	return p.keptChart(ctx, func(b *ledger.Book) (written, error) {
		story, err := yardAsked(ctx, b)
		if err != nil {
			return nil, err
		}
		limit, err := p.moistureLimit(b, farDay)
		return func(f locale.Voice) ([]byte, error) {
			return chart.YardPulls(formAsked(ctx), f, story.Pulls[:min(len(story.Pulls), mostYardRows)], limit.pct())
		}, err
	})
}

// farDay is later than today.
const farDay ledger.Date = "9999-12-31"

// draw says what can be drawn of a yard, and what of it nobody wrote down.
func (v *yardView) draw(f locale.Voice, story *season.YardStory, limit *heldLimit) {
	address := yardPath(story.YardID)
	if slices.ContainsFunc(story.Seasons, func(s season.YardSeason) bool { return s.KgPerSuper != nil || s.KgPerHive != nil }) {
		v.SeasonsPicture = address + "/seasons.svg"
	}
	v.NotCounted = notCounted(f, story.Seasons)
	pulls := story.Pulls[:min(len(story.Pulls), mostYardRows)]
	read := slices.ContainsFunc(pulls, func(x season.PullLine) bool { return x.MoisturePct != nil })
	if read || slices.ContainsFunc(pulls, func(x season.PullLine) bool { return x.HoneyG > 0 && !x.NotKnown }) {
		v.PullsPicture = address + "/pulls.svg"
	}
	if v.MoistureRead = read; read {
		v.Limit = limit.said(f)
	}
}

// notCounted names the seasons in which nobody counted a yard's hives; where they are many,
// it says how many.
func notCounted(f locale.Voice, seasons []season.YardSeason) string {
	const few = 6
	var names []string
	for _, s := range seasons {
		if s.Hives == nil {
			names = append(names, s.Season.Name)
		}
	}
	if len(names) > few {
		return f.Say("%s seasons", len(names))
	}
	return strings.Join(names, ", ")
}
