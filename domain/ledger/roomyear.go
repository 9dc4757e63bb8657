package ledger

import "pullbook/domain/heat"

// usualWarmestMonth is the warmest month north of the tropics.
const usualWarmestMonth = 7

// Year returns the course of the room's temperature over the year; false where the outfit has
// not said what its warmest and its coldest month are like.
func (r *Room) Year() (heat.Year, bool) {
	if r.WarmestMonthMeanC == nil || r.ColdestMonthMeanC == nil {
		return heat.Year{}, false
	}
	month := r.WarmestMonth
	if month == 0 {
		month = usualWarmestMonth
	}
	return heat.YearOfMonths(*r.WarmestMonthMeanC, *r.ColdestMonthMeanC, month), true
}

// room asks for both months or neither, and for a warmest that is the warmer.
func (c *checker) room(r *Room) {
	switch {
	case r.WarmestMonthMeanC != nil && r.ColdestMonthMeanC == nil:
		c.wrong("/coldest_month_mean_c", nil, "The warmest month is given without the coldest. Give both, or neither.")
	case r.WarmestMonthMeanC == nil && r.ColdestMonthMeanC != nil:
		c.wrong("/warmest_month_mean_c", nil, "The coldest month is given without the warmest. Give both, or neither.")
	case r.WarmestMonthMeanC == nil && r.WarmestMonth != 0:
		c.wrong("/warmest_month_mean_c", nil, "Which month is the warmest is given, and not how warm it is. Give the temperatures of the warmest and the coldest month, or leave it out.")
	case r.WarmestMonthMeanC != nil && *r.WarmestMonthMeanC < *r.ColdestMonthMeanC:
		c.wrong("/warmest_month_mean_c", *r.WarmestMonthMeanC, "The warmest month cannot be colder than the coldest. Perhaps the two are the wrong way round.")
	}
}
