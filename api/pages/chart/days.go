package chart

import (
	"fmt"

	"pullbook/api/locale"
	"pullbook/domain/plan/rest"
)

// DaysLeft draws of a hundred ways in which a season may go on how many end on each day.
func DaysLeft(form Form, f locale.Voice, ends []rest.EndDay) ([]byte, error) {
	var d days
	heights := map[float64]float64{}
	for _, e := range ends {
		d.hold(dayAt(e.On))
		heights[dayAt(e.On)] = 100 * e.Share
	}
	pl := d.plot(form, f, f.Say("of a hundred"))
	d.bars(pl, form, heights)
	svg, err := panelsOf(form, pl)
	if err != nil {
		return nil, fmt.Errorf("chart of days left: %w", err)
	}
	return svg, nil
}
