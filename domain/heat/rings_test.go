package heat_test

import (
	"math"
	"testing"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
)

// drumProperties are the middle conductivity and the heat of a cubic metre of a drum from 15 C, with its
// melting heat spread up to where crystals are molten.
func drumProperties(t *testing.T, s heat.Standing) (k, heatPerM3K float64) {
	t.Helper()
	k, err := honey.ThermalConductivityWPerMK(s.MoisturePct, 30)
	if err != nil {
		t.Fatal(err)
	}
	specific, _ := honey.SpecificHeatKJPerKgK(s.MoisturePct, 30)
	density, _ := honey.DensityKgPerL(s.MoisturePct, 20)
	return k, (specific + s.CrystalsPct/100*105.1/(heat.MeltsToC-15)) * density * 1e6
}

// rings is a standing cylinder cut into rings of equal width and height, the upper half of it: finite volumes
// stepped through time.
type rings struct {
	s              heat.Standing
	k, heatPerM3K  float64
	across, up     int
	wide, high     float64
	celsius, flows [][]float64
}

func newRings(s heat.Standing, k, heatPerM3K, startC float64) *rings {
	r := &rings{s: s, k: k, heatPerM3K: heatPerM3K, across: 30, up: 30}
	r.wide, r.high = s.RadiusM/float64(r.across), s.HeightM/2/float64(r.up)
	for range r.across {
		row := make([]float64, r.up)
		for j := range row {
			row[j] = startC
		}
		r.celsius, r.flows = append(r.celsius, row), append(r.flows, make([]float64, r.up))
	}
	return r
}

// step goes on for a time, and returns the watt-hours that came through the whole wall.
func (r *rings) step(roomC float64, lasts time.Duration) float64 {
	stable := 0.2 * min(r.wide, r.high) * min(r.wide, r.high) * r.heatPerM3K / r.k
	n := int(math.Ceil(lasts.Seconds() / stable))
	seconds, joules := lasts.Seconds()/float64(n), 0.0
	for range n {
		joules += r.once(roomC, seconds)
	}
	return 2 * joules / 3600 // both halves
}

func (r *rings) once(roomC, seconds float64) (through float64) {
	for i := range r.flows {
		clear(r.flows[i])
	}
	pass := func(i, j, m, n int, watts float64) {
		r.flows[i][j] -= watts
		r.flows[m][n] += watts
	}
	// A film, and half a ring of honey behind it.
	film := func(depth float64) float64 { return 1 / (1/r.s.FilmWPerM2K + depth/2/r.k) }
	for i := range r.across {
		inner, outer := float64(i)*r.wide, float64(i+1)*r.wide
		end := math.Pi * (outer*outer - inner*inner)
		for j := range r.up {
			if i+1 < r.across {
				pass(i, j, i+1, j, r.k*2*math.Pi*outer*r.high*(r.celsius[i][j]-r.celsius[i+1][j])/r.wide)
			} else {
				in := film(r.wide) * 2 * math.Pi * outer * r.high * (roomC - r.celsius[i][j])
				r.flows[i][j], through = r.flows[i][j]+in, through+in
			}
			if j+1 < r.up {
				pass(i, j, i, j+1, r.k*end*(r.celsius[i][j]-r.celsius[i][j+1])/r.high)
			} else {
				in := film(r.high) * end * (roomC - r.celsius[i][j])
				r.flows[i][j], through = r.flows[i][j]+in, through+in
			}
		}
	}
	for i := range r.across {
		for j := range r.up {
			r.celsius[i][j] += r.flows[i][j] * seconds / (r.heatPerM3K * r.volume(i))
		}
	}
	return through * seconds
}

func (r *rings) volume(i int) float64 {
	inner, outer := float64(i)*r.wide, float64(i+1)*r.wide
	return math.Pi * (outer*outer - inner*inner) * r.high
}

func (r *rings) core() float64 { return r.celsius[0][0] }

func (r *rings) mean() float64 {
	sum, volume := 0.0, 0.0
	for i, row := range r.celsius {
		for _, c := range row {
			sum, volume = sum+c*r.volume(i), volume+r.volume(i)
		}
	}
	return sum / volume
}
