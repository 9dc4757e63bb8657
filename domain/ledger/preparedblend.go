package ledger

import (
	"fmt"
	"math"
	"slices"
	"time"

	"pullbook/domain/standard"
)

// PreparedBlend is a blend that a manager wants made: what goes into which tank, and what is
// expected to come of it. It moves no honey: the movements do, as they happen.
type PreparedBlend struct {
	Title string `json:"title"`
	// TankID is the tank that it is made in.
	TankID  ID              `json:"tank_id"`
	Takes   []BlendTake     `json:"takes"`
	Expects []BlendExpected `json:"expects,omitempty"`
	Note    string          `json:"note,omitempty"`
}

// BlendTake is what goes in of a container or tank.
type BlendTake struct {
	From Place `json:"from"`
	// MassG is 0 of a container, which goes whole.
	MassG int64 `json:"mass_g,omitempty"`
}

// BlendExpected is what a plan expects of a property, in the parameter's first unit.
type BlendExpected struct {
	Parameter      string  `json:"parameter"`
	Value          float64 `json:"value"`
	StdUncertainty float64 `json:"std_uncertainty,omitempty"`
	// Low and High are the ends of the limit that it was planned to; nil where there is none.
	Low  *float64 `json:"low,omitempty"`
	High *float64 `json:"high,omitempty"`
}

func (*PreparedBlend) Kind() Kind { return KindPreparedBlend }

// BlendTaken is what came of one take.
type BlendTaken struct {
	BlendTake
	// MovedG is what went over since, in By.
	MovedG int64
	By     []*Entry
	// Elsewhere is what emptied the container in some other way; nil where nothing did.
	Elsewhere *Entry
}

// Done reports whether nothing of it is left to do: what was to go over did, or cannot any more.
// Honey is weighed to a kilogram, so that half of one more or less is the same.
func (t *BlendTaken) Done() bool {
	const half = 500
	return t.Elsewhere != nil || len(t.By) > 0 && (t.MassG == 0 || t.MovedG >= t.MassG-half)
}

// Taken is what was poured of a prepared blend since it was prepared, take by take.
func (b *Book) Taken(e *Entry) []BlendTaken {
	p := e.Body.(*PreparedBlend)
	out := make([]BlendTaken, len(p.Takes))
	at := map[ID]int{}
	for i, t := range p.Takes {
		out[i].BlendTake = t
		at[b.rootID(t.From.ID)] = i
	}
	into := b.rootID(p.TankID)
	b.HappenedIn(e.OccurredAt, time.UnixMicro(math.MaxInt64), func(_ ID, moved *Entry) bool {
		m, moves := moved.Body.(*Movement)
		if i, asked := at[b.rootID(movedFrom(m, moves))]; asked && b.rootID(m.To.ID) == into {
			out[i].MovedG += b.wentOver(m)
			out[i].By = append(out[i].By, moved)
		}
		return true
	})
	for i := range out {
		h, _ := b.state.Holder(b.rootID(out[i].From.ID))
		if h.Gone != nil && len(out[i].By) == 0 {
			out[i].Elsewhere = h.Gone
		}
	}
	return out
}

func movedFrom(m *Movement, moves bool) ID {
	if !moves {
		return ID{}
	}
	return m.From.ID
}

// wentOver is the honey of a movement; of a container that was emptied unweighed what was filled into it.
func (b *Book) wentOver(m *Movement) int64 {
	if m.MassG > 0 {
		return m.MassG
	}
	if fill := body[Fill](b, m.From.ID); fill != nil {
		return fill.NetG()
	}
	return 0
}

// PreparedBlends lists the blends of which something is left to do, the latest first.
func (b *Book) PreparedBlends() (out []*Entry) {
	b.InForceOf(KindPreparedBlend, func(_ ID, e *Entry) bool {
		if slices.ContainsFunc(b.Taken(e), func(t BlendTaken) bool { return !t.Done() }) {
			out = append(out, e)
		}
		return true
	})
	slices.Reverse(out)
	return out
}

func (c *checker) preparedBlend(p *PreparedBlend) {
	tank := c.names("/tank_id", p.TankID, KindTank)
	if len(p.Takes) == 0 {
		c.wrong("/takes", nil, "Nothing goes into this blend. Name the containers and tanks that it is made of.")
	}
	seen := map[ID]bool{}
	for i, t := range p.Takes {
		at := fmt.Sprintf("/takes/%d", i)
		if t.From.Kind != PlaceContainer && t.From.Kind != PlaceTank {
			c.wrong(at+"/from/kind", string(t.From.Kind), "A blend is made of containers and of what tanks hold.")
			continue
		}
		from := c.place(at+"/from", t.From)
		switch {
		case from == nil:
			continue
		case from == tank:
			c.wrong(at+"/from/id", t.From.ID, "Honey that is in tank %s stays there: name what comes to it.", c.book.Name(from.ID))
		case seen[from.ID]:
			c.wrong(at+"/from/id", t.From.ID, "%s is listed twice; add the masses up.", c.book.Name(from.ID))
		case t.From.Kind == PlaceTank && t.MassG == 0:
			c.wrong(at+"/mass_kg", nil, "How much of tank %s goes in? Only a container goes whole without a mass.", c.book.Name(from.ID))
		}
		seen[from.ID] = true
		if h, _ := c.book.state.Holder(from.ID); h.Gone != nil && c.entry.Replaces == (ID{}) {
			c.clash(at+"/from/id", t.From.ID, "Container %s is empty or gone already: entry %s.", c.book.Name(from.ID), h.Gone.Number)
		}
	}
	c.expected(p.Expects)
}

// expected checks that a plan expects something of properties that there are.
func (c *checker) expected(expects []BlendExpected) {
	known := standard.Parameters()
	for i, x := range expects {
		at := fmt.Sprintf("/expects/%d", i)
		if !slices.ContainsFunc(known, func(p standard.Parameter) bool { return p.ID == x.Parameter }) {
			c.wrong(at+"/parameter", x.Parameter, "No rule set knows this parameter. GET /v1/standards/parameters lists them.")
		}
		if x.Low != nil && x.High != nil && *x.Low > *x.High {
			c.wrong(at+"/high", *x.High, "The upper end cannot lie below the lower one.")
		}
	}
}
