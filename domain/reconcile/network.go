// Package reconcile makes weights that claim to be the same honey agree, and says which of them is
// most likely wrong.
//
// It is steady-state linear data reconciliation with gross error detection as process plants do it.
// A network has nodes (extractor, tank, packing line) and streams between them. Every stream was
// either weighed, with a standard uncertainty, or nobody saw it (a float switch started a pump).
// Mass is kept at every node. The weighed flows are adjusted by weighted least squares so that every
// balance closes; flows nobody weighed are eliminated first by a projection and then inferred where
// the balances allow it.
//
// Methods, with y the weights, S their covariance and A the balances (A x = 0):
//
//   - Unweighed flows u are projected out: P with P A_u = 0, so that G x = 0 with G = P A_x
//     (Crowe, Garcia Campos & Hrymak 1983, AIChE J. 29, 881), P from a QR factorisation with column
//     pivoting, which also tells what can be known (Sanchez & Romagnoli 1996, Comput. Chem. Eng. 20,
//     493).
//   - Adjusted flows x = y - S Gᵀ (G S Gᵀ)⁻¹ G y (Kuehn & Davidson 1961, Chem. Eng. Prog. 57(6), 44).
//   - Global test: (G y)ᵀ (G S Gᵀ)⁻¹ (G y) against chi-square with rank(G) degrees of freedom
//     (Ripps 1965; Madron 1977).
//   - Measurement test of maximum power: d = Gᵀ (G S Gᵀ)⁻¹ G y, z_i = d_i / sqrt(W_ii) with
//     W = Gᵀ (G S Gᵀ)⁻¹ G, against the normal distribution at the level of Sidak for several tests
//     (Mah & Tamhane 1982, AIChE J. 28, 828). The likeliest size of a single error is d_i / W_ii
//     (generalised likelihood ratio: Narasimhan & Mah 1987, AIChE J. 33, 1514).
//   - Nodal test: the imbalance of a node over its standard deviation (Reilly & Carpani 1963; Mah,
//     Stanley & Downing 1976).
//   - Bounds (no flow below nothing, no tank beyond its size): the nearest flows that keep them, by the
//     dual active set method (Goldfarb & Idnani 1983, Math. Program. 27, 1). A bound that binds is tested
//     as one more balance, which is the conditional test of Wollan & Dykstra 1986; the tests of single
//     weights and the uncertainties are those without the bounds, which make none larger.
//   - Serial elimination of the worst measurement (Ripps 1965; Serth & Heenan 1986, AIChE J. 32, 733).
//
// All of them are treated in Narasimhan & Jordache, Data Reconciliation and Gross Error Detection,
// Gulf Publishing, 2000. The references are given from memory; the checks in the tests say which
// figures were seen.
package reconcile

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// Outside is the node name of the world beyond the network; mass need not balance there.
const Outside = ""

// Stream is a flow of honey from one node to another over the period that is reconciled. A stock that
// a tank had at the start is a stream from Outside to the tank, what it holds at the end is a stream
// from the tank to Outside.
type Stream struct {
	Name string
	// From and To are node names; Outside stands for the world beyond the network. They must differ.
	From, To string
	// Measured is false for a flow that nobody weighed; Kg and StandardUncertaintyKg are then not read.
	Measured bool
	// Kg is the weight as measured. It may be negative (a change of stock).
	Kg float64
	// StandardUncertaintyKg is one standard deviation of the weight, above zero.
	StandardUncertaintyKg float64
	// AtLeastKg and AtMostKg are what the flow can be; nil where nothing bounds it. The bounds
	// take in nothing at all: AtLeastKg is not above 0, AtMostKg not below.
	AtLeastKg, AtMostKg *float64
}

// Correlation says that the errors of two weights go together, as when one scale weighed both.
type Correlation struct {
	A, B string
	// Coefficient lies between -1 and 1, both excluded.
	Coefficient float64
}

// Network is what is reconciled together. It may fall into parts that do not touch.
type Network struct {
	Streams      []Stream
	Correlations []Correlation
}

// system is the linear form of a network: balances x = 0 with one column for each stream.
type system struct {
	balanceNames []string
	balances     *mat.Dense // one row for each balance
	measured     []int      // columns with a reading
	unmeasured   []int      // columns without
	readings     []float64  // of the measured columns, in their order
	uncertainty  []float64
	correlation  correlations // of the measured columns; nil when no errors go together
	// low and high bound the flow of each column, infinite where nothing does; nil when no
	// flow is bounded.
	low, high []float64
}

