package trace

import (
	"cmp"
	"math"
	"slices"
)

// portion is what an amount of honey has of one source, in grams: under perfect
// mixing, at the least and at the most. The least is what at the most all others can
// have leaves of what there is by the book.
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
	level
	of  []portion
	may sources
	// below is by how much less than its portion says there may be of each source, and
	// less than nothing of one that has no portion: as much more there may be of others.
	below float64
	// taken went out since of was brought up to date: drawn at once or one after
	// the other, it leaves the same.
	taken int64
}

// leave takes out what a move takes, of which nobody asks what it has of each source.
func (c *content) leave(m move) {
	c.lose(m)
	c.taken += m.grams - m.short
}

// settle brings the portions up to date.
func (c *content) settle() {
	if c.grams == 0 && c.off2 == 0 {
		c.of, c.below, c.taken = c.of[:0], 0, 0
	}
	if c.taken == 0 {
		return
	}
	m, left, off := float64(c.taken), float64(c.grams), math.Sqrt(c.off2)
	kept := c.of[:0]
	for _, p := range c.of {
		p = portion{p.source, p.grams * left / (left + m), max(0, p.least-c.below-m+off), min(left+off, p.top)}
		if p.top > 0 {
			kept = append(kept, p)
		}
	}
	c.of, c.below, c.taken = kept, off, 0
}

// has are the portions, each with what there is of it at the least.
func (c *content) has() []portion {
	c.settle()
	out := slices.Clone(c.of)
	for i := range out {
		out[i].least = max(0, out[i].least-c.below)
	}
	return out
}

// draw takes out what a move takes and adds what it has of each source to out. Of each
// there may be less than that by what the move may be off.
func (c *content) draw(m move, out []portion) []portion {
	c.settle()
	known, off := m.grams-m.short, m.off()
	if known > 0 {
		taken, left := float64(known), float64(c.grams-known)
		for _, p := range c.of {
			if left > 0 {
				p.grams *= taken / (taken + left)
			}
			out = append(out, portion{p.source, p.grams, max(0, p.least-c.below-left+off), min(taken+off, p.top)})
		}
	}
	c.leave(m)
	if m.short > 0 {
		out = c.unexplained(float64(m.short), out)
	}
	return out
}

// unexplained adds honey that may be of anything that was in the holder.
func (c *content) unexplained(grams float64, out []portion) []portion {
	var maybe []portion
	c.may.each(func(source int32) { maybe = append(maybe, portion{source: source, top: grams}) })
	return merge(out, maybe)
}

// pour puts in what a move brings.
func (c *content) pour(m move, in []portion) {
	c.settle()
	c.gain(m)
	c.below += m.off()
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
