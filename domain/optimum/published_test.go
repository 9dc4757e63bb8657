package optimum_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pullbook/domain/optimum"
	"pullbook/domain/publishedtest"
)

// The 16 problems of testdata are textbook problems of blending, transport and assignment:
// sources in testdata/README.md. Their optima were found by two other solvers, which agree
// to 1e-8.
type published struct {
	optimum.Problem
	name   map[string]int
	row    map[string]int
	earns  bool
	best   float64
	alone  bool
	chosen map[string]float64
}

func readPublished(t *testing.T) map[string]*published {
	t.Helper()
	out := map[string]*published{}
	for _, r := range publishedtest.Lines(t, "testdata/variables.csv") {
		p := out[r[0]]
		if p == nil {
			p = &published{name: map[string]int{}, row: map[string]int{}, chosen: map[string]float64{}}
			out[r[0]] = p
		}
		p.name[r[1]] = p.Add(optimum.Variable{Cost: number(t, r[2], 0), Low: number(t, r[3], math.Inf(-1)), High: number(t, r[4], math.Inf(1)), Whole: r[5] == "1"})
	}
	for _, r := range publishedtest.Lines(t, "testdata/rows.csv") {
		low, high := number(t, r[3], 0), number(t, r[3], 0)
		switch r[2] {
		case ">=":
			high = math.Inf(1)
		case "<=":
			low = math.Inf(-1)
		}
		out[r[0]].row[r[1]] = out[r[0]].Keep(low, high)
	}
	for _, r := range publishedtest.Lines(t, "testdata/coefficients.csv") {
		p := out[r[0]]
		l := &p.Limits[p.row[r[1]]]
		l.Terms = append(l.Terms, optimum.Term{Variable: p.name[r[2]], Factor: number(t, r[3], 0)})
	}
	for _, r := range publishedtest.Lines(t, "testdata/optima.csv") {
		p := out[r[0]]
		p.earns, p.best, p.alone = r[1] == "max", number(t, r[2], 0), r[4] == "yes"
		for _, one := range strings.Fields(r[3]) {
			name, figure, _ := strings.Cut(one, "=")
			p.chosen[name] = number(t, figure, 0)
		}
		if p.earns {
			for i := range p.Variables {
				p.Variables[i].Cost *= -1
			}
		}
	}
	return out
}

func TestPublishedProblemsHaveTheirPublishedOptimum(t *testing.T) {
	problems := readPublished(t)
	if len(problems) != 16 {
		t.Fatalf("%d problems, want 16", len(problems))
	}
	for id, p := range problems {
		t.Run(id, func(t *testing.T) {
			got, err := optimum.Solve(&p.Problem, optimum.Effort{})
			if err != nil {
				t.Fatal(err)
			}
			cost := got.Cost
			if p.earns {
				cost = -cost
			}
			if got.Outcome != optimum.Best || math.Abs(cost-p.best) > 1e-7*max(1, math.Abs(p.best)) {
				t.Errorf("outcome %d at %.8f, published %.8f", got.Outcome, cost, p.best)
			}
			if got.Gap() > 1e-9 {
				t.Errorf("a gap of %g is left", got.Gap())
			}
			if !p.alone {
				return
			}
			for name, i := range p.name {
				if want := p.chosen[name]; math.Abs(got.At[i]-want) > 1e-5*max(1, math.Abs(want)) {
					t.Errorf("%s: %.6f, published %.6f", name, got.At[i], want)
				}
			}
		})
	}
}

// What a unit of a limit is worth: the petfood's salt (-1.6667), the alloy's three metals
// (7.06, 4.66, 3.66), the markets of two canneries (0.225, 0.153, 0.126), as published with
// the problems.
func TestWhatALimitIsWorthIsAsPublished(t *testing.T) {
	problems := readPublished(t)
	for _, c := range []struct {
		id, row string
		want    float64
	}{
		{"L01", "salt", -5.0 / 3}, {"T01", "demand_newyork", 0.225}, {"T01", "demand_chicago", 0.153}, {"T01", "demand_topeka", 0.126},
	} {
		p := problems[c.id]
		got, err := optimum.Solve(&p.Problem, optimum.Effort{})
		if err != nil {
			t.Fatal(err)
		}
		i, ok := p.row[c.row]
		if !ok {
			t.Fatalf("%s has no row %s but %v", c.id, c.row, p.row)
		}
		if math.Abs(got.Worth[i]-c.want) > 1e-4 {
			t.Errorf("%s %s: %.5f, published %.5f", c.id, c.row, got.Worth[i], c.want)
		}
	}
}

func number(t *testing.T, text string, open float64) float64 {
	t.Helper()
	if text == "" {
		return open
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
