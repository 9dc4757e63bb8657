package standard

import (
	"slices"
	"time"

	"pullbook/domain/message"
)

// age is what a figure carried to the day was when it was measured, in the first unit of
// its parameter. nil is a figure that counts as measured.
type age struct {
	measured Decimal
	on       Date
	assumed  bool
}

// carry puts where a figure is to be expected on the day in the place of the figure.
// Where it was reported as "less than", its lower end stays the least that can be.
func (read *reading) carry(field string, r *Result, unit Unit, p *problems) {
	if r.OnDay == nil {
		return
	}
	low, errLow := ParseDecimal(r.OnDay.Low)
	high, errHigh := ParseDecimal(r.OnDay.High)
	if errLow != nil || errHigh != nil || high.Cmp(low) < 0 {
		p.add(field+"/on_day", r.OnDay.Low+" to "+r.OnDay.High, "two decimal numbers, the lower one first")
		return
	}
	read.age = &age{read.high, r.On, r.OnDay.Assumed}
	read.high = high.Mul(unit.Factor)
	if !r.LessThan {
		read.low = low.Mul(unit.Factor)
	}
}

// with adds up what figures were when they were measured, and keeps the earliest day.
// A figure that was not carried is as old as the day itself, and changes nothing.
func (a *age) with(o *age) *age {
	switch {
	case a == nil:
		return o
	case o == nil:
		return a
	}
	return &age{a.measured.Add(o.measured), min(a.on, o.on), a.assumed || o.assumed}
}

// shared makes a sum a mean.
func (a *age) shared(n Decimal) *age {
	if a == nil {
		return nil
	}
	return &age{a.measured.over(n), a.on, a.assumed}
}

// Days is how many days lie between two dates; 0 where one of them is none.
func Days(from, to Date) int {
	a, errA := time.Parse(time.DateOnly, string(from))
	b, errB := time.Parse(time.DateOnly, string(to))
	if errA != nil || errB != nil {
		return 0
	}
	return int(b.Sub(a).Hours() / 24)
}

// estimatesOn are the estimates from results that are not older than a rule set allows.
// stale says that there were results, all of them too old.
func (m *measured) estimatesOn(on Date, within, lotSize int) (estimates []Estimate, stale bool) {
	if within == 0 {
		return m.estimates(), false
	}
	var young []reading
	for _, r := range m.readings {
		if r.on == "" || Days(r.on, on) <= within {
			young = append(young, r)
		}
	}
	if len(young) == len(m.readings) {
		return m.estimates(), false
	}
	return combine(young, lotSize), len(young) == 0
}

// counts reports whether a container is judged by itself.
func (l *Lot) counts(containerID string) bool {
	return len(l.Only) == 0 || slices.Contains(l.Only, containerID)
}

// sayAge names the measurement behind a carried figure, and how old it is.
func (v *LimitVerdict) sayAge() message.Text {
	measured := message.F("%s %s", v.Measured.Short().Said(), SayUnit(v.Limit.Unit))
	if v.Assumed {
		return message.F("measured as %s on %s, %s days before; nobody wrote how warm it stood since, so 5 to 30 °C were taken", measured, v.MeasuredOn.Said(), v.AgeDays)
	}
	return message.F("measured as %s on %s, %s days before, and carried to this day at the temperatures of its store", measured, v.MeasuredOn.Said(), v.AgeDays)
}
