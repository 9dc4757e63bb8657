package ledgertest

import (
	"fmt"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
)

// Random writes a book in which anything may have happened at any time, and
// been written down late, corrected, withdrawn, taken up again or accepted.
func Random(t *rapid.T, most int) *Outfit { return RandomOver(t, most, 1) }

// RandomOver is Random with what happens so many times as far apart.
func RandomOver(t *rapid.T, most int, times float64) *Outfit {
	r := &random{Outfit: NewOutfit(), t: t, times: times}
	for range r.upTo("entries", most) {
		r.entry()
	}
	return r.Outfit
}

type random struct {
	*Outfit
	t     *rapid.T
	times float64
}

func (r *random) upTo(label string, n int) int { return rapid.IntRange(0, n).Draw(r.t, label) }

// pick draws the id of an entry of a kind: of its first entry or of one of its
// corrections, withdrawn or not.
func (r *random) pick(kinds ...ledger.Kind) (ledger.ID, bool) {
	var all []ledger.ID
	for _, e := range r.Entries {
		for _, k := range kinds {
			if e.Kind == k {
				all = append(all, e.ID)
			}
		}
	}
	if len(all) == 0 {
		return ledger.ID{}, false
	}
	return rapid.SampledFrom(all).Draw(r.t, "of"), true
}

// hours are drawn from few, so that things happen at the same instant too.
func (r *random) hours() float64 { return r.times * float64(r.upTo("hours", 60)) }

func (r *random) write(body ledger.Body) {
	happened := r.hours()
	written := happened
	if r.upTo("late", 3) == 0 {
		written += float64(r.upTo("hours late", 200))
	}
	r.WriteLate(happened, written, body)
}

func (r *random) entry() {
	switch r.upTo("what", 12) {
	case 0:
		r.correct()
	case 1:
		if id, ok := r.inForce(); ok {
			r.Withdraw(id)
		}
	case 2:
		r.accept()
	default:
		kind := rapid.SampledFrom([]ledger.Kind{
			ledger.KindPull, ledger.KindRun, ledger.KindRunSupers, ledger.KindRunSupers, ledger.KindLoad, ledger.KindRunEnd,
			ledger.KindMovement, ledger.KindMovement, ledger.KindMovement, ledger.KindMovement, ledger.KindStocktake,
			ledger.KindWash, ledger.KindLot, ledger.KindFill, ledger.KindFill, ledger.KindReading, ledger.KindDispatch,
			ledger.KindHiveCount, ledger.KindTank, ledger.KindBuyer, ledger.KindLotStatus,
			ledger.KindReading, ledger.KindReading, ledger.KindCalibration, ledger.KindTemperatureLog, ledger.KindTemperatureLog,
			ledger.KindInstrument, ledger.KindRoom,
		}).Draw(r.t, "kind")
		if body := r.body(kind); body != nil {
			r.write(body)
		}
	}
}

// standing draws an entry that none has replaced.
func (r *random) inForce() (ledger.ID, bool) {
	replaced := map[ledger.ID]bool{}
	for _, e := range r.Entries {
		replaced[e.Replaces] = true
	}
	var all []ledger.ID
	for _, e := range r.Entries {
		if !replaced[e.ID] {
			all = append(all, e.ID)
		}
	}
	if len(all) == 0 {
		return ledger.ID{}, false
	}
	return rapid.SampledFrom(all).Draw(r.t, "standing"), true
}

// correct replaces an entry, or takes up a withdrawn one again.
func (r *random) correct() {
	id, ok := r.inForce()
	if !ok {
		return
	}
	if body := r.body(r.kindOfChain(id)); body != nil {
		r.Put(ledger.Entry{OccurredAt: At(r.hours()), RecordedAt: At(r.hours()), Replaces: id, Reason: "typed wrong", Body: body})
	}
}

func (r *random) kindOfChain(id ledger.ID) ledger.Kind {
	for i := len(r.Entries) - 1; i >= 0; i-- {
		if e := r.Entries[i]; e.ID == id {
			if e.Replaces == (ledger.ID{}) {
				return e.Kind
			}
			id = e.Replaces
		}
	}
	return ""
}

func (r *random) accept() {
	if id, ok := r.pick(ledger.Kinds()...); ok {
		r.Accept(r.hours(), id, rapid.SampledFrom([]ledger.Code{
			ledger.Overdrawn, ledger.Overfilled, ledger.SupersOverrun, ledger.RunTooRich, ledger.RunWithoutSupers,
			ledger.RecordedLate, ledger.RestsOnWithdrawn, ledger.ContainerEmpty, ledger.LoadTwice, ledger.WashedFull,
			ledger.MoreSpun, ledger.NeverExtracted, ledger.WarmWithoutLog,
		}).Draw(r.t, "flag"))
	}
}

