package pages

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/chart"
	"pullbook/api/reports"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// lotLimits draws a lot against the limits of the rule sets in use. The tables of its page say the same.
func (p *pages) lotLimits(ctx echo.Context) error {
	id, err := lotParam(ctx)
	if err != nil {
		return err
	}
	form := formAsked(ctx)
	return p.keptChart(ctx, func(b *ledger.Book) (written, error) {
		on := reports.OnDay(p.Service, b, nil)
		gathered, err := quality.Gather(b, id, on)
		if err != nil {
			return nil, err
		}
		sets, verdicts, err := verdictsToday(b, gathered, on)
		if err != nil {
			return nil, err
		}
		return func(f locale.Voice) ([]byte, error) {
			var groups []chart.LimitGroup
			for i, set := range sets {
				groups = append(groups, limitGroup(f, set, &verdicts[i]))
			}
			return chart.Limits(form, groups)
		}, nil
	})
}

func limitGroup(f locale.Voice, set ledger.Resolved, check *standard.Check) chart.LimitGroup {
	group := chart.LimitGroup{Name: nameOfSet(f, set)}
	for i := range check.Verdicts {
		v := &check.Verdicts[i]
		if v.Outcome == standard.DoesNotApply {
			continue
		}
		said := limitLineOf(f, v, set.Own())
		name := said.Parameter
		if said.Grade != "" {
			name += ", " + f.Say("grade %s", said.Grade)
		}
		line := chart.LimitLine{Answer: f.Say("%s: %s", name, said.Word), Figures: f.Say("%s, limit: %s", said.Value, said.Limit)}
		line.Low, line.High = v.Limit.Range()
		if v.HasValue {
			line.Has = &chart.Has{From: v.Low.Float64(), To: v.High.Float64()}
			if v.UncertaintyKnown {
				line.Has.Off = 2 * v.StdUncertainty
			}
		}
		group.Lines = append(group.Lines, line)
	}
	return group
}
