package ledgertest

import "pullbook/domain/ledger"

// Outfit is a small invented outfit to write a season about.
type Outfit struct {
	Scribe
	Season, Mill, Ridge    ledger.ID
	Deep, Shallow          ledger.ID
	Drum                   ledger.ID
	Sump, Settling         ledger.ID
	Refractometer, HotRoom ledger.ID
	Buyer                  ledger.ID
	DeepKind, ShallowKind  ledger.SuperKind
	DrumKind               ledger.ContainerKind
	SumpTank, SettlingTank ledger.Tank
	MillYard, RidgeYard    ledger.Yard
}

// NewOutfit sets up two yards, two kinds of super, a sump of 300 kg, a settling
// tank of 2,000 kg and drums.
func NewOutfit() *Outfit {
	o := &Outfit{
		DeepKind:    ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 10_000, UsualNetG: 25_000, FullestNetG: 36_000},
		ShallowKind: ledger.SuperKind{Name: "shallow", FramesPerSuper: 10, TareG: 6_000, UsualNetG: 12_500, FullestNetG: 18_000},
		DrumKind:    ledger.ContainerKind{Name: "drum", VolumeML: 210_000, TareG: 17_000, UsualNetG: 290_000},
		SumpTank:    ledger.Tank{Name: "sump", Use: ledger.Sump, CapacityG: 300_000},
		SettlingTank: ledger.Tank{
			Name: "large tank", Use: ledger.Settling, CapacityG: 2_000_000},
		MillYard:  ledger.Yard{Name: "Mill"},
		RidgeYard: ledger.Yard{Name: "Ridge"},
	}
	o.Season = o.SetUp(&ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	o.Mill = o.SetUp(&o.MillYard)
	o.Ridge = o.SetUp(&o.RidgeYard)
	o.Deep = o.SetUp(&o.DeepKind)
	o.Shallow = o.SetUp(&o.ShallowKind)
	o.Drum = o.SetUp(&o.DrumKind)
	o.Sump = o.SetUp(&o.SumpTank)
	o.Settling = o.SetUp(&o.SettlingTank)
	o.Refractometer = o.SetUp(&ledger.Instrument{Name: "refractometer", Scale: "moisture", Compensates: true})
	o.HotRoom = o.SetUp(&ledger.Room{Name: "hot room", Use: ledger.HotRoom})
	o.Buyer = o.SetUp(&ledger.Buyer{Name: "packer"})
	return o
}

// Pull writes deep supers pulled off a yard; grossG is 0 where not weighed.
func (o *Outfit) Pull(hours float64, yard ledger.ID, deeps int, grossG int64) ledger.ID {
	return o.Write(hours, &ledger.Pull{YardID: yard, Supers: []ledger.SuperCount{{SuperKindID: o.Deep, Supers: deeps}}, GrossG: grossG})
}

// Run writes a run of a sixty-frame extractor.
func (o *Outfit) Run(hours float64, name string) ledger.ID {
	return o.Write(hours, &ledger.Run{Name: name, FramesPerSide: 30})
}

// Supers writes deep supers of a pull that went into a run.
func (o *Outfit) Supers(hours float64, run, pull ledger.ID, deeps int) ledger.ID {
	return o.Write(hours, o.SupersBody(run, pull, deeps))
}

// SupersBody is what Supers writes.
func (o *Outfit) SupersBody(run, pull ledger.ID, deeps int) *ledger.RunSupers {
	return &ledger.RunSupers{RunID: run, PullID: pull, SuperCount: ledger.SuperCount{SuperKindID: o.Deep, Supers: deeps}}
}

// Out writes honey out of a run into a tank.
func (o *Outfit) Out(hours float64, run, tank ledger.ID, grams int64) ledger.ID {
	return o.Write(hours, OutBody(run, tank, grams))
}

// OutBody is what Out writes.
func OutBody(run, tank ledger.ID, grams int64) *ledger.Movement {
	return Move(ledger.PlaceRun, run, ledger.PlaceTank, tank, grams)
}

// Pump writes honey from tank to tank.
func (o *Outfit) Pump(hours float64, from, to ledger.ID, grams int64) ledger.ID {
	return o.Write(hours, Move(ledger.PlaceTank, from, ledger.PlaceTank, to, grams))
}

// Move is a movement of honey.
func Move(from ledger.PlaceKind, fromID ledger.ID, to ledger.PlaceKind, toID ledger.ID, grams int64) *ledger.Movement {
	return &ledger.Movement{From: ledger.Place{Kind: from, ID: fromID}, To: ledger.Place{Kind: to, ID: toID}, MassG: grams}
}

// Lot writes a lot.
func (o *Outfit) Lot(hours float64, code string) ledger.ID {
	return o.Write(hours, &ledger.Lot{Code: code})
}

// Fill writes a drum filled from a tank.
func (o *Outfit) Fill(hours float64, lot, tank ledger.ID, number string, netG int64) ledger.ID {
	return o.Write(hours, o.FillBody(lot, tank, number, netG))
}

// FillBody is what Fill writes.
func (o *Outfit) FillBody(lot, tank ledger.ID, number string, netG int64) *ledger.Fill {
	return &ledger.Fill{LotID: lot, TankID: tank, ContainerKindID: o.Drum, Container: number, TareG: 17_000, GrossG: 17_000 + netG}
}

// Release writes that a lot may leave, without a check.
func (o *Outfit) Release(hours float64, lot ledger.ID) ledger.ID {
	return o.Write(hours, ReleaseBody(lot))
}

// ReleaseBody is what Release writes.
func ReleaseBody(lot ledger.ID) *ledger.LotStatus {
	return &ledger.LotStatus{LotID: lot, Status: ledger.StatusReleased, Override: true, Note: "the buyer tests it himself"}
}

// Dispatch writes drums that left for the buyer.
func (o *Outfit) Dispatch(hours float64, drums ...ledger.ID) ledger.ID {
	return o.Write(hours, &ledger.Dispatch{BuyerID: o.Buyer, Containers: drums})
}

// Moisture is a reading of moisture on a place.
func Moisture(on ledger.PlaceKind, id ledger.ID, pct float64) *ledger.Reading {
	return &ledger.Reading{On: ledger.Place{Kind: on, ID: id}, Moisture: &ledger.MoistureReading{
		Scale: "moisture", AsRead: pct, Compensated: true, Pct: pct, StdUncertaintyPct: 0.1, Formula: "as read"}}
}
