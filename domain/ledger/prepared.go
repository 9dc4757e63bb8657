package ledger

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// PreparedDispatch is what a manager wants loaded for a buyer. It moves no honey: the
// dispatch that names it does, with what was loaded.
type PreparedDispatch struct {
	BuyerID ID `json:"buyer_id"`
	// LeavesOn is the day on which it is to leave, by the outfit's clock.
	LeavesOn Date `json:"leaves_on"`
	// Market is as in Dispatch.
	Market string `json:"market,omitempty"`
	// Containers are the IDs of fills; Lots ask for so many of a lot, whichever they are.
	Containers []ID            `json:"containers,omitempty"`
	Lots       []LotContainers `json:"lots,omitempty"`
	Reference  string          `json:"reference,omitempty"`
	Note       string          `json:"note,omitempty"`
}

// LotContainers is how many containers of a lot are meant.
type LotContainers struct {
	LotID ID  `json:"lot_id"`
	Count int `json:"count"`
}

func (*PreparedDispatch) Kind() Kind { return KindPreparedDispatch }

// Asked is how many containers are to be loaded.
func (p *PreparedDispatch) Asked() int {
	n := len(p.Containers)
	for _, l := range p.Lots {
		n += l.Count
	}
	return n
}

// Prepared lists what was prepared and not loaded yet, the earliest day first.
func (b *Book) Prepared() []*Entry {
	var out []*Entry
	loaded := b.loaded()
	b.InForceOf(KindPreparedDispatch, func(root ID, e *Entry) bool {
		if loaded[root] == nil {
			out = append(out, e)
		}
		return true
	})
	slices.SortStableFunc(out, func(x, y *Entry) int {
		return cmp.Compare(x.Body.(*PreparedDispatch).LeavesOn, y.Body.(*PreparedDispatch).LeavesOn)
	})
	return out
}

// LoadedBy is the dispatch in force that loaded what was prepared; nil while none did.
func (b *Book) LoadedBy(prepared ID) *Entry { return b.loaded()[b.rootID(prepared)] }

// loaded are the dispatches in force by what was prepared of them.
func (b *Book) loaded() map[ID]*Entry {
	out := map[ID]*Entry{}
	b.InForceOf(KindDispatch, func(_ ID, e *Entry) bool {
		if id := e.Body.(*Dispatch).PreparedID; id != (ID{}) {
			out[b.rootID(id)] = e
		}
		return true
	})
	return out
}

// Here lists the containers of a lot that hold honey here, in the order in which they were filled.
func (b *Book) Here(lot ID) (out []ID) {
	for _, f := range b.fills[b.rootID(lot)] {
		if h, ok := b.state.Holder(f.root.ID); ok && h.Grams > 0 {
			out = append(out, f.root.ID)
		}
	}
	return out
}

// MayLoad lists the containers that can be loaded of what was prepared: those that it names,
// gone or not, and of the lots that it counts all that are here.
func (b *Book) MayLoad(p *PreparedDispatch) []ID {
	var out []ID
	for _, id := range p.Containers {
		out = append(out, b.rootID(id))
	}
	for _, l := range p.Lots {
		out = append(out, b.Here(l.LotID)...)
	}
	return out
}

func (c *checker) preparedDispatch(p *PreparedDispatch, now time.Time) {
	c.names("/buyer_id", p.BuyerID, KindBuyer)
	c.market(p.Market)
	if farthest := Date(now.Add(plannedAhead).In(c.book.loc).Format(time.DateOnly)); p.LeavesOn > farthest {
		c.wrong("/leaves_on", string(p.LeavesOn), "This is more than a year ahead. Was another date meant?")
	}
	if p.Asked() == 0 {
		c.wrong("/containers", nil, "Nothing is to be loaded. Name containers here, or how many of which lot in lots.")
	}
	if by := c.book.loaded()[c.book.rootID(c.entry.Replaces)]; c.entry.Replaces != (ID{}) && by != nil {
		c.clash("/replaces", c.entry.Replaces, "What was prepared here was loaded: entry %s. Correct that entry instead.", by.Number)
	}
	counted := map[ID]bool{}
	for i, l := range p.Lots {
		c.counts(fmt.Sprintf("/lots/%d", i), l, counted)
	}
	seen := map[ID]bool{}
	for i, id := range p.Containers {
		at := pointerTo(i)
		f := c.names(at, id, KindFill)
		switch {
		case f == nil:
			continue
		case seen[f.ID]:
			c.wrong(at, id, "This container is listed twice.")
		case counted[c.book.rootID(f.lot())]:
			c.wrong(at, id, "Container %s is of lot %s, of which a number is asked for too. Name its containers, or say how many.", c.book.Name(f.ID), c.book.Name(f.lot()))
		}
		seen[f.ID] = true
		if h, _ := c.book.state.Holder(f.ID); h.Gone != nil {
			c.clash(at, id, "Container %s is gone already: entry %s, %s.", c.book.Name(f.ID), h.Gone.Number, message.Day(h.Gone.OccurredAt.In(c.book.loc)))
		}
	}
}