// body draws what an entry of a kind says; nil where there is nothing yet for
// it to be about.
func (r *random) body(kind ledger.Kind) ledger.Body {
	switch kind {
	case ledger.KindPull:
		yard, _ := r.pick(ledger.KindYard)
		room, _ := r.pick(ledger.KindRoom)
		return &ledger.Pull{YardID: yard, RoomID: room, Supers: r.supers(), HivesWorked: r.upTo("hives", 40), GrossG: r.gross()}
	case ledger.KindRun:
		return &ledger.Run{Name: fmt.Sprint("run ", len(r.Entries)), FramesPerSide: 30}
	case ledger.KindLot:
		store, _ := r.pick(ledger.KindRoom)
		return &ledger.Lot{Code: fmt.Sprint("26-", len(r.Entries)), StoreID: store}
	case ledger.KindHiveCount:
		yard, _ := r.pick(ledger.KindYard)
		return &ledger.HiveCount{YardID: yard, Name: "main flow", Hives: r.upTo("hives", 40)}
	case ledger.KindRunSupers, ledger.KindLoad, ledger.KindRunEnd:
		return r.aboutRun(kind)
	case ledger.KindMovement:
		return r.movement()
	case ledger.KindStocktake, ledger.KindWash, ledger.KindFill:
		return r.aboutTank(kind)
	case ledger.KindLotStatus:
		if lot, ok := r.pick(ledger.KindLot); ok {
			return rapid.SampledFrom([]*ledger.LotStatus{
				ReleaseBody(lot), ReleaseBody(lot), {LotID: lot, Status: ledger.StatusHeld, Why: ledger.HeldForRecall}, {LotID: lot, Status: ledger.StatusOpen},
			}).Draw(r.t, "status")
		}
	case ledger.KindReading:
		return r.reading()
	case ledger.KindCalibration:
		with, _ := r.pick(ledger.KindInstrument)
		return &ledger.Calibration{InstrumentID: with, Reference: "test liquid", Expected: 17,
			AsFound: float64(r.upTo("as found", 4)) + 15, AsLeft: 17, Tolerance: 1}
	case ledger.KindTemperatureLog:
		return r.log()
	case ledger.KindDispatch:
		if first, ok := r.pick(ledger.KindFill); ok {
			second, _ := r.pick(ledger.KindFill)
			buyer, _ := r.pick(ledger.KindBuyer)
			return &ledger.Dispatch{BuyerID: buyer, Containers: []ledger.ID{first, second}}
		}
	}
	return r.setUpBody(kind)
}

func (r *random) setUpBody(kind ledger.Kind) ledger.Body {
	name := fmt.Sprint(kind, " ", len(r.Entries))
	switch kind {
	case ledger.KindYard:
		return &ledger.Yard{Name: name}
	case ledger.KindSuperKind:
		return &ledger.SuperKind{Name: name, FramesPerSuper: 10, TareG: 9_000,
			UsualNetG: int64(1 + r.upTo("usual", 30_000)), FullestNetG: 36_000}
	case ledger.KindTank:
		return &ledger.Tank{Name: name, CapacityG: int64(1 + r.upTo("capacity", 500_000))}
	case ledger.KindInstrument:
		return &ledger.Instrument{Name: name, Scale: "moisture", Compensates: true, CheckEveryDays: r.upTo("days", 2)}
	case ledger.KindRoom:
		usual := float64(r.upTo("usual", 40))
		room := &ledger.Room{Name: name, Use: rapid.SampledFrom([]ledger.RoomUse{ledger.HotRoom, ledger.Store}).Draw(r.t, "use"), UsualTemperatureC: &usual}
		if r.upTo("says its year", 1) > 0 {
			cold := float64(r.upTo("coldest month", 20))
			room.ColdestMonthMeanC, room.WarmestMonthMeanC, room.WarmestMonth = &cold, new(cold+float64(r.upTo("swing", 25))), r.upTo("warmest month", 12)
		}
		return room
	case ledger.KindContainerKind:
		return &ledger.ContainerKind{Name: name, VolumeML: 210_000, TareG: 17_000, UsualNetG: int64(1 + r.upTo("usual", 300_000))}
	case ledger.KindBuyer:
		return &ledger.Buyer{Name: name}
	}
	return nil
}

