package reconcile

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// bigSeason is a season with the given number of streams: yards into an extractor, runs into settling
// tanks, tanks joined by pumps of which one in four was not seen, and drums out of bulk tanks.
func bigSeason(streams int) Network {
	random := rand.New(rand.NewPCG(3, 4))
	var n Network
	add := func(from, to string, kg float64) {
		i := len(n.Streams)
		n.Streams = append(n.Streams, Stream{
			Name: fmt.Sprintf("flow %d", i), From: from, To: to, Measured: i%4 != 3,
			Kg: kg * (1 + 0.01*random.NormFloat64()), StandardUncertaintyKg: 0.01 * kg,
		})
	}
	for day := 0; len(n.Streams) < streams; day++ {
		extractor, settling, bulk := fmt.Sprintf("run %d", day), fmt.Sprintf("settling tank, day %d", day), fmt.Sprintf("bulk tank, day %d", day)
		add(Outside, extractor, 1000)
		add(Outside, extractor, 500)
		add(extractor, Outside, 60)
		add(extractor, settling, 1440)
		add(settling, bulk, 1400)
		add(settling, fmt.Sprintf("settling tank, day %d", day+1), 40)
		add(bulk, Outside, 1300)
		add(bulk, fmt.Sprintf("bulk tank, day %d", day+1), 100)
	}
	n.Streams = n.Streams[:streams]
	return n
}

func BenchmarkReconcile(b *testing.B) {
	for _, streams := range []int{10, 50, 200, 400} {
		n := bigSeason(streams)
		b.Run(fmt.Sprintf("%d streams", streams), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Reconcile(n, DefaultSignificance); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
