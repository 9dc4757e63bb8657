package warm

import (
	"testing"

	"pullbook/domain/heat"
)

// The whole answer: the best course, the next best, those beside it, and the best with a day more.
func BenchmarkWarming(b *testing.B) {
	pails := drums(40)
	pails.RadiusM, pails.HeightM, pails.NetKg, pails.FilmWPerM2K, pails.StartC = 0.145, 0.35, 30, heat.FilmBlownAir, 7
	for name, s := range map[string]*Spec{
		"tank liquid 48 h": spec(aTank(b, nil), Liquid, 48), "tank liquid 7 days": spec(aTank(b, nil), Liquid, 168), "tank yeast 24 h": spec(aTank(b, func(k *Tank) { k.HeaterW = 9000 }), YeastKilled, 24),
		"tank pumpable 24 h": spec(aTank(b, nil), Pumpable, 24), "drums liquid 6 days": spec(drums(20), Liquid, 144), "drums liquid 14 days": spec(drums(20), Liquid, 336),
		"cold tank pumpable 10 days": spec(aTank(b, func(k *Tank) { k.StartC = 10 }), Pumpable, 240), "cold pails clear 10 days": spec(pails, Clear, 240), "drums yeast 10 days": spec(drums(20), YeastKilled, 240),
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if a := solve(b, s); len(a.Choices) == 0 {
					b.Fatal(a.Impossible)
				}
			}
		})
	}
}
