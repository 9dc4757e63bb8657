package ledger_test

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// toldOf is where the book finds an entry wrong, in the order of the fields, and all fields.
func toldOf(t *testing.T, o *ledgertest.Outfit, at time.Time, replaces ledger.ID, body ledger.Body) (string, []fault.Field) {
	t.Helper()
	e := &ledger.Entry{ID: o.Next(), Kind: body.Kind(), OccurredAt: at, Body: body, Replaces: replaces}
	if replaces != (ledger.ID{}) {
		e.Reason = "typed wrong"
	}
	var f *fault.Error
	if !errors.As(mustOpen(t, o.Entries).Check(e, ledgertest.At(1000)), &f) {
		return "", nil
	}
	var out []string
	for _, x := range f.Fields {
		out = append(out, x.Pointer)
	}
	slices.Sort(out)
	return strings.Join(out, " "), f.Fields
}

// What cannot be is told at each field that is wrong, and at no other.
func TestWhatCannotBeIsToldAtItsFields(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull, run, _ := harvested(o)
	lot := o.Lot(19, "26-01")
	drum := o.Fill(20, lot, o.Settling, "D-1", 200_000)
	gone, left := o.Fill(20, lot, o.Settling, "D-8", 20_000), o.Fill(20, lot, o.Settling, "D-9", 20_000)
	o.Release(21, lot)
	o.Dispatch(22, gone, left)
	none := ledgertest.ID(9000)
	place := func(kind ledger.PlaceKind, id ledger.ID) ledger.Place { return ledger.Place{Kind: kind, ID: id} }
	move := func(from, to ledger.Place, grams int64) *ledger.Movement {
		return &ledger.Movement{From: from, To: to, MassG: grams}
	}
	fill := func(change func(x *ledger.Fill)) *ledger.Fill {
		x := o.FillBody(lot, o.Settling, "D-2", 200_000)
		change(x)
		return x
	}
	shaped := func(s ledger.TankShape) *ledger.Tank {
		return &ledger.Tank{Name: "shaped", Use: ledger.Settling, CapacityG: 500_000, Shape: &s}
	}
	dips := func(pairs ...float64) ledger.TankShape {
		s := ledger.TankShape{Form: "dip_table"}
		for i := 0; i < len(pairs); i += 2 {
			s.DipTable = append(s.DipTable, ledger.DipPoint{DepthCM: pairs[i], Litres: pairs[i+1]})
		}
		return s
	}
	logged := func(at ...time.Time) *ledger.TemperatureLog {
		x := &ledger.TemperatureLog{On: place(ledger.PlaceRoom, o.HotRoom)}
		for _, a := range at {
			x.Points = append(x.Points, ledger.TemperaturePoint{At: a, TemperatureC: 20})
		}
		return x
	}
	kinds := func(ids ...ledger.ID) *ledger.Pull {
		x := &ledger.Pull{YardID: o.Mill}
		for _, id := range ids {
			x.Supers = append(x.Supers, ledger.SuperCount{SuperKindID: id, Supers: 5})
		}
		return x
	}
	supers := func(run, pull, kind ledger.ID) *ledger.RunSupers {
		return &ledger.RunSupers{RunID: run, PullID: pull, SuperCount: ledger.SuperCount{SuperKindID: kind, Supers: 1}}
	}
	wet := func(pct float64) *ledger.Reading { return ledgertest.Moisture(ledger.PlaceTank, o.Settling, pct) }
	tank, waste := place(ledger.PlaceTank, o.Settling), ledger.Place{Kind: ledger.PlaceWaste}
	for what, c := range map[string]struct {
		body ledger.Body
		want string
	}{
		"a fullest box below the usual one":     {&ledger.SuperKind{Name: "half", UsualNetG: 20_000, FullestNetG: 19_999}, "/fullest_net_kg"},
		"a fullest box like the usual one":      {&ledger.SuperKind{Name: "half", UsualNetG: 20_000, FullestNetG: 20_000}, ""},
		"a season that ends before it begins":   {&ledger.Season{Name: "2027", First: "2027-05-02", Last: "2027-05-01"}, "/last"},
		"a season of a day":                     {&ledger.Season{Name: "2027", First: "2027-05-02", Last: "2027-05-02"}, ""},
		"a season from the last day of one":     {&ledger.Season{Name: "2027", First: "2026-12-31", Last: "2027-12-31"}, "/first"},
		"a season to the first day of one":      {&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2026-01-01"}, "/first"},
		"a season before one":                   {&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"}, ""},
		"a yard without a name":                 {&ledger.Yard{}, "/name"},
		"a lot without a code":                  {&ledger.Lot{}, "/code"},
		"waste with an id":                      {move(tank, place(ledger.PlaceWaste, o.Sump), 100), "/to/id"},
		"to waste":                              {move(tank, waste, 100), ""},
		"from a tank to itself":                 {move(tank, tank, 100), "/to/id"},
		"from no tank to waste":                 {move(place(ledger.PlaceTank, none), waste, 100), "/from/id"},
		"from a tank without a weight":          {move(tank, waste, 0), "/mass_kg"},
		"a drum emptied whole":                  {move(place(ledger.PlaceContainer, drum), tank, 0), ""},
		"out of a run to waste":                 {move(place(ledger.PlaceRun, run), waste, 100), "/to/kind"},
		"a drum as full as it can be":           {fill(func(x *ledger.Fill) { x.GrossG = 17_000 + 304_500 }), ""},
		"a drum fuller than it can be":          {fill(func(x *ledger.Fill) { x.GrossG = 17_000 + 304_501 }), "/gross_kg"},
		"a drum with nothing in it":             {fill(func(x *ledger.Fill) { x.GrossG = 17_000 }), "/gross_kg"},
		"a drum of no kind":                     {fill(func(x *ledger.Fill) { x.ContainerKindID = none }), "/container_kind_id"},
		"a drum in use":                         {fill(func(x *ledger.Fill) { x.Container = "d-1" }), "/container"},
		"supers of no kind":                     {kinds(none), "/supers/0/super_kind_id"},
		"supers of a kind twice":                {kinds(o.Deep, o.Shallow, o.Deep), "/supers/2/super_kind_id"},
		"supers of two kinds":                   {kinds(o.Deep, o.Shallow), ""},
		"into a run, of no kind":                {supers(run, pull, none), "/super_kind_id"},
		"into a run, of no pull":                {supers(run, none, o.Deep), "/pull_id"},
		"into a run, of neither":                {supers(run, none, none), "/pull_id /super_kind_id"},
		"into a run, of a kind not pulled":      {supers(run, pull, o.Shallow), "/super_kind_id"},
		"into a run, of a kind pulled":          {supers(run, pull, o.Deep), ""},
		"a load into no run":                    {&ledger.Load{RunID: none, Load: 1, FramesLeft: 99}, "/run_id"},
		"a load as full as it can be":           {&ledger.Load{RunID: run, Load: 1, FramesLeft: 30, FramesRight: 30}, ""},
		"a load fuller than it can be":          {&ledger.Load{RunID: run, Load: 1, FramesLeft: 31, FramesRight: 31}, "/frames_left /frames_right"},
		"a load with nothing in it":             {&ledger.Load{RunID: run, Load: 1}, "/frames_left"},
		"honey of 4.9 %":                        {wet(4.9), "/moisture_pct"},
		"honey of 40.1 %":                       {wet(40.1), "/moisture_pct"},
		"a log of before 1900":                  {logged(time.Date(1899, 12, 31, 0, 0, 0, 0, time.UTC), ledgertest.At(1)), "/points/0/at"},
		"a log of two years ahead":              {logged(ledgertest.At(1), ledgertest.At(2*366*24)), "/points/1/at"},
		"a set point of three months ahead":     {logged(ledgertest.At(1), ledgertest.At(90*24)), ""},
		"a log of one instant twice":            {logged(ledgertest.At(1), ledgertest.At(2), ledgertest.At(2)), "/points/2/at"},
		"an upright tank without its height":    {shaped(ledger.TankShape{Form: "upright_cylinder", DiameterCM: 90}), "/shape/height_cm"},
		"a box without its width":               {shaped(ledger.TankShape{Form: "box", LengthCM: 90, HeightCM: 1}), "/shape/width_cm"},
		"a lying tank":                          {shaped(ledger.TankShape{Form: "lying_cylinder", DiameterCM: 90, LengthCM: 200}), ""},
		"a cone as deep as the tank":            {shaped(ledger.TankShape{Form: "cone_bottom", DiameterCM: 90, HeightCM: 100, ConeDepthCM: 100}), ""},
		"a cone deeper than the tank":           {shaped(ledger.TankShape{Form: "cone_bottom", DiameterCM: 90, HeightCM: 100, ConeDepthCM: 101}), "/shape/cone_depth_cm"},
		"a cone in a tank of no height":         {shaped(ledger.TankShape{Form: "cone_bottom", DiameterCM: 90, ConeDepthCM: 10}), "/shape/height_cm"},
		"a dip table":                           {shaped(dips(0, 0, 10, 50, 20, 50)), ""},
		"a dip table of a line":                 {shaped(dips(0, 0)), "/shape/dip_table"},
		"a dip table of two":                    {shaped(dips(0, 0, 10, 50)), ""},
		"a dip table with a depth twice":        {shaped(dips(0, 0, 10, 50, 10, 60)), "/shape/dip_table/2"},
		"a dip table that falls":                {shaped(dips(0, 10, 10, 50, 20, 40)), "/shape/dip_table/2"},
		"a buyer in a market that there is not": {&ledger.Buyer{Name: "Abroad", Market: "no-such-market"}, "/market"},
		"a buyer in a market":                   {&ledger.Buyer{Name: "Abroad", Market: "codex-honey"}, ""},
		"a truck with two drums that are gone":  {&ledger.Dispatch{BuyerID: o.Buyer, Containers: []ledger.ID{gone, left}, Override: true, Note: "as agreed"}, "/containers/0 /containers/1"},
		"a truck with no such drum, and twice":  {&ledger.Dispatch{BuyerID: o.Buyer, Containers: []ledger.ID{none, drum, drum}, Override: true, Note: "as agreed"}, "/containers/0 /containers/2"},
	} {
		at := ledgertest.At(100)
		if got, f := toldOf(t, o, at, ledger.ID{}, c.body); got != c.want {
			t.Errorf("%s: told at %q, want %q: %v", what, got, c.want, f)
		}
	}
}

// A drum's number is free once its honey was taken back out or it has another number, and not
// once it was sent; a correction keeps the number that it had.
func TestADrumsNumberIsFreeOnceItsHoneyWasTakenBack(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	harvested(o)
	lot := o.Lot(19, "26-01")
	first := o.Fill(20, lot, o.Settling, "D-1", 100_000)
	sent := o.Fill(21, lot, o.Settling, "D-2", 100_000)
	renumbered := o.Fill(22, lot, o.Settling, "D-3", 50_000)
	o.Dispatch(30, sent)
	o.Write(31, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: first}, To: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}})
	o.Correct(renumbered, 22, o.FillBody(lot, o.Settling, "D-4", 50_000))
	for number, want := range map[string]string{"D-1": "", "D-2": "/container", "D-3": "", "D-4": "/container"} {
		if got, _ := toldOf(t, o, ledgertest.At(40), ledger.ID{}, o.FillBody(lot, o.Settling, number, 50_000)); got != want {
			t.Errorf("%s: told at %q, want %q", number, got, want)
		}
	}
	o.Fill(41, lot, o.Settling, "D-1", 60_000)
	if got, f := toldOf(t, o, ledgertest.At(20), first, o.FillBody(lot, o.Settling, "d-1", 110_000)); got != "" {
		t.Errorf("the first D-1 put right: %v", f)
	}
	if got, _ := toldOf(t, o, ledgertest.At(20), first, o.FillBody(lot, o.Settling, "D-2", 110_000)); got != "/container" {
		t.Errorf("the first D-1 made D-2, which is sent: told at %q", got)
	}
}