// linear writes the network as a system. Streams and nodes are taken in the order of their names, so
// that the order in which they were given cannot change a single bit of the result. The second value
// says at which place of n.Streams each column came.
func (n Network) linear() (system, []int, error) {
	pairs, err := n.check()
	if err != nil {
		return system{}, nil, err
	}
	place := make([]int, len(n.Streams))
	for i := range place {
		place[i] = i
	}
	slices.SortFunc(place, func(a, b int) int {
		return strings.Compare(n.Streams[a].Name, n.Streams[b].Name)
	})
	names := n.nodeNames()
	row := make(map[string]int, len(names))
	for i, name := range names {
		row[name] = i
	}
	s := system{balanceNames: names, balances: mat.NewDense(len(names), len(place), nil)}
	for column, at := range place {
		stream := n.Streams[at]
		if stream.To != Outside {
			s.balances.Set(row[stream.To], column, 1)
		}
		if stream.From != Outside {
			s.balances.Set(row[stream.From], column, -1)
		}
		s.low = append(s.low, orElse(stream.AtLeastKg, math.Inf(-1)))
		s.high = append(s.high, orElse(stream.AtMostKg, math.Inf(1)))
		if !stream.Measured {
			s.unmeasured = append(s.unmeasured, column)
			continue
		}
		s.measured = append(s.measured, column)
		s.readings = append(s.readings, stream.Kg)
		s.uncertainty = append(s.uncertainty, stream.StandardUncertaintyKg)
	}
	s.correlation = n.correlationOf(pairs, place, s.measured)
	return s, place, nil
}

func orElse(kg *float64, other float64) float64 {
	if kg == nil {
		return other
	}
	return *kg
}

func (n Network) nodeNames() []string {
	var names []string
	for _, s := range n.Streams {
		for _, node := range []string{s.From, s.To} {
			if node != Outside {
				names = append(names, node)
			}
		}
	}
	slices.Sort(names)
	return slices.Compact(names)
}

// correlationOf has the correlations of the measured columns, of streams at some pairs of places.
func (n Network) correlationOf(pairs [][2]int, place, measured []int) correlations {
	if len(pairs) == 0 {
		return nil
	}
	at := make([]int, len(n.Streams))
	for i, column := range measured {
		at[place[column]] = i
	}
	c := make(correlations, 0, len(pairs))
	for i, pair := range pairs {
		c.SetSym(at[pair[0]], at[pair[1]], n.Correlations[i].Coefficient)
	}
	return c
}

// check returns at which places of n.Streams the two of each correlation are.
func (n Network) check() ([][2]int, error) {
	if len(n.Streams) == 0 {
		return nil, errors.New("there is no stream to reconcile: give at least one flow")
	}
	at := make(map[string]int, len(n.Streams))
	for i, s := range n.Streams {
		if err := s.check(i); err != nil {
			return nil, err
		}
		if _, twice := at[s.Name]; twice {
			return nil, fmt.Errorf("two streams are called %q: give each its own name", s.Name)
		}
		at[s.Name] = i
	}
	return n.checkCorrelations(at)
}

func (s Stream) check(i int) error {
	switch {
	case strings.TrimSpace(s.Name) == "":
		return fmt.Errorf("stream number %d has no name: give it one", i+1)
	case s.From == s.To && s.From == Outside:
		return fmt.Errorf("stream %q touches no node: say where it comes from or where it goes", s.Name)
	case s.From == s.To:
		return fmt.Errorf("stream %q comes from and goes to %q: the two must differ", s.Name, s.From)
	case s.AtLeastKg != nil && !(*s.AtLeastKg <= 0) || s.AtMostKg != nil && !(*s.AtMostKg >= 0):
		return fmt.Errorf("the bounds of stream %q leave out 0 kg: a flow that does not flow must be within them", s.Name)
	case !s.Measured:
		return nil
	case math.IsNaN(s.Kg) || math.IsInf(s.Kg, 0):
		return fmt.Errorf("the weight of stream %q is %v: give a number of kilograms", s.Name, s.Kg)
	case !(s.StandardUncertaintyKg > 0) || math.IsInf(s.StandardUncertaintyKg, 0):
		return fmt.Errorf("the standard uncertainty of stream %q is %v kg: every weight has one, give a number above zero",
			s.Name, s.StandardUncertaintyKg)
	}
	return nil
}

// checkCorrelations takes where each stream is, by its name.
func (n Network) checkCorrelations(at map[string]int) ([][2]int, error) {
	pairs, seen := make([][2]int, len(n.Correlations)), make(map[[2]int]struct{}, len(n.Correlations))
	for k, c := range n.Correlations {
		for side, name := range [2]string{c.A, c.B} {
			place, known := at[name]
			if !known || !n.Streams[place].Measured {
				return nil, fmt.Errorf("a correlation names %q, which is no weighed stream of this network", name)
			}
			pairs[k][side] = place
		}
		key := [2]int{min(pairs[k][0], pairs[k][1]), max(pairs[k][0], pairs[k][1])}
		_, twice := seen[key]
		switch {
		case c.A == c.B:
			return nil, fmt.Errorf("a correlation names %q twice: it needs two different streams", c.A)
		case twice:
			return nil, fmt.Errorf("the correlation of %q with %q is given twice: give it once", c.A, c.B)
		case !(math.Abs(c.Coefficient) < 1):
			return nil, fmt.Errorf("the correlation of %q with %q is %v: it must lie between -1 and 1, both excluded",
				c.A, c.B, c.Coefficient)
		}
		seen[key] = struct{}{}
	}
	return pairs, nil
}
