package ledger

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/honey"
	"pullbook/domain/message"
	"pullbook/domain/standard"
	"pullbook/domain/units"
)

// futureAllowance is how far ahead of the service a phone's clock may run.
const futureAllowance = 24 * time.Hour

// densestKgPerL is the density of the driest honey in the published tables
// (13 % moisture, specific gravity 1.4457 at 20/20 C), with a little to spare:
// no container holds more than its volume of it.
const densestKgPerL = 1.45

// Check says why an entry cannot go into the book: what it names does not
// exist, its identity clashes, or it is impossible by itself. What is merely
// odd is not its business; the replay flags that. now is the service's clock.
//
// The same id with the same content is no fault: it is in the book already.
func (b *Book) Check(e *Entry, now time.Time) error {
	c := checker{book: b, entry: e}
	if had := b.fact(e.ID); had != nil {
		c.again(had)
	} else {
		c.replaces()
		c.time(now)
		c.name()
		c.body(now)
	}
	if len(c.conflict) > 0 {
		return &fault.Error{Code: fault.Conflict, Message: c.conflict[0].Message, Fields: c.conflict}
	}
	if len(c.fields) > 0 {
		return &fault.Error{Code: fault.Invalid, Message: message.F(NothingStored), Fields: c.fields}
	}
	return nil
}

// NothingStored heads what Check finds wrong.
const NothingStored = "Nothing was stored, because something in the entry cannot be right."

type checker struct {
	book     *Book
	entry    *Entry
	fields   []fault.Field
	conflict []fault.Field
}

func (c *checker) wrong(pointer string, sent any, format string, args ...any) {
	c.fields = append(c.fields, fault.Field{Pointer: pointer, Sent: sent, Message: message.F(format, args...)})
}

func (c *checker) clash(pointer string, sent any, format string, args ...any) {
	c.conflict = append(c.conflict, fault.Field{Pointer: pointer, Sent: sent, Message: message.F(format, args...)})
}

// again holds an entry against the one of the same id. Nothing else is asked of
// it: it was good when it was recorded, whatever happened since.
func (c *checker) again(had *fact) {
	if !had.SameFact(c.entry) {
		c.clash("/id", c.entry.ID, "This id is entry %s of the book, with other content. A new entry needs a new id; to change entry %s, send a new entry that replaces it.", had.Number, had.Number)
	}
}

func (c *checker) replaces() {
	b, e := c.book, c.entry
	if e.ID == (ID{}) {
		c.wrong("/id", e.ID, "Each entry needs a new id of its own.")
	}
	if e.Replaces == (ID{}) {
		return
	}
	if strings.TrimSpace(e.Reason) == "" {
		c.wrong("/reason", e.Reason, "A correction or withdrawal needs a reason, in a few words.")
	}
	old := b.fact(e.Replaces)
	switch {
	case old == nil:
		c.wrong("/replaces", e.Replaces, "The book has no entry with this id: name the entry that is to be corrected or withdrawn.")
	case old.by != nil:
		c.clash("/replaces", e.Replaces, "Entry %s has been replaced by entry %s already: replace that one (%s).", old.Number, old.by.Number, old.by.ID)
	case old.root.takenBack:
		by := b.importOf(old.root)
		c.clash("/replaces", e.Replaces, "Entry %s came with import %s, which was withdrawn whole: there is nothing left to correct.", old.Number, by.Number)
	case old.Missing():
		c.clash("/replaces", e.Replaces, "Entry %s is missing in the database, so there is nothing to correct. Whoever keeps the program running may bring it back from a backup; what it said can also be recorded anew.", old.Number)
	case old.root.operators():
		c.clash("/replaces", e.Replaces, "Entry %s says who may do what, or how the outfit is set up. It is neither corrected nor withdrawn: change the person, token, key, tablet or setting itself, and the book says so in a new entry.", old.Number)
	case e.Kind == KindImport:
		c.clash("/replaces", e.Replaces, "An import cannot be corrected or brought back. Withdraw it, and bring the sheet in again.")
	case e.Kind == KindLaboratoryCertificate:
		c.clash("/replaces", e.Replaces, "A laboratory's certificate is neither corrected nor brought back. Withdraw it if it stands, and put the right file with the result.")
	case e.Kind == KindPhoto:
		c.clash("/replaces", e.Replaces, "A picture is neither corrected nor brought back. Withdraw it if it stands, and take another one.")
	case e.Kind == KindWithdrawal && old.Kind == KindWithdrawal:
		c.clash("/replaces", e.Replaces, "Entry %s is a withdrawal itself. To bring back what it withdrew, withdraw it with takes: correction.", old.Number)
	case e.Kind != KindWithdrawal && !old.root.correctedBy(e.Kind):
		c.wrong("/replaces", e.Replaces, "A %s cannot replace a %s.", e.Kind.Noun(), old.root.Kind.Noun())
	}
}

