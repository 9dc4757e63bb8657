// Package wire turns what the contract's types hold, kilograms and optional fields, into
// what the book holds, and back.
package wire

import "math"

// Grams turns kilograms as sent into whole grams, the nearest.
func Grams(kg float64) int64 { return int64(math.Round(kg * 1000)) }

// Kg turns whole grams into kilograms.
func Kg(grams int64) float64 { return float64(grams) / 1000 }

// OrZero returns what an optional field holds, or its type's zero.
func OrZero[T any](p *T) T {
	if p == nil {
		var zero T
		return zero
	}
	return *p
}

// OrNil leaves out its type's zero.
func OrNil[T comparable](v T) *T {
	var zero T
	if v == zero {
		return nil
	}
	return &v
}

// OrDefault returns what an optional field holds, or d.
func OrDefault[T any](p *T, d T) T {
	if p == nil {
		return d
	}
	return *p
}

// Each returns what out makes of each of a list, never nil: a list of the contract is empty,
// not null.
func Each[In, Out any](in []In, out func(In) Out) []Out {
	all := make([]Out, len(in))
	for i, x := range in {
		all[i] = out(x)
	}
	return all
}