// counts checks how many containers of a lot are asked for.
func (c *checker) counts(at string, l LotContainers, counted map[ID]bool) {
	lot := c.names(at+"/lot_id", l.LotID, KindLot)
	switch {
	case lot == nil:
		return
	case counted[lot.ID]:
		c.wrong(at+"/lot_id", l.LotID, "This lot is listed twice; add the numbers up.")
	}
	counted[lot.ID] = true
	if here := len(c.book.Here(lot.ID)); l.Count > here {
		c.clash(at+"/count", l.Count, "Lot %s has %s here, and %s are asked for. Ask for those that are here.", c.book.Name(lot.ID), message.Plural{N: float64(here), One: "%s container", Other: "%s containers"}, l.Count)
	}
}

// asPrepared checks that a dispatch goes with what was prepared, and that this was not
// loaded before. A correction may say otherwise: it tells what happened in the end.
func (c *checker) asPrepared(d *Dispatch) {
	if d.PreparedID == (ID{}) {
		return
	}
	prepared := c.names("/prepared_id", d.PreparedID, KindPreparedDispatch)
	if prepared == nil || c.entry.Replaces != (ID{}) {
		return
	}
	if prepared.withdrawn() {
		c.clash("/prepared_id", d.PreparedID, "The dispatch that was prepared in entry %s was withdrawn. Nothing of this was stored. Ask a manager what is to leave.", prepared.Number)
		return
	}
	if by := c.book.LoadedBy(prepared.ID); by != nil {
		c.clash("/prepared_id", d.PreparedID, "The dispatch that was prepared in entry %s was loaded already: entry %s, by %s. Nothing of this was stored. If more went onto the truck, ask a manager to correct that entry.", prepared.Number, by.Number, by.RecordedBy)
		return
	}
	p, readable := prepared.subject.(*PreparedDispatch)
	switch {
	case !readable:
	case c.book.rootID(p.BuyerID) != c.book.rootID(d.BuyerID):
		c.clash("/buyer_id", d.BuyerID, "What was prepared is for %s. Name that buyer, or leave prepared_id out.", c.book.Name(p.BuyerID))
	case p.Market != d.Market:
		c.clash("/market", d.Market, "What was prepared goes by other rules. Say the same market, or leave prepared_id out.")
	}
}

// AsPrepared says why a dispatch needs a manager; nil where it loads no more than one
// prepared. Whether the entry is possible is for Check to say.
func (b *Book) AsPrepared(e *Entry) error {
	d, sends := e.Body.(*Dispatch)
	if !sends || b.fact(e.ID) != nil {
		return nil
	}
	if d.PreparedID == (ID{}) {
		return fault.New(fault.NotYours, "A manager sends containers off. Crew load what a manager prepared: name that in prepared_id, or ask a manager.")
	}
	if d.Override {
		return fault.New(fault.NotYours, "A manager alone sends off what does not pass, with the reason. Nothing of this was stored: ask one.")
	}
	p := body[PreparedDispatch](b, d.PreparedID)
	if p == nil {
		return nil // Check says that there is none
	}
	if fields := b.notPrepared(p, d); len(fields) > 0 {
		return &fault.Error{Code: fault.NotYours, Message: fields[0].Message, Fields: fields}
	}
	return nil
}

// notPrepared complains of the containers that were not prepared.
func (b *Book) notPrepared(p *PreparedDispatch, d *Dispatch) (out []fault.Field) {
	named, left := map[ID]bool{}, map[ID]int{}
	for _, id := range p.Containers {
		named[b.rootID(id)] = true
	}
	for _, l := range p.Lots {
		left[b.rootID(l.LotID)] += l.Count
	}
	for i, id := range d.Containers {
		fill := body[Fill](b, id)
		if fill == nil || named[b.rootID(id)] {
			continue
		}
		lot := b.rootID(fill.LotID)
		asked, counted := left[lot]
		left[lot]--
		switch {
		case counted && asked > 0:
			continue
		case counted:
			out = append(out, fault.Field{Pointer: pointerTo(i), Sent: id, Message: message.F("Container %s is one more of lot %s than was prepared. Nothing of this was stored. Take it off, or ask a manager to prepare more.", fill.Container, b.Name(lot))})
		default:
			out = append(out, fault.Field{Pointer: pointerTo(i), Sent: id, Message: message.F("Container %s was not prepared for this dispatch. Nothing of this was stored. Take it off, or ask a manager to add it.", fill.Container)})
		}
	}
	return out
}

// Staying is a container that may not leave, with why.
type Staying struct {
	FillID ID
	Why    message.Text
}

// Stay lists which containers of a dispatch the door would keep here for what is known of
// their lots; e need not be possible otherwise.
func (b *Book) Stay(e *Entry) []Staying {
	c := checker{book: b, entry: e}
	var out []Staying
	for _, id := range e.Body.(*Dispatch).Containers {
		f := b.fact(id)
		if f == nil {
			continue
		}
		if h, _ := b.state.Holder(f.root.ID); h.Gone != nil {
			out = append(out, Staying{f.root.ID, message.F("it is gone already (entry %s, %s)", h.Gone.Number, message.Day(h.Gone.OccurredAt.In(b.loc)))})
		} else if why := c.stays(f.root, false); !why.IsEmpty() {
			out = append(out, Staying{f.root.ID, message.F("lot %s may not leave: %s", b.Name(f.root.lot()), why)})
		}
	}
	return out
}
