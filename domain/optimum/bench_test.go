package optimum_test

import (
	"math/rand/v2"
	"testing"

	"pullbook/domain/optimum"
)

func BenchmarkSmallProblem(b *testing.B) {
	p := small(rand.New(rand.NewPCG(3, 4)))
	if _, err := optimum.Version(); err != nil { // the solver is made first
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := optimum.Solve(p, optimum.Effort{}); err != nil {
			b.Fatal(err)
		}
	}
}
