package plan

import (
	"maps"
	"math"
	"slices"
	"time"

	"pullbook/domain/estimate"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// LeftOut is honey on hand that may not go into a blend, and why.
type LeftOut struct {
	Source string
	// Names are its containers, where it is not about the whole of the source.
	Names []string
	Kg    float64
	Why   message.Text
}

// hand collects the honey on hand.
type hand struct {
	book    *ledger.Book
	climate *quality.Climate
	on      standard.Date
	at      time.Time
	// asked are the parameters of which a figure is needed, each keeps the lines that a mix
	// does not average: what fails one by itself stays out.
	asked []string
	each  []ledger.Resolved
	// partly lets in honey of which a figure is not known.
	partly bool
	stock  []Stock
	out    []LeftOut
	// promised says for what containers are prepared already.
	promised map[ledger.ID]message.Text
}

// onHand lists what may go into a blend on a day: the containers of every lot and the tanks, with
// the figures of the parameters that are asked for. Honey that is held, or fails by itself what a
// mix does not average, stays out, and so does honey of which a figure is not known. A parameter
// of which no honey here has a figure is left out of what is asked for, and is in unmeasured.
func onHand(b *ledger.Book, asked []string, sets []ledger.Resolved, on standard.Date, at time.Time) (h *hand, unmeasured []string, err error) {
	h = &hand{book: b, climate: quality.ClimateOf(b), on: on, at: at, each: sets, promised: promised(b)}
	var lots []handLot
	b.InForceOf(ledger.KindLot, func(root ledger.ID, e *ledger.Entry) bool {
		var l *handLot
		if l, err = h.lot(root, e.Body.(*ledger.Lot)); l != nil {
			lots = append(lots, *l)
		}
		return err == nil
	})
	if err != nil {
		return nil, nil, err
	}
	for _, parameter := range asked {
		if expects[parameter] || slices.ContainsFunc(lots, func(l handLot) bool { return len(l.evidence.Estimates(parameter)) > 0 }) {
			h.asked = append(h.asked, parameter)
		} else {
			unmeasured = append(unmeasured, parameter)
		}
	}
	for _, l := range lots {
		h.containers(l)
	}
	b.InForceOf(ledger.KindTank, func(root ledger.ID, e *ledger.Entry) bool {
		h.tank(root, e.Body.(*ledger.Tank))
		return true
	})
	return h, unmeasured, nil
}

// handLot is a lot that may go in, with what is known of it.
type handLot struct {
	*ledger.Lot
	here     []ledger.ID
	evidence *standard.Evidence
}

// expects are the parameters of which the book expects something of any honey.
var expects = map[string]bool{"moisture": true, "hmf": true, "diastase": true}

// lot is a lot of which something is here and may go in; nil of another.
func (h *hand) lot(lot ledger.ID, l *ledger.Lot) (*handLot, error) {
	here := h.book.Here(lot)
	if len(here) == 0 {
		return nil, nil
	}
	mass := float64(h.book.State().LotMass(lot).HeldG) / 1000
	stays := func(why message.Text) { h.out = append(h.out, LeftOut{Source: l.Code, Kg: mass, Why: why}) }
	if h.book.State().LotStatus(lot).Status == ledger.StatusHeld {
		stays(message.F("it is held"))
		return nil, nil
	}
	g, err := quality.Gather(h.book, lot, h.on)
	if err != nil {
		return nil, err
	}
	evidence, err := g.EvidenceOn(h.climate, h.on)
	if err != nil {
		return nil, err
	}
	why, err := h.failsBySelf(evidence)
	if err != nil {
		return nil, err
	}
	if !why.IsEmpty() {
		stays(why)
		return nil, nil
	}
	return &handLot{l, here, evidence}, nil
}

// failsBySelf says what a lot fails that no mix makes good; empty where there is nothing.
func (h *hand) failsBySelf(evidence *standard.Evidence) (message.Text, error) {
	for _, set := range h.each {
		check, err := set.Check(evidence, h.on, standard.SimpleAcceptance())
		if err != nil {
			return message.Text{}, err
		}
		for i := range check.Verdicts {
			v := &check.Verdicts[i]
			if _, mixes := scales[v.Limit.Parameter]; !mixes && v.Outcome == standard.Fails && set.Form == standard.FormLimits {
				return message.F("%s fails %s, and mixing does not make that good", standard.SayParameter(v.Limit.Parameter), set.SaidTitle()), nil
			}
		}
	}
	return message.Text{}, nil
}

// containers adds those of a lot of which everything asked is known.
func (h *hand) containers(l handLot) {
	unknown := map[string]*LeftOut{}
	kept := map[string]*LeftOut{}
	for _, id := range l.here {
		holder, _ := h.book.State().Holder(id)
		s := Stock{
			ID: id, Name: h.book.Name(id), Source: l.Code, Kg: float64(holder.Grams) / 1000, Since: h.book.LastFilled(id, h.at),
			Figures: map[string]Figure{}, Declares: l.Declares, Origins: originsIn(h.book, &holder),
		}
		if why, is := h.promised[id]; is {
			said := why.String()
			if kept[said] == nil {
				kept[said] = &LeftOut{Source: l.Code, Why: why}
			}
			kept[said].Names, kept[said].Kg = append(kept[said].Names, s.Name), kept[said].Kg+s.Kg
			continue
		}
		missing := ""
		for _, parameter := range h.asked {
			f, known := h.figure(l.evidence, parameter, &s)
			if known {
				s.Figures[parameter] = f
			} else if missing = parameter; !h.partly {
				break
			}
		}
		if missing == "" || h.partly {
			h.stock = append(h.stock, s)
			continue
		}
		if unknown[missing] == nil {
			unknown[missing] = &LeftOut{Source: l.Code, Why: message.F("its %s was not measured: enter a result, or leave that limit out", standard.SayParameter(missing))}
		}
		unknown[missing].Names, unknown[missing].Kg = append(unknown[missing].Names, s.Name), unknown[missing].Kg+s.Kg
	}
	for _, said := range slices.Sorted(maps.Keys(kept)) {
		h.out = append(h.out, *kept[said])
	}
	for _, parameter := range h.asked {
		if out := unknown[parameter]; out != nil {
			h.out = append(h.out, *out)
		}
	}
}

// promised says for what containers are prepared already: a dispatch, or another blend.
func promised(b *ledger.Book) map[ledger.ID]message.Text {
	out := map[ledger.ID]message.Text{}
	for _, e := range b.Prepared() {
		p := e.Body.(*ledger.PreparedDispatch)
		for _, id := range p.Containers {
			out[b.Root(id)] = message.F("prepared for a dispatch to %s", b.Name(p.BuyerID))
		}
	}
	for _, e := range b.PreparedBlends() {
		p := e.Body.(*ledger.PreparedBlend)
		for _, t := range p.Takes {
			if t.From.Kind == ledger.PlaceContainer {
				out[b.Root(t.From.ID)] = message.F("prepared for the blend %s", message.Quoted(p.Title))
			}
		}
	}
	return out
}

// figure is what is known of one parameter of a container: what was read on it, or of its lot,
// or what the book expects.
func (h *hand) figure(evidence *standard.Evidence, parameter string, s *Stock) (Figure, bool) {
	for _, e := range evidence.Estimates(parameter) {
		i := slices.IndexFunc(e.Measured, func(v standard.ContainerValue) bool { return v.ContainerID == s.Name })
		if i < 0 {
			continue
		}
		v := e.Measured[i]
		f := between(v.Low.Float64(), v.High.Float64(), s.Name)
		own := math.Sqrt(max(0, known(v.UncertaintyKnown, v.StdUncertainty, parameter, f.Mean, 2)-e.InstrumentU*e.InstrumentU))
		f.add(s.Name, own)
		f.add("instruments of "+parameter, e.InstrumentU)
		return f, true
	}
	for _, e := range evidence.Estimates(parameter) {
		lot := "lot " + s.Source
		f := between(e.Low.Float64(), e.High.Float64(), lot)
		own := math.Sqrt(max(0, known(e.UncertaintyKnown, e.StdUncertainty, parameter, f.Mean, 2)-e.InstrumentU*e.InstrumentU))
		f.add(lot, own)
		f.add(s.Name, e.BetweenSD)
		f.add("instruments of "+parameter, e.InstrumentU)
		return f, true
	}
	return h.expected(s.ID, parameter, "lot "+s.Source)
}

// between is a figure that was measured, somewhere between two ends where it is "less than" or
// was carried to the day: nine of ten lie between them, which is 3.3 standard deviations.
func between(low, high float64, key string) Figure {
	f := Figure{Mean: (low + high) / 2, Measured: true}
	if high > low {
		f.Errors = []Spread{{key, (high - low) / 3.29}}
	}
	return f
}

// known is the variance of a result: what it states, or what two laboratories usually differ by.
func known(stated bool, sd float64, parameter string, mean float64, power float64) float64 {
	if !stated {
		sd = usualSD(parameter, mean)
	}
	return math.Pow(sd, power)
}

// usualSD is the standard uncertainty of a result that states none, in the parameter's first unit
// (common practice; no source): a tenth of HMF and enzymes, a twentieth of the rest.
func usualSD(parameter string, mean float64) float64 {
	switch parameter {
	case "moisture", "soluble_solids":
		return 0.2
	case "colour_pfund":
		return 3
	case "hmf", "diastase", "invertase", "invertase_number":
		return max(1, 0.1*mean)
	}
	return 0.05 * mean
}

// expected is what the book expects of moisture, HMF and diastase of honey that nobody measured.
func (h *hand) expected(id ledger.ID, parameter, key string) (Figure, bool) {
	belief, ok := h.book.State().BeliefAt(id, h.at)
	if !ok {
		return Figure{}, false
	}
	var e estimate.Estimate
	switch parameter {
	case "moisture":
		e = belief.Moisture
	case "hmf":
		e = belief.HMF()
	case "diastase":
		e = belief.Diastase()
	default:
		return Figure{}, false
	}
	return Figure{Mean: e.Mean, Errors: []Spread{{key, e.StandardDeviation()}}}, true
}

// tank adds a tank that holds honey: what is known of it is what the book expects.
func (h *hand) tank(tank ledger.ID, t *ledger.Tank) {
	holder, _ := h.book.State().Holder(tank)
	if holder.Grams <= 0 || t.Use == ledger.Sump {
		return
	}
	s := Stock{ID: tank, Name: t.Name, Source: t.Name, Kg: float64(holder.Grams) / 1000, Part: true, Figures: map[string]Figure{}, Origins: originsIn(h.book, &holder)}
	if since, ever := h.book.State().HoldsSince(tank); ever {
		s.Since = since
	}
	for _, parameter := range h.asked {
		f, known := h.expected(tank, parameter, "tank "+t.Name)
		if !known {
			h.out = append(h.out, LeftOut{Source: t.Name, Kg: s.Kg, Why: message.F("of honey in a tank the book knows moisture, HMF and diastase, and not its %s", standard.SayParameter(parameter))})
			return
		}
		s.Figures[parameter] = f
	}
	h.stock = append(h.stock, s)
}

// originsIn are the yards that honey in a tank or container is of.
func originsIn(b *ledger.Book, holder *ledger.Holder) (out []Origin) {
	for _, s := range season.MakeUp(b, holder.Mix, holder.Grams) {
		if s.From.Kind == ledger.PlaceYard {
			o := Origin{Yard: s.From.ID, Name: s.Name, Share: s.Share}
			if y := ledger.Named[ledger.Yard](b, s.From.ID); y != nil {
				o.Country = y.Country
			}
			out = append(out, o)
		}
	}
	return out
}