// own reports whether id names the thing that the entry is about, so that it
// does not clash with itself.
func (c *checker) own(id ID) bool {
	root := c.book.rootID(id)
	return root == c.entry.ID || c.entry.Replaces != (ID{}) && root == c.book.rootID(c.entry.Replaces)
}

func (c *checker) name() {
	for _, claim := range c.book.Claims(c.entry) {
		pointer := map[Kind]string{KindLot: "/code", KindFill: "/container"}[claim.Noun]
		if pointer == "" {
			pointer = "/name"
		}
		if claim.Code == "" {
			c.wrong(pointer, claim.Code, "This is empty. Write at least one letter or figure.")
		}
		if claim.Noun == KindFill {
			continue
		}
		had, now := c.book.claimed(claim.Noun, claim.Code)
		switch {
		case had == nil || c.own(had.ID):
		case now:
			c.clash(pointer, claim.Code, "The outfit has a %s of this name already (entry %s).", claim.Noun.Noun(), had.Number)
		default:
			c.clash(pointer, claim.Code, "This name belonged to the %s of entry %s and stays with it, so that it never means two things. Choose another name, or correct entry %s (%s) to use that one again.",
				claim.Noun.Noun(), had.Number, had.last.Number, had.last.ID)
		}
	}
}

// oldest is before anything that a book of our day can tell of.
var oldest = time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)

func (c *checker) time(now time.Time) {
	at := c.entry.OccurredAt
	switch {
	case at.After(now.Add(futureAllowance)):
		c.wrong("/occurred_at", at.Format(time.RFC3339), "This is more than a day ahead of now (%s). Was another date meant?", now.UTC().Format(time.RFC3339))
		return
	case at.Before(oldest):
		c.wrong("/occurred_at", at.Format(time.RFC3339), "This is before %s. Was another date meant?", strconv.Itoa(oldest.Year()))
		return
	case c.entry.Kind.SetUp() || c.entry.Kind == KindWithdrawal || c.entry.Kind == KindAcceptance:
		return
	}
	if c.book.SeasonOf(at) != nil {
		return
	}
	var spans []message.Text
	for _, s := range c.book.seasonsAround(at) {
		spans = append(spans, message.F("%s (%s to %s)", s.Name, string(s.First), string(s.Last)))
	}
	switch {
	case spans == nil:
		c.wrong("/occurred_at", at.Format(time.RFC3339), "The outfit has no season yet: set one up first.")
	default:
		c.wrong("/occurred_at", at.Format(time.RFC3339), "This date is outside every season: %s.", message.Series{Between: ", ", Items: spans})
	}
}

// names checks that an id is in the book as one of the kinds.
func (c *checker) names(pointer string, id ID, kinds ...Kind) *fact {
	f := c.book.fact(id)
	if f != nil {
		for _, k := range kinds {
			if f.root.Kind == k {
				return f.root
			}
		}
	}
	var what message.Either
	for _, k := range kinds {
		what = append(what, k.Noun())
	}
	switch {
	case f != nil:
		c.wrong(pointer, id, "This is a %s; the id of a %s is needed here.", f.root.Kind.Noun(), what)
	case id == ID{}:
		c.wrong(pointer, nil, "This is missing: the id of a %s.", what)
	default:
		c.wrong(pointer, id, "The outfit has no %s with this id: name one that it has, or set it up first.", what)
	}
	return nil
}

func (c *checker) mayName(pointer string, id ID, kinds ...Kind) {
	if id != (ID{}) {
		c.names(pointer, id, kinds...)
	}
}

var placeKinds = map[PlaceKind]Kind{
	PlaceRun: KindRun, PlaceTank: KindTank, PlaceContainer: KindFill, PlaceLot: KindLot,
	PlacePull: KindPull, PlaceYard: KindYard, PlaceRoom: KindRoom, PlaceBuyer: KindBuyer,
}

func (c *checker) place(pointer string, p Place) *fact {
	if p.Kind == PlaceWaste {
		return nil
	}
	return c.names(pointer+"/id", p.ID, placeKinds[p.Kind])
}

