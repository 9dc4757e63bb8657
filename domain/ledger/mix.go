package ledger

import "bytes"

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

// blend is the make-up of a grams of one mix with b grams of another.
func blend(a *Mix, aG int64, b *Mix, bG int64) *Mix {
	switch {
	case bG == 0 || a == b:
		return a
	case aG == 0:
		return b
	}
	wa := float64(aG) / float64(aG+bG)
	wb := float64(bG) / float64(aG+bG)
	out := make([]Part, 0, len(a.Parts)+len(b.Parts))
	i, j := 0, 0
	for i < len(a.Parts) && j < len(b.Parts) {
		p, q := a.Parts[i], b.Parts[j]
		switch c := bytes.Compare(p.Origin[:], q.Origin[:]); {
		case c < 0:
			out = append(out, Part{p.Origin, wa * p.Share})
			i++
		case c > 0:
			out = append(out, Part{q.Origin, wb * q.Share})
			j++
		default:
			out = append(out, Part{p.Origin, wa*p.Share + wb*q.Share})
			i++
			j++
		}
	}
	for ; i < len(a.Parts); i++ {
		out = append(out, Part{a.Parts[i].Origin, wa * a.Parts[i].Share})
	}
	for ; j < len(b.Parts); j++ {
		out = append(out, Part{b.Parts[j].Origin, wb * b.Parts[j].Share})
	}
	return &Mix{out}
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
