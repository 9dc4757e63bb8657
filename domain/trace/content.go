package trace

import "slices"

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
}

// draw takes grams out, of which short were not there, and puts what they have
// of each source into out.
func (c *content) draw(grams, short int64, out []portion) []portion {
	known := grams - short
	if known >= c.grams {
		out = append(out, c.of...)
		c.of = c.of[:0]
	} else if known > 0 {
		out = c.drawPart(float64(known), out)
	}
	c.grams -= known
	if short > 0 {
		out = c.unexplained(float64(short), out)
	}
	return out
}

func (c *content) drawPart(m float64, out []portion) []portion {
	held := float64(c.grams)
	share := m / held
	kept := c.of[:0]
	for _, p := range c.of {
		out = append(out, portion{p.source, p.grams * share, max(0, m-(held-p.least)), min(m, p.top)})
		p.grams -= p.grams * share
		p.least, p.top = max(0, p.least-m), min(held-m, p.top)
		if p.top > 0 {
			kept = append(kept, p)
		}
	}
	c.of = kept
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
	c.grams += grams
	if len(c.of) == 0 {
		c.of = append(c.of, in...)
		return
	}
	if len(in) > 0 {
		c.of = merge(c.of, in)
	}
}

// merge adds up two lists of portions.
func merge(a, b []portion) []portion {
	switch {
	case len(b) == 0:
		return a
	case len(a) == 1 && len(b) == 1 && a[0].source == b[0].source:
		a[0].add(b[0])
		return a
	}
	i := 0
	missing := 0
	for _, p := range b {
		for i < len(a) && a[i].source < p.source {
			i++
		}
		if i < len(a) && a[i].source == p.source {
			a[i].add(p)
		} else {
			missing++
		}
	}
	if missing == 0 {
		return a
	}
	return insert(a, b, missing)
}

// insert takes those of b into a that a has not got.
func insert(a, b []portion, missing int) []portion {
	i, j := len(a)-1, len(b)-1
	a = slices.Grow(a, missing)[:len(a)+missing]
	for k := len(a) - 1; j >= 0; k-- {
		switch {
		case i >= 0 && a[i].source == b[j].source:
			a[k] = a[i]
			i--
			j--
		case i >= 0 && a[i].source > b[j].source:
			a[k] = a[i]
			i--
		default:
			a[k] = b[j]
			j--
		}
	}
	return a
}

func (p *portion) add(o portion) {
	p.grams += o.grams
	p.least += o.least
	p.top += o.top
}
