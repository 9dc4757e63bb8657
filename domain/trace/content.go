package trace

import (
	"cmp"
	"slices"
)

// portion is what an amount of honey has of one source, in grams: under perfect
// mixing, at the least and at the most.
type portion struct {
	source            int32
	grams, least, top float64
}

// sources is a set of sources.
type sources []uint64

func (s sources) has(i int32) bool { return int(i)/64 < len(s) && s[i/64]&(1<<(i%64)) != 0 }

func (s *sources) add(i int32) {
	for int(i)/64 >= len(*s) {
		*s = append(*s, 0)
	}
	(*s)[i/64] |= 1 << (i % 64)
}

func (s *sources) addAll(o sources) {
	for len(*s) < len(o) {
		*s = append(*s, 0)
	}
	for i, w := range o {
		(*s)[i] |= w
	}
}

func (s sources) each(f func(int32)) {
	for w, bits := range s {
		for i := int32(0); bits != 0; i, bits = i+1, bits>>1 {
			if bits&1 != 0 {
				f(int32(w)*64 + i)
			}
		}
	}
}

// content is what a holder has in it. The portions are in order of their
// sources; may are all sources that a trace may be left of.
type content struct {
	grams int64
	of    []portion
	may   sources
	// taken went out since of was brought up to date: drawn at once or one after
	// the other, it leaves the same.
	taken int64
}

// leave takes grams out of which nobody asks what they have of each source.
func (c *content) leave(grams int64) {
	c.grams -= grams
	c.taken += grams
}

// settle brings the portions up to date.
func (c *content) settle() {
	if c.taken == 0 {
		return
	}
	if c.grams == 0 {
		c.of = c.of[:0]
	} else {
		m, held := float64(c.taken), float64(c.grams+c.taken)
		kept := c.of[:0]
		for _, p := range c.of {
			if p = p.without(m, held); p.top > 0 {
				kept = append(kept, p)
			}
		}
		c.of = kept
	}
	c.taken = 0
}

// without is what is left of a portion when m grams of those held are drawn.
func (p portion) without(m, held float64) portion {
	return portion{p.source, p.grams * (held - m) / held, max(0, p.least-m), min(held-m, p.top)}
}

// draw takes grams out, of which short were not there, and adds what they have
// of each source to out.
func (c *content) draw(grams, short int64, out []portion) []portion {
	c.settle()
	known := grams - short
	switch m, held := float64(known), float64(c.grams); {
	case known == c.grams:
		out = append(out, c.of...)
	case known > 0:
		for _, p := range c.of {
			out = append(out, portion{p.source, p.grams * m / held, max(0, m-(held-p.least)), min(m, p.top)})
		}
	}
	c.leave(known)
	if short > 0 {
		out = c.unexplained(float64(short), out)
	}
	return out
}

// unexplained adds honey that may be of anything that was in the holder.
func (c *content) unexplained(grams float64, out []portion) []portion {
	var maybe []portion
	c.may.each(func(source int32) { maybe = append(maybe, portion{source: source, top: grams}) })
	return merge(out, maybe)
}

// pour puts honey in.
func (c *content) pour(grams int64, in []portion) {
	c.settle()
	c.grams += grams
	c.of = merge(c.of, in)
}

// merge adds the portions of b to those of a. It is quick where b is short.
func merge(a, b []portion) []portion {
	missing, from := 0, 0
	for _, p := range b {
		i, has := find(a[from:], p.source)
		if from += i; has {
			a[from].add(p)
		} else {
			missing++
		}
	}
	if missing == 0 {
		return a
	}
	return insert(a, b, missing)
}

func find(in []portion, source int32) (int, bool) {
	return slices.BinarySearchFunc(in, source, func(p portion, s int32) int { return cmp.Compare(p.source, s) })
}

// insert takes those of b into a that a has not got.
func insert(a, b []portion, missing int) []portion {
	end := len(a)
	a = slices.Grow(a, missing)[:end+missing]
	for j := len(b) - 1; missing > 0; j-- {
		i, has := find(a[:end], b[j].source)
		if has {
			continue
		}
		copy(a[i+missing:], a[i:end])
		missing--
		a[i+missing] = b[j]
		end = i
	}
	return a
}

func (p *portion) add(o portion) {
	p.grams += o.grams
	p.least += o.least
	p.top += o.top
}