func (c *checker) body(now time.Time) {
	switch x := c.entry.Body.(type) {
	case *Season:
		c.season(x)
	case *Yard:
		if x.Country != "" && !IsCountry(x.Country) {
			c.wrong("/country", x.Country, "Write the two capital letters that ISO 3166-1 has for the country, such as ES or CA.")
		}
	case *SuperKind:
		if x.FullestNetG < x.UsualNetG {
			c.wrong("/fullest_net_kg", kg(x.FullestNetG), "The fullest box must hold at least as much as a usual one, %s.", message.Kg(kg(x.UsualNetG)))
		}
	case *ContainerKind:
		c.fits("/usual_net_kg", x, x.UsualNetG, x.UsualNetG)
	case *Buyer:
		c.market(x.Market)
	case *Room:
		c.room(x)
	case *Tank:
		c.shape(x)
		c.feeds(x)
	case *HiveCount:
		c.names("/yard_id", x.YardID, KindYard)
	case *Pull:
		c.names("/yard_id", x.YardID, KindYard)
		c.mayName("/room_id", x.RoomID, KindRoom)
		c.pulled(x)
	case *RunSupers:
		c.runSupers(x)
	case *Load:
		c.load(x)
	case *RunEnd:
		c.names("/run_id", x.RunID, KindRun)
	case *Movement:
		c.movement(x)
	case *Stocktake:
		c.names("/tank_id", x.TankID, KindTank)
	case *Wash:
		c.names("/tank_id", x.TankID, KindTank)
	case *Lot:
		c.mayName("/store_id", x.StoreID, KindRoom)
		c.declares(x.Declares)
	case *Fill:
		c.fill(x)
	case *Reading:
		c.reading(x)
		c.figures(x)
	case *Calibration:
		c.names("/instrument_id", x.InstrumentID, KindInstrument)
	case *TemperatureLog:
		c.temperatures(x, now)
	case *PreparedBlend:
		c.preparedBlend(x)
	case *AdoptedPlan:
		c.adoptedPlan(x)
	case *Contract:
		c.contract(x)
	case *PreparedDispatch:
		c.preparedDispatch(x, now)
	case *Dispatch:
		c.dispatch(x, now)
	case *Acceptance:
		c.acceptance(x)
	case *LaboratoryCertificate:
		c.laboratoryCertificate(x, now)
	case *Photo:
		c.photo(x, now)
	default:
		c.quality()
	}
}

func (c *checker) season(s *Season) {
	if s.Last < s.First {
		c.wrong("/last", string(s.Last), "A season cannot end before it begins (%s).", s.First)
	}
	c.book.InForceOf(KindSeason, func(root ID, e *Entry) bool {
		o := e.Body.(*Season)
		if !c.own(root) && s.First <= o.Last && o.First <= s.Last {
			c.clash("/first", string(s.First), "This overlaps the season %s (%s to %s); a day belongs to one season.", o.Name, string(o.First), string(o.Last))
		}
		return true
	})
}

// fits holds a net weight against a container's volume. What was sent is said as
// it came: the net itself, or the gross that it was worked out from.
func (c *checker) fits(pointer string, k *ContainerKind, netG, sentG int64) {
	most := k.MostNetG()
	if netG <= most {
		return
	}
	f := fault.Field{Pointer: pointer, Sent: kg(sentG), Message: message.F(
		"A %s of %s holds at most %s of honey; this makes %s.", k.Name, message.Litres(float64(k.VolumeML)/1000), message.Kg(kg(most)), message.Kg(kg(netG)))}
	if inPounds := math.Round(kg(sentG)*units.KilogramsPerPound*10) / 10; looksLikePounds(float64(netG) / float64(k.UsualNetG)) {
		f.Message = message.Join(f.Message, message.F("Was it weighed in pounds? %s lb is %s kg.", message.Figure(kg(sentG)), message.Figure(inPounds)))
		f.DidYouMean = inPounds
	}
	c.fields = append(c.fields, f)
}

// MostNetG is the most honey that a container of the kind can hold, in grams.
func (k *ContainerKind) MostNetG() int64 { return int64(float64(k.VolumeML) * densestKgPerL) }

func (c *checker) pulled(p *Pull) {
	seen := map[ID]bool{}
	for i, s := range p.Supers {
		at := fmt.Sprintf("/supers/%d/super_kind_id", i)
		if f := c.names(at, s.SuperKindID, KindSuperKind); f != nil {
			if seen[f.ID] {
				c.wrong(at, s.SuperKindID, "This kind of super is listed twice; add the numbers up.")
			}
			seen[f.ID] = true
		}
	}
}

