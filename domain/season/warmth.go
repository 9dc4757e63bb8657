package season

import (
	"time"

	"pullbook/domain/ledger"
)

// WarmC is from where on honey is called warm, in degrees Celsius: at 35 C it
// forms 0.45 mg/kg of HMF a day (domain/heat/README.md).
const WarmC = 35.0

// Warmth is how warm a tank is, and what is in it was.
type Warmth struct {
	// NowC is its temperature at the instant asked for, in degrees Celsius:
	// what was logged last, and after a day what is usual.
	NowC float64
	// LoggedAt is the last instant of which a temperature was logged, up to
	// then; the zero time where there is none.
	LoggedAt time.Time
	// Since is when it last came to hold more than a heel; the zero time where
	// it never did.
	Since time.Time
	// Warm is for how long since then it was at WarmC or above.
	Warm time.Duration
}

// warmStep is how finely time is looked at: logs of ten minutes gain nothing
// from less.
const warmStep = time.Hour

// WarmthOf says how warm a tank is at an instant and was since it was filled.
func WarmthOf(b *ledger.Book, tank ledger.ID, at time.Time) Warmth {
	meter := b.Meter(tank)
	w := Warmth{NowC: meter.TemperatureC(at), LoggedAt: b.LastLogged(tank, at)}
	since, ever := b.State().HoldsSince(tank)
	if !ever {
		return w
	}
	w.Since = since
	usualC, kept := meter.Usual()
	for from := since; from.Before(at); from = from.Add(warmStep) {
		if from.After(kept) { // it is as usual from here on
			if usualC >= WarmC {
				w.Warm += at.Sub(from)
			}
			break
		}
		step := min(warmStep, at.Sub(from))
		if meter.TemperatureC(from.Add(step/2)) >= WarmC {
			w.Warm += step
		}
	}
	return w
}
