package heat

import (
	"errors"
	"fmt"
	"math"
	"time"
)

// Bucket is what the curve did in one step of a resampled history.
type Bucket struct {
	From               time.Time
	Hours              float64
	LowC, MeanC, HighC float64
}

// MostBuckets bounds what Resample returns.
const MostBuckets = 100_000

// Resample cuts a history into equal steps (the last one may be shorter) and
// gives for each the lowest, the mean and the highest temperature of the
// curve. The mean is exact for the piecewise linear curve; low and high are
// values the curve takes, so no peak is invented and none is lost.
func (h History) Resample(step time.Duration) ([]Bucket, error) {
	if len(h.seconds) == 0 {
		return nil, errors.New("the temperature history is empty")
	}
	if step <= 0 {
		return nil, fmt.Errorf("the step to resample by is %s: it must be longer than nothing", step)
	}
	length, width := h.seconds[len(h.seconds)-1], step.Seconds()
	if length/width > MostBuckets {
		return nil, fmt.Errorf("steps of %s cut this history into more than %d pieces: ask for longer steps", step, MostBuckets)
	}
	n := max(int(math.Ceil(length/width)), 1)
	buckets := make([]Bucket, 0, n)
	knot := 0
	for i := range n {
		from, to := float64(i)*width, math.Min(float64(i+1)*width, length)
		for knot < len(h.seconds) && h.seconds[knot] <= from {
			knot++
		}
		buckets = append(buckets, h.bucket(from, to, knot))
	}
	return buckets, nil
}

func (h History) bucket(from, to float64, knot int) Bucket {
	at, celsius := from, h.at(from)
	b := Bucket{From: h.start.Add(duration(from)), Hours: (to - from) / 3600, LowC: celsius, HighC: celsius}
	area := 0.0
	reach := func(second, c float64) {
		area += (second - at) * (celsius + c) / 2
		b.LowC, b.HighC = math.Min(b.LowC, c), math.Max(b.HighC, c)
		at, celsius = second, c
	}
	for ; knot < len(h.seconds) && h.seconds[knot] < to; knot++ {
		reach(h.seconds[knot], h.celsius[knot])
	}
	reach(to, h.before(to))
	b.MeanC = celsius
	if to > from {
		b.MeanC = math.Min(math.Max(area/(to-from), b.LowC), b.HighC)
	}
	return b
}
