package sale_test

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"pullbook/domain/optimum"
	"pullbook/domain/plan"
	"pullbook/domain/plan/sale"
	"pullbook/domain/standard"
)

// autumn is a made-up house: lots with their true figures, what was read of them, and contracts.
type autumn struct {
	read, true *sale.Spec
}

func anAutumn(r *rand.Rand) autumn {
	// Half a hundredth of what is earned is not searched for.
	read, true := &sale.Spec{Probability: plan.DefaultProbability, Within: 40_000}, &sale.Spec{Probability: 0.5, Within: 40_000}
	total := 0.0
	for l := range 16 {
		source := fmt.Sprintf("L-%02d", l)
		known, is := map[string]plan.Figure{}, map[string]plan.Figure{}
		for _, x := range []struct {
			parameter       string
			from, over, off float64
		}{{"moisture", 16.4, 2.4, 0.15}, {"hmf", 4, 26, 1.5}, {"colour_pfund", 20, 70, 2}} {
			truth := x.from + x.over*r.Float64()
			is[x.parameter] = plan.Figure{Mean: truth}
			known[x.parameter] = plan.Figure{Mean: max(0, truth+x.off*r.NormFloat64()), Errors: []plan.Spread{{Key: "lot " + source, SD: x.off}}}
		}
		kg := float64(280 + r.IntN(35)) // all drums of a lot, so that the search is over soon
		for d := range 4 + r.IntN(5) {
			drum := plan.Stock{Name: fmt.Sprint(source, "-", d), Source: source, Kg: kg, Figures: known}
			read.Stock = append(read.Stock, drum)
			drum.Figures = is
			true.Stock = append(true.Stock, drum)
			total += drum.Kg
		}
	}
	for c := range 6 {
		price := 340 + 22*c + r.IntN(20) // who pays more asks for more
		up, off := standard.MustDecimal("20"), standard.MustDecimal(strconv.Itoa(1+r.IntN(4)))
		contract := sale.Contract{
			Name: strconv.Itoa(c), MostKg: total / 6 * (0.6 + 0.8*r.Float64()), Freight: sale.Freight{PerKg: float64(r.IntN(20))},
			Limits: []plan.Limit{{Parameter: "moisture", High: new(19.2 - 0.3*float64(c))}, {Parameter: "hmf", High: new(40 - 4*float64(c))}, {Parameter: "colour_pfund", High: new(95 - 9*float64(c))}},
			Terms: &standard.PriceTerms{Currency: "CAD", PricePerKg: standard.MustDecimal(strconv.Itoa(price)), Discounts: []standard.Discount{
				{Parameter: "moisture", Unit: "%", Above: standard.MustDecimal("17.4"), UpTo: &up, Percent: &off, Clause: "4"}}},
		}
		read.Contracts, true.Contracts = append(read.Contracts, contract), append(true.Contracts, contract)
	}
	return autumn{read, true}
}

// paid is what an assignment brings once each buyer has measured: a container that does not keep the limits
// brings nothing and costs the freight, of all others the price is by the true figures.
func (a autumn) paid(goes map[int]int) (minor float64, back int) {
	for i, c := range goes {
		x, drum := &a.true.Contracts[c], &a.true.Stock[i]
		minor -= x.Freight.PerKg * drum.Kg
		keeps := !slices.ContainsFunc(x.Limits, func(l plan.Limit) bool { return drum.Figures[l.Parameter].Mean > *l.High+1e-4 })
		if !keeps {
			back++
			continue
		}
		price := x.Terms.PricePerKg.Float64()
		if d := x.Terms.Discounts[0]; drum.Figures["moisture"].Mean > d.Above.Float64() {
			price *= 1 - d.Percent.Float64()/100
		}
		minor += price * drum.Kg
	}
	return minor, back
}

// planned is what the plan of a spec sends where.
func planned(t *testing.T, s *sale.Spec) map[int]int {
	t.Helper()
	got, err := s.Best(optimum.Effort{})
	if err != nil || got == nil {
		t.Fatal(got, err)
	}
	out := map[int]int{}
	for _, x := range got.Sales {
		for _, take := range x.Takes {
			out[take.Stock] = x.Contract
		}
	}
	return out
}

// byThumb fills the contract that pays the most first, with the oldest lots whose figures are within its
// limits, and so on.
func byThumb(s *sale.Spec) map[int]int {
	out := map[int]int{}
	order := make([]int, len(s.Contracts))
	for c := range order {
		order[c] = c
	}
	slices.SortStableFunc(order, func(x, y int) int {
		return cmp.Compare(s.Contracts[y].Terms.PricePerKg.Float64(), s.Contracts[x].Terms.PricePerKg.Float64())
	})
	for _, c := range order {
		room := s.Contracts[c].MostKg
		for i := range s.Stock { // the oldest lot is first
			_, gone := out[i]
			within := !slices.ContainsFunc(s.Contracts[c].Limits, func(l plan.Limit) bool { return s.Stock[i].Figures[l.Parameter].Mean > *l.High })
			if !gone && within && s.Stock[i].Kg <= room {
				out[i], room = c, room-s.Stock[i].Kg
			}
		}
	}
	return out
}

// Of made-up autumns, twelve before a change lands, the truth is known: what the plan brings by readings that may be off, beside the
// rule of thumb by the same readings and beside the best that could be done with the true figures. How sure
// the plan is to be of each limit decides how many drums come back: what one of them costs beyond its freight
// is not in the sums, and the log says from which cost on more surety pays.
func TestWhatAPlanOfSalesBringsBesideARuleOfThumbAndHindsight(t *testing.T) {
	r := rand.New(rand.NewPCG(40, 2026))
	autumns := 4
	if os.Getenv("PULLBOOK_TEST_WHOLE") != "" {
		autumns = 12
	}
	var sure, even, thumb sum
	best := 0.0
	for range autumns {
		a := anAutumn(r)
		sure.add(a.paid(planned(t, a.read)))
		likely := *a.read
		likely.Probability = 0.5
		even.add(a.paid(planned(t, &likely)))
		thumb.add(a.paid(byThumb(a.read)))
		h, _ := a.paid(planned(t, a.true))
		best += h
	}
	for _, x := range []struct {
		what string
		sum
	}{{"the plan, sure to 95 in 100", sure}, {"the plan, as likely as not", even}, {"the rule of thumb", thumb}} {
		t.Logf("%s: %.1f %% of what could be earned with the true figures, %d drums came back", x.what, 100*x.minor/best, x.back)
	}
	t.Logf("to be sure to 95 in 100 pays where a drum that comes back costs more than %.2f", (even.minor-sure.minor)/float64(even.back-sure.back)/100)
	if even.minor <= thumb.minor || even.minor > best || sure.minor > best {
		t.Errorf("as likely as not the plan earned %.0f, the rule of thumb %.0f, with the true figures %.0f", even.minor, thumb.minor, best)
	}
	if 10*sure.back > thumb.back {
		t.Errorf("%d drums of the sure plan came back, %d of the rule of thumb", sure.back, thumb.back)
	}
}

// sum is what some autumns brought, and how many drums came back.
type sum struct {
	minor float64
	back  int
}

func (s *sum) add(minor float64, back int) { s.minor, s.back = s.minor+minor, s.back+back }