// 656 lb are 297.6 kg.
func TestADrumWeighedInPoundsIsAskedBack(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	harvested(o)
	x := o.FillBody(o.Lot(19, "26-01"), o.Settling, "D-1", 639_000)
	_, f := toldOf(t, o, ledgertest.At(20), ledger.ID{}, x)
	if len(f) != 1 || f[0].DidYouMean != 297.6 || !strings.Contains(f[0].Message.String(), "A drum of 210 L holds at most 304.5 kg of honey; this makes 639 kg. Was it weighed in pounds? 656 lb is 297.6 kg.") {
		t.Errorf("told is %v", f)
	}
}

// What settles or takes back may be of any day; what happened is of a season, and without one
// there is none to name.
func TestWhatHappenedIsOfASeason(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull := o.Pull(0, o.Mill, 20, 0)
	next := time.Date(2027, 2, 1, 0, 0, 0, 0, time.UTC)
	late := func(body ledger.Body, replaces ledger.ID) string {
		e := &ledger.Entry{ID: o.Next(), Kind: body.Kind(), OccurredAt: next, Body: body, Replaces: replaces, Reason: "looked into"}
		err := mustOpen(t, o.Entries).Check(e, next)
		if err == nil {
			return ""
		}
		return err.Error()
	}
	if said := late(&ledger.Withdrawal{}, pull); said != "" {
		t.Errorf("a withdrawal after the season: %s", said)
	}
	if said := late(&ledger.Acceptance{EntryID: pull, Flag: ledger.Overdrawn}, ledger.ID{}); strings.Contains(said, "outside every season") {
		t.Errorf("an acceptance after the season: %s", said)
	}
	if said := late(&ledger.Yard{Name: "Fen"}, ledger.ID{}); said != "" {
		t.Errorf("a yard after the season: %s", said)
	}
	if said := late(&ledger.HiveCount{YardID: o.Mill}, ledger.ID{}); !strings.Contains(said, "This date is outside every season: 2026 (2026-01-01 to 2026-12-31)") {
		t.Errorf("hives counted after the season: %s", said)
	}
	o.Withdraw(o.Season)
	if said := late(&ledger.HiveCount{YardID: o.Mill}, ledger.ID{}); !strings.Contains(said, "The outfit has no season yet") {
		t.Errorf("hives counted without a season: %s", said)
	}
}
