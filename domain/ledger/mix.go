package ledger

import (
	"bytes"
	"slices"
)

// Origin is where honey came from: a pull, a run that names no pull, or
// nowhere that the book knows of (the zero ID).
type Origin = ID

// Unexplained is the origin of honey that no entry brings.
var Unexplained Origin

// Part is one origin's share of a holder's honey.
type Part struct {
	Origin Origin
	Share  float64
}

// Mix is the make-up of honey in a holder, taken as perfectly mixed. Parts are
// in the order of their origins' bytes and their shares sum to one. A Mix is
// never changed: holders share it.
type Mix struct {
	Parts []Part
}

func pure(o Origin) *Mix { return &Mix{[]Part{{o, 1}}} }

var unexplainedMix = pure(Unexplained)

// faintest is the least share that a mix keeps: a tank that is never quite
// emptied would else remember every pull that ever went through it. It is a
// fifth of a milligram in two tonnes; what it leaves out goes to the others.
const faintest = 1e-10

// blend is the make-up of a grams of one mix with b grams of another.
func blend(a *Mix, aG int64, b *Mix, bG int64) *Mix {
	switch {
	case bG == 0 || sameMix(a, b):
		return a
	case aG == 0:
		return b
	}
	wa := float64(aG) / float64(aG+bG)
	wb := 1 - wa
	out := make([]Part, 0, len(a.Parts)+len(b.Parts))
	i, j := 0, 0
	for i < len(a.Parts) || j < len(b.Parts) {
		var next Part
		switch c := sooner(a.Parts[i:], b.Parts[j:]); {
		case c < 0:
			next = Part{a.Parts[i].Origin, wa * a.Parts[i].Share}
			i++
		case c > 0:
			next = Part{b.Parts[j].Origin, wb * b.Parts[j].Share}
			j++
		default:
			next = Part{a.Parts[i].Origin, wa*a.Parts[i].Share + wb*b.Parts[j].Share}
			i++
			j++
		}
		if next.Share >= faintest {
			out = append(out, next)
		}
	}
	return &Mix{toOne(out)}
}

// sameMix reports whether two make-ups are the same, down to the last bit.
func sameMix(x, y *Mix) bool {
	return x == y || x != nil && y != nil && slices.Equal(x.Parts, y.Parts)
}

// sooner says which list's first origin comes first; an empty one's comes last.
func sooner(a, b []Part) int {
	switch {
	case len(a) == 0:
		return 1
	case len(b) == 0:
		return -1
	}
	return bytes.Compare(a[0].Origin[:], b[0].Origin[:])
}

// toOne makes shares sum to one.
func toOne(parts []Part) []Part {
	var sum float64
	for _, p := range parts {
		sum += p.Share
	}
	if sum != 1 {
		for i := range parts {
			parts[i].Share /= sum
		}
	}
	return parts
}

// Apportion splits whole grams by shares so that the pieces sum to the whole:
// each gets its share rounded down, and the grams left over go to the largest
// remainders, the earlier part first where they are alike.
func Apportion(grams int64, shares []float64) []int64 {
	out := make([]int64, len(shares))
	rest := make([]float64, len(shares))
	left := grams
	for i, s := range shares {
		exact := float64(grams) * s
		out[i] = int64(exact)
		rest[i] = exact - float64(out[i])
		left -= out[i]
	}
	for ; left > 0 && len(shares) > 0; left-- {
		best := 0
		for i := range rest {
			if rest[i] > rest[best] {
				best = i
			}
		}
		out[best]++
		rest[best]--
	}
	for ; left < 0; left++ {
		best := -1
		for i := range rest {
			if out[i] > 0 && (best < 0 || rest[i] < rest[best]) {
				best = i
			}
		}
		out[best]--
		rest[best]++
	}
	return out
}
