package optimum

import (
	"fmt"
	"math"
)

// Variable is something that is to be chosen, from Low to High. What is open is an
// infinity. Cost is what each unit of it costs; less than nothing is what it earns.
type Variable struct {
	Cost, Low, High float64
	// Whole lets it be a whole number only.
	Whole bool
}

// Term is a variable, by its place in the problem, times a factor.
type Term struct {
	Variable int
	Factor   float64
}

// Limit keeps the sum of its terms from Low to High, with infinities where it is open.
// No variable stands in it twice.
type Limit struct {
	Terms     []Term
	Low, High float64
}

// Problem is what is to be made as cheap as can be: the sum of the variables times their
// costs. The zero Problem has nothing to choose.
type Problem struct {
	Variables []Variable
	Limits    []Limit
}

// Most that a problem may hold. A blend from 200 drums has some 400 variables and 4,000
// terms, sales of 500 lots to 30 buyers 15,000 variables and 30,000 terms.
const (
	MostVariables = 50_000
	MostTerms     = 500_000
)

// Add adds a variable and returns its place.
func (p *Problem) Add(v Variable) int {
	p.Variables = append(p.Variables, v)
	return len(p.Variables) - 1
}

// Keep adds a limit and returns its place.
func (p *Problem) Keep(low, high float64, terms ...Term) int {
	p.Limits = append(p.Limits, Limit{terms, low, high})
	return len(p.Limits) - 1
}

// check finds what no problem can have: a mistake of the code that made it.
func (p *Problem) check() error {
	if len(p.Variables) > MostVariables {
		return fmt.Errorf("optimum: %d variables, of at most %d", len(p.Variables), MostVariables)
	}
	for i, v := range p.Variables {
		if math.IsNaN(v.Cost) || math.IsInf(v.Cost, 0) || math.IsNaN(v.Low) || math.IsNaN(v.High) {
			return fmt.Errorf("optimum: variable %d is from %g to %g at %g", i, v.Low, v.High, v.Cost)
		}
	}
	terms := 0
	for i, l := range p.Limits {
		if math.IsNaN(l.Low) || math.IsNaN(l.High) {
			return fmt.Errorf("optimum: limit %d is from %g to %g", i, l.Low, l.High)
		}
		if terms += len(l.Terms); terms > MostTerms {
			return fmt.Errorf("optimum: more than %d terms", MostTerms)
		}
		seen := make(map[int]bool, len(l.Terms))
		for _, t := range l.Terms {
			if t.Variable < 0 || t.Variable >= len(p.Variables) || seen[t.Variable] || math.IsNaN(t.Factor) || math.IsInf(t.Factor, 0) {
				return fmt.Errorf("optimum: limit %d has variable %d times %g", i, t.Variable, t.Factor)
			}
			seen[t.Variable] = true
		}
	}
	return nil
}

// whole reports whether something is to be chosen in whole numbers.
func (p *Problem) whole() bool {
	for _, v := range p.Variables {
		if v.Whole {
			return true
		}
	}
	return false
}