func (c *checker) runSupers(r *RunSupers) {
	c.names("/run_id", r.RunID, KindRun)
	kind := c.names("/super_kind_id", r.SuperKindID, KindSuperKind)
	pull := c.names("/pull_id", r.PullID, KindPull)
	if kind == nil || pull == nil {
		return
	}
	p := body[Pull](c.book, pull.ID)
	for _, s := range p.Supers {
		if c.book.rootID(s.SuperKindID) == kind.ID {
			return
		}
	}
	c.wrong("/super_kind_id", r.SuperKindID, "That pull brought in no supers of the kind %s.", body[SuperKind](c.book, kind.ID).Name)
}

func (c *checker) load(l *Load) {
	run := c.names("/run_id", l.RunID, KindRun)
	if run == nil {
		return
	}
	per := body[Run](c.book, run.ID).FramesPerSide
	if l.FramesLeft > per {
		c.wrong("/frames_left", l.FramesLeft, "The extractor takes %s frames a side in this run.", per)
	}
	if l.FramesRight > per {
		c.wrong("/frames_right", l.FramesRight, "The extractor takes %s frames a side in this run.", per)
	}
	if l.FramesLeft+l.FramesRight == 0 {
		c.wrong("/frames_left", 0, "A load has at least one frame.")
	}
}

func (c *checker) movement(m *Movement) {
	from, to := c.place("/from", m.From), c.place("/to", m.To)
	if m.To.Kind == PlaceWaste && m.To.ID != (ID{}) {
		c.wrong("/to/id", m.To.ID, "Waste has no id. Leave the id out; or, if the honey went into a tank or container, name that.")
	}
	if from != nil && from == to {
		c.wrong("/to/id", m.To.ID, "Honey cannot move from a place to itself.")
	}
	if m.MassG == 0 && m.From.Kind != PlaceContainer {
		c.wrong("/mass_kg", nil, "How much moved? Only a container can be emptied whole without a weight.")
	}
	if m.From.Kind == PlaceRun && m.To.Kind != PlaceTank {
		c.wrong("/to/kind", string(m.To.Kind), "Honey of a run goes into a tank first.")
	}
}

func (c *checker) fill(x *Fill) {
	c.names("/lot_id", x.LotID, KindLot)
	c.names("/tank_id", x.TankID, KindTank)
	kind := c.names("/container_kind_id", x.ContainerKindID, KindContainerKind)
	switch {
	case x.GrossG <= x.TareG:
		c.wrong("/gross_kg", kg(x.GrossG), "The gross must be above the tare of %s. Was the net sent as gross?", message.Kg(kg(x.TareG)))
	case kind != nil:
		c.fits("/gross_kg", body[ContainerKind](c.book, kind.ID), x.NetG(), x.GrossG)
	}
	if holder := c.book.ContainerInUse(x.Container); holder != nil && !c.own(holder.ID) && !c.keepsContainer(x) {
		lot := body[Lot](c.book, holder.Body.(*Fill).LotID)
		c.clash("/container", x.Container, "Container %s is in use: %s of lot %s (entry %s).", x.Container, message.Kg(kg(holder.Body.(*Fill).NetG())), lot.Code, holder.Number)
	}
}

// keepsContainer reports whether a fill corrects one that stands and had the same
// container. The number may be another's since: that is no clash of this one.
func (c *checker) keepsContainer(x *Fill) bool {
	old := c.book.fact(c.entry.Replaces)
	if old == nil {
		return false
	}
	was, ok := old.Body.(*Fill)
	return ok && containerKey(was.Container) == containerKey(x.Container)
}

// Moisture that can be recorded, percent by mass: honey dried for the bakery below, honey
// of stingless bees (13 to 46 %, most of it up to 40: reviews of raw honeys) and unripe
// honey above. Beyond them nothing is honey (common practice).
const (
	driestPossible  = 5
	wettestPossible = 40
)

func (c *checker) reading(r *Reading) {
	c.place("/on", r.On)
	c.mayName("/instrument_id", r.InstrumentID, KindInstrument)
	if i := body[Instrument](c.book, r.InstrumentID); i != nil && r.Moisture != nil && i.Scale != "other" && !refractometers[i.Scale] {
		c.wrong("/instrument_id", r.InstrumentID, "%s is no refractometer, so it did not show a moisture. Which instrument was it, or did a laboratory measure it?", i.Name)
	}
	if m := r.Moisture; m != nil && (m.Pct < driestPossible || m.Pct > wettestPossible) {
		c.fields = append(c.fields, moistureFault(m, nil))
	}
	for i, m := range r.Measured {
		if m.Quantity == "hmf_mg_per_kg" && m.Method == "" {
			c.wrong("/measured/"+fmt.Sprint(i)+"/method", nil, "An HMF result needs its method (HPLC, White or Winkler), because their figures differ.")
		}
	}
}

