package season_test

import (
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// writeHalfKnown writes a season of which one run says which pulls went into it, and one
// does not:
//
//	hives: Mill 20, Ridge 10
//	Mill 10 deeps and Ridge 20 deeps on 1 July
//	run 1: Mill's 10 and 5 of Ridge's: 300 kg; by the usual weight of deeps Mill 200 kg, Ridge 100 kg
//	run 2: nobody said which supers: 400 kg
func writeHalfKnown() (o *ledgertest.Outfit, ridge ledger.ID) {
	o = ledgertest.NewOutfit()
	o.Write(-100, &ledger.HiveCount{YardID: o.Mill, Name: "main flow", Hives: 20})
	o.Write(-100, &ledger.HiveCount{YardID: o.Ridge, Name: "main flow", Hives: 10})
	mill, ridge := o.Pull(0, o.Mill, 10, 0), o.Pull(0, o.Ridge, 20, 0)
	one := o.Run(24, "1")
	o.Supers(24, one, mill, 10)
	o.Supers(24, one, ridge, 5)
	o.Out(25, one, o.Settling, 300_000)
	o.Out(49, o.Run(48, "2"), o.Settling, 400_000)
	return o, ridge
}

func TestWhatNoEntrySaysOfAYardIsNotKnownRatherThanNothing(t *testing.T) {
	t.Parallel()
	o, _ := writeHalfKnown()
	r, err := season.Of(open(t, o), o.Season)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "the season's honey", r.HoneyG, 700_000)
	same(t, "honey of no known pull", r.NoPullG, 400_000)
	mill, ridge := r.Yards[0], r.Yards[1]
	same(t, "the first yard", mill.Name, "Mill")
	if mill.NotKnown {
		t.Error("all of Mill's supers went into run 1, and its honey is not known")
	}
	same(t, "Mill's honey", mill.HoneyG, 200_000)
	is(t, "Mill's share", mill.Share, 200.0/700)
	is(t, "Mill's honey per hive", mill.KgPerHive, 10)
	if !ridge.NotKnown || ridge.KnownG() != nil || ridge.Share != nil || ridge.KgPerHive != nil {
		t.Errorf("15 of Ridge's supers are in no known run, and its honey is said: %+v", ridge)
	}
	same(t, "what Ridge gave at least", *ridge.AtLeastG(), 100_000)
	is(t, "Ridge's honey per super of those known", ridge.KgPerSuper, 20)
	for _, y := range r.Yards {
		same(t, y.Name+"'s rank, since Ridge may have given most", y.Rank, 0)
		same(t, y.Name+"'s rank per hive", y.RankPerHive, 0)
	}
	if !r.Together.NotKnown {
		t.Error("what the yards gave in all is said to be known")
	}
	if r.Together.KgPerHive != nil {
		t.Errorf("honey per hive of all is said to be %v, and Ridge's is not known", *r.Together.KgPerHive)
	}
	for _, p := range r.Pulls {
		same(t, "whether the pull of "+p.Yard+" is known", !p.NotKnown, p.Yard == "Mill")
	}
}

func TestAYardIsKnownOnceAllItsSupersAreInRuns(t *testing.T) {
	t.Parallel()
	o, ridge := writeHalfKnown()
	two := o.Run(72, "3")
	o.Supers(72, two, ridge, 15)
	o.Out(73, two, o.Settling, 270_000)
	r, err := season.Of(open(t, o), o.Season)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "honey of no known pull", r.NoPullG, 400_000)
	for _, y := range r.Yards {
		if y.NotKnown {
			t.Errorf("all supers of %s went into known runs, and its honey is not known", y.Name)
		}
	}
	same(t, "the first yard", r.Yards[0].Name, "Ridge")
	same(t, "Ridge's honey", r.Yards[0].HoneyG, 370_000)
	same(t, "Ridge's rank", r.Yards[0].Rank, 1)
}

func TestAChangeFromWhatIsNotKnownIsNotSaid(t *testing.T) {
	t.Parallel()
	o, _ := writeHalfKnown()
	next := o.SetUp(&ledger.Season{Name: "2027", First: "2027-01-01", Last: "2027-12-31"})
	const later = 400 * 24.0
	for _, yard := range []ledger.ID{o.Mill, o.Ridge} {
		run, pull := o.Run(later+24, "a"), o.Pull(later, yard, 10, 0)
		o.Supers(later+24, run, pull, 10)
		o.Out(later+25, run, o.Settling, 250_000)
	}
	r, err := season.Of(open(t, o), next)
	if err != nil {
		t.Fatal(err)
	}
	for _, y := range r.Yards {
		known := y.Name == "Mill"
		same(t, "whether a change is said of "+y.Name, y.ChangeG != nil, known)
		same(t, "whether what "+y.Name+" gave then is not known", y.LastSeason.NotKnown, !known)
	}
}
