package ledger

import (
	"math"

	"pullbook/domain/estimate"
)

// knownMoisture is what readings say of the moisture of some honey, in percent, and
// which part of its error it shares with other honey. What is shared does not mix
// away; what each part has by itself does.
type knownMoisture struct {
	estimate.Contested
	// common is the part of the variance that all honey of the outfit shares: one
	// refractometer, one wet season.
	common float64
	// run is the one that the last honey came from, zero where none did. own is the
	// variance of what that run's honey has by itself, and loading how much of that
	// error is in this honey's.
	run          ID
	own, loading float64
	// frames is how much of the variance of frames that were not sampled is in the
	// variance, so that a reading can tell of it.
	frames float64
}

// unreadMoisture is of honey that no reading tells anything of.
var unreadMoisture = knownMoisture{Contested: estimate.Uncontested(estimate.Unknown())}

// apart is the variance of what the honey has by itself.
func (k knownMoisture) apart() float64 { return max(0, k.Held.Variance-k.common) }

// ofRun is the moisture of honey that comes out of a run.
func (k knownMoisture) ofRun(run *fact) knownMoisture {
	k.run, k.own, k.loading = run.ID, k.apart(), 1
	return k
}

// mixed is the moisture of honey of which the share wa is k and the rest is other.
// Common errors add up. Of the rest, two runs err each by itself, and two parts of
// one run err alike. Where the honey is not fresh from a run, nobody knows how much of
// it is the same as that in the holder, and all of it is taken to err alike.
func (k knownMoisture) mixed(wa float64, other knownMoisture, fresh bool) knownMoisture {
	wb := 1 - wa
	out := knownMoisture{run: other.run, own: other.own, loading: wb * other.loading}
	switch {
	case other.run == ID{}:
		out.run, out.own, out.loading = k.run, k.own, wa*k.loading
	case other.run == k.run:
		out.loading += wa * k.loading
	}
	a, b := k.apart(), other.apart()
	alike, frames := math.Sqrt(a*b), math.Sqrt(k.frames*other.frames)
	if fresh {
		shared := 0.0
		if k.run == other.run {
			shared = k.loading * other.loading
		}
		alike, frames = min(alike, shared*other.own), min(frames, shared)
	}
	out.frames = wa*wa*k.frames + wb*wb*other.frames + 2*wa*wb*frames
	common := wa*math.Sqrt(k.common) + wb*math.Sqrt(other.common)
	out.common = common * common
	out.Held = estimate.Estimate{Mean: wa*k.Held.Mean + wb*other.Held.Mean, Variance: out.common + wa*wa*a + wb*wb*b + 2*wa*wb*alike}
	if k.Disputed() || other.Disputed() {
		out.Rival = mixedAlike(wa, k.ifRight(), other.ifRight())
	}
	return out
}

// ifRight is what would be so if the reading that speaks against it is right.
func (k knownMoisture) ifRight() estimate.Estimate {
	if k.Disputed() {
		return k.Rival
	}
	return k.Held
}

// mixedAlike mixes two estimates whose errors are alike, so that deviations add up.
func mixedAlike(wa float64, x, y estimate.Estimate) estimate.Estimate {
	sd := wa*x.StandardDeviation() + (1-wa)*y.StandardDeviation()
	return estimate.Estimate{Mean: wa*x.Mean + (1-wa)*y.Mean, Variance: sd * sd}
}

// take lets a reading correct what is known. instrument and sample are the variances
// of its two errors.
func (k knownMoisture) take(pct, instrument, sample float64) (knownMoisture, estimate.Verdict) {
	gain := 1.0
	if k.Held.Known() {
		gain = k.Held.Variance / (k.Held.Variance + instrument + sample)
	}
	next, verdict := k.Take(pct, instrument+sample, Unfitting)
	k.Contested = next
	switch verdict {
	case estimate.Fits:
		k.common = (1-gain)*(1-gain)*k.common + gain*gain*instrument
		k.loading *= 1 - gain
		k.frames *= (1 - gain) * (1 - gain)
	case estimate.Confirms:
		k = knownMoisture{Contested: next, common: next.Held.Variance * instrument / (instrument + sample)}
	}
	return k, verdict
}

// takeBeside is take of a reading on a run whose boxes were read. They do not correct
// it, since the run is what counts, unless the first reading does not fit them: then
// the next one decides.
func (k knownMoisture) takeBeside(boxes estimate.Estimate, pct, instrument, sample float64) (knownMoisture, estimate.Verdict) {
	if !k.Held.Known() && boxes.Known() {
		start := knownMoisture{Contested: estimate.Uncontested(boxes), common: boxes.Variance}
		if doubted, verdict := start.take(pct, instrument, sample); verdict == estimate.Against {
			return doubted, verdict
		}
	}
	return k.take(pct, instrument, sample)
}