// moistureFault says what may have been meant by an impossible moisture. cause
// is why it could not be converted, where it could not.
func moistureFault(m *MoistureReading, cause error) fault.Field {
	f := fault.Field{Pointer: "/moisture_pct", Sent: m.AsRead}
	low, high, what := float64(driestPossible), float64(wettestPossible), message.F("a moisture")
	usual := [2]float64{13, 25} // the published table
	switch m.Scale {
	case ScaleRefractiveIndex:
		f.Pointer, low, high, what = "/refractive_index", 1.4387, 1.5256, message.F("a refractive index") // of 40 and 5 % at 20 C
		usual = [2]float64{1.4740, 1.5044}
	case ScaleBrix:
		f.Pointer, low, high, what = "/brix_deg", 58.6, 92.8, message.F("degrees Brix")
		usual = [2]float64{73.5, 85}
	}
	var r *honey.RangeError
	ofSample := errors.As(cause, &r) && strings.Contains(r.Quantity, "temperature")
	if r != nil && !ofSample && r.Got == m.AsRead {
		parts := map[string]float64{ScaleRefractiveIndex: 1e4}[m.Scale] // as the instrument shows it
		if parts == 0 {
			parts = 10
		}
		low, high = math.Ceil(r.Min*parts)/parts, math.Floor(r.Max*parts)/parts // what can be converted
	}
	switch x := m.AsRead; {
	case m.Scale == ScaleMoisture && x >= 73 && x <= 86:
		f.Message = message.F("%s looks like degrees Brix, not moisture: record it as Brix, in brix_deg.", message.Figure(x))
		return f
	case m.Scale == ScaleMoisture && x >= 1.47 && x <= 1.51:
		f.Message = message.F("%s looks like a refractive index, not moisture: record it in refractive_index.", message.Figure(x))
		return f
	}
	for _, by := range []float64{10, 0.1, 100, 0.01} {
		if x := math.Round(m.AsRead*by*1e4) / 1e4; usual[0] <= x && x <= usual[1] {
			f.DidYouMean = x
			f.Message = message.F("No honey has %s of %s: did you mean %s?", what, message.Figure(m.AsRead), message.Figure(x))
			return f
		}
	}
	f.Message = message.F("No honey has %s of %s: %s to %s can be recorded.", what, message.Figure(m.AsRead), message.Figure(low), message.Figure(high))
	if r != nil && low <= m.AsRead && m.AsRead <= high {
		f.Message = message.F("%s.", message.Capital(Outside(r)))
		if ofSample {
			f.Pointer, f.Sent = "/sample_temperature_c", r.Got
		}
	}
	return f
}

// plannedAhead is how far ahead a set point may be written down.
const plannedAhead = 366 * 24 * time.Hour

func (c *checker) temperatures(t *TemperatureLog, now time.Time) {
	c.place("/on", t.On)
	for i := range t.Points {
		if at := t.Points[i].At; at.Before(oldest) || at.After(now.Add(plannedAhead)) {
			c.wrong(fmt.Sprintf("/points/%d/at", i), at.Format(time.RFC3339), "The time of a point must be between %s and a year from now.", strconv.Itoa(oldest.Year()))
			return
		}
		if i > 0 && !t.Points[i].At.After(t.Points[i-1].At) {
			c.wrong(fmt.Sprintf("/points/%d/at", i), t.Points[i].At.Format(time.RFC3339), "Each point must be later than the one before it (%s).", t.Points[i-1].At.Format(time.RFC3339))
			return
		}
	}
}