// reading is of moisture and HMF, by an instrument or by a laboratory.
func (r *random) reading() ledger.Body {
	id, ok := r.pick(ledger.KindTank, ledger.KindFill, ledger.KindFill, ledger.KindLot, ledger.KindRun, ledger.KindPull)
	if !ok {
		return nil
	}
	reading := Moisture(r.placeOf(id), id, float64(r.upTo("moisture", 30)))
	if r.upTo("by instrument", 1) > 0 {
		reading.InstrumentID, _ = r.pick(ledger.KindInstrument)
	}
	if r.upTo("looked", 2) == 0 {
		reading.Observed = []ledger.Observed{{What: "fermentation", Word: rapid.SampledFrom([]string{"present", "absent"}).Draw(r.t, "seen")}}
	}
	if r.upTo("measured", 2) == 0 {
		reading.Measured = []ledger.Measured{
			{Quantity: "hmf_mg_per_kg", Value: float64(r.upTo("hmf", 40)), LessThan: r.upTo("less", 1) > 0},
			{Quantity: "diastase_gothe", Value: float64(r.upTo("diastase", 30)), StdUncertainty: new(float64(r.upTo("sd", 2)))},
		}
	}
	return reading
}

// log is of a tank or room: a few points, or a temperature held.
func (r *random) log() ledger.Body {
	on, _ := r.pick(ledger.KindTank, ledger.KindRoom, ledger.KindRoom)
	log := &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: on}, Held: r.upTo("held", 3) == 0}
	if r.kindOfChain(on) == ledger.KindTank {
		log.On.Kind = ledger.PlaceTank
	}
	at := r.hours()
	for range 2 + r.upTo("points", 2) {
		log.Points = append(log.Points, ledger.TemperaturePoint{At: At(at), TemperatureC: float64(r.upTo("celsius", 60))})
		at += float64(1 + r.upTo("hours on", 40))
	}
	return log
}

func (r *random) supers() []ledger.SuperCount {
	var out []ledger.SuperCount
	for range 1 + r.upTo("kinds of super", 1) {
		kind, _ := r.pick(ledger.KindSuperKind)
		out = append(out, ledger.SuperCount{SuperKindID: kind, Supers: 1 + r.upTo("supers", 30)})
	}
	return out
}

func (r *random) gross() int64 {
	if r.upTo("weighed", 1) == 0 {
		return 0
	}
	return int64(r.upTo("gross", 1_500_000))
}

func (r *random) aboutRun(kind ledger.Kind) ledger.Body {
	run, ok := r.pick(ledger.KindRun)
	if !ok {
		return nil
	}
	switch kind {
	case ledger.KindLoad:
		return &ledger.Load{RunID: run, Load: r.upTo("load", 5), FramesLeft: 30, FramesRight: 29 + r.upTo("right", 1)}
	case ledger.KindRunEnd:
		return &ledger.RunEnd{RunID: run, WaxG: int64(r.upTo("wax", 20_000))}
	}
	pull, ok := r.pick(ledger.KindPull)
	if !ok {
		return nil
	}
	return &ledger.RunSupers{RunID: run, PullID: pull, SuperCount: r.supers()[0]}
}

func (r *random) aboutTank(kind ledger.Kind) ledger.Body {
	tank, _ := r.pick(ledger.KindTank)
	switch kind {
	case ledger.KindStocktake:
		return &ledger.Stocktake{TankID: tank, Method: "dip", MassG: int64(r.upTo("mass", 400_000))}
	case ledger.KindWash:
		return &ledger.Wash{TankID: tank}
	}
	lot, ok := r.pick(ledger.KindLot)
	if !ok {
		return nil
	}
	return r.FillBody(lot, tank, fmt.Sprint(r.upTo("number", 20)), int64(1+r.upTo("net", 300_000)))
}

func (r *random) movement() ledger.Body {
	from, ok := r.pick(ledger.KindRun, ledger.KindRun, ledger.KindTank, ledger.KindFill)
	if !ok {
		return nil
	}
	m := Move(r.placeOf(from), from, ledger.PlaceWaste, ledger.ID{}, int64(1+r.upTo("mass", 300_000)))
	if m.From.Kind == ledger.PlaceContainer && r.upTo("whole", 2) > 0 {
		m.MassG = 0
	}
	if r.upTo("waste", 5) > 0 {
		if to, ok := r.pick(ledger.KindTank, ledger.KindFill); ok {
			m.To = ledger.Place{Kind: r.placeOf(to), ID: to}
		}
	}
	return m
}

func (r *random) placeOf(id ledger.ID) ledger.PlaceKind {
	switch r.kindOfChain(id) {
	case ledger.KindRun:
		return ledger.PlaceRun
	case ledger.KindTank:
		return ledger.PlaceTank
	case ledger.KindFill:
		return ledger.PlaceContainer
	case ledger.KindLot:
		return ledger.PlaceLot
	}
	return ledger.PlacePull
}