func (c *checker) dispatch(d *Dispatch, now time.Time) {
	c.names("/buyer_id", d.BuyerID, KindBuyer)
	c.market(d.Market)
	c.asPrepared(d)
	seen, adds, added := map[ID]bool{}, map[ID]bool{}, map[int]*fact{}
	for _, id := range c.book.Leaves(c.entry) {
		adds[id] = true
	}
	for i, id := range d.Containers {
		at := pointerTo(i)
		f := c.names(at, id, KindFill)
		if f == nil {
			continue
		}
		if seen[f.ID] {
			c.wrong(at, id, "This container is listed twice.")
		}
		seen[f.ID] = true
		h, _ := c.book.state.Holder(f.ID)
		if h.Gone != nil && !c.own(h.Gone.ID) {
			c.clash(at, id, "Container %s is gone already: entry %s, %s.", body[Fill](c.book, f.ID).Container, h.Gone.Number, message.Day(h.Gone.OccurredAt.In(c.book.loc)))
			continue
		}
		if adds[id] {
			added[i] = f
		}
	}
	if d.BeforeBook {
		c.beforeBook(d, added, now)
		return
	}
	c.leaves(d, added)
}

// pointerTo is the pointer to a container of a dispatch.
func pointerTo(i int) string { return fmt.Sprintf("/containers/%d", i) }

// market checks that a published rule set, or a family of them, has the name.
func (c *checker) market(name string) {
	if name == "" {
		return
	}
	library, err := standard.Published()
	if err != nil {
		return
	}
	if _, ok := library.Get(name); !ok && !library.HasFamily(name) {
		c.wrong("/market", name, "No published rule set has the id %s; GET /v1/standards lists them.", message.Quoted(name))
	}
}

func (c *checker) acceptance(a *Acceptance) {
	f := c.book.fact(a.EntryID)
	if f == nil {
		c.wrong("/entry_id", a.EntryID, "The book has no entry with this id.")
		return
	}
	for _, flag := range c.book.state.FlagsOn(f.root.ID) {
		if flag.Code == a.Flag {
			return
		}
	}
	for _, flag := range c.book.state.FindingsOn(f.root.ID) {
		if flag.Code == a.Flag {
			return
		}
	}
	c.wrong("/flag", string(a.Flag), "Entry %s has no such finding that is still open.", f.Number)
}

// shape checks that a tank's shape says enough to turn a dip into litres.
func (c *checker) shape(t *Tank) {
	if t.Shape == nil {
		return
	}
	need := func(name string, v float64) {
		if v <= 0 {
			c.wrong("/shape/"+name, v, "A %s needs it, in centimetres.", message.F("form|"+words(t.Shape.Form)))
		}
	}
	switch s := t.Shape; s.Form {
	case "upright_cylinder":
		need("diameter_cm", s.DiameterCM)
		need("height_cm", s.HeightCM)
	case "cone_bottom":
		need("diameter_cm", s.DiameterCM)
		need("height_cm", s.HeightCM)
		need("cone_depth_cm", s.ConeDepthCM)
		if s.ConeDepthCM > s.HeightCM && s.HeightCM > 0 {
			c.wrong("/shape/cone_depth_cm", s.ConeDepthCM, "The cone is part of the whole height of %s cm, so that its depth is at most that.", message.Figure(s.HeightCM))
		}
	case "lying_cylinder":
		need("diameter_cm", s.DiameterCM)
		need("length_cm", s.LengthCM)
	case "box":
		need("length_cm", s.LengthCM)
		need("width_cm", s.WidthCM)
		need("height_cm", s.HeightCM)
	case "dip_table":
		for i := 1; i < len(s.DipTable); i++ {
			if s.DipTable[i].DepthCM <= s.DipTable[i-1].DepthCM || s.DipTable[i].Litres < s.DipTable[i-1].Litres {
				c.wrong(fmt.Sprintf("/shape/dip_table/%d", i), s.DipTable[i], "The depths and volumes of a dip table rise from line to line.")
			}
		}
		if len(s.DipTable) < 2 {
			c.wrong("/shape/dip_table", len(s.DipTable), "A dip table needs at least two lines.")
		}
	}
}

// ContainerInUse is the fill that holds a container number: nil where the
// number is free, because none was filled or the honey was taken back out of it.
func (b *Book) ContainerInUse(number string) *Entry {
	for _, f := range b.owners[nameKey{KindFill, containerKey(number)}] {
		if !b.freedIts(f, number) {
			return f.last.Entry
		}
	}
	return nil
}

// freedIts reports whether a fill no longer holds a container number it had.
func (b *Book) freedIts(f *fact, number string) bool {
	if f.withdrawn() || containerKey(f.last.Body.(*Fill).Container) != containerKey(number) {
		return true
	}
	h, _ := b.state.Holder(f.ID)
	return h.Gone != nil && h.Gone.Kind != KindDispatch
}

func containerKey(number string) string { return claimKey(number) }

func words(s string) string { return strings.ReplaceAll(s, "_", " ") }
