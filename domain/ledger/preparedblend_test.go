package ledger_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// blendOutfit has two drums, and a blend prepared of both and of 50 kg of the sump, to be made in the settling tank.
func blendOutfit() (o *ledgertest.Outfit, drums [2]ledger.ID, p *ledger.PreparedBlend) {
	o = ledgertest.NewOutfit()
	o.Out(10, o.Run(9, "first"), o.Sump, 900_000)
	lot := o.Lot(11, "L26-001")
	for i, number := range []string{"D-1", "D-2"} {
		drums[i] = o.Fill(12, lot, o.Sump, number, 300_000)
	}
	p = &ledger.PreparedBlend{Title: "for the bakery", TankID: o.Settling, Takes: []ledger.BlendTake{ofDrum(drums[0]), ofDrum(drums[1]), ofTank(o.Sump, 50_000)}}
	return o, drums, p
}

func ofDrum(id ledger.ID) ledger.BlendTake {
	return ledger.BlendTake{From: ledger.Place{Kind: ledger.PlaceContainer, ID: id}}
}

func ofTank(id ledger.ID, grams int64) ledger.BlendTake {
	return ledger.BlendTake{From: ledger.Place{Kind: ledger.PlaceTank, ID: id}, MassG: grams}
}

func pourOf(take ledger.BlendTake, to ledger.ID, grams int64) *ledger.Movement {
	return ledgertest.Move(take.From.Kind, take.From.ID, ledger.PlaceTank, to, grams)
}

func TestABlendIsPouredTakeByTake(t *testing.T) {
	t.Parallel()
	o, _, p := blendOutfit()
	blend := o.Write(20, p)
	taken := func() (taken []ledger.BlendTaken, left, waiting int) {
		t.Helper()
		b := open(t, o)
		taken = b.Taken(b.InForce(blend))
		for _, x := range taken {
			if !x.Done() {
				left++
			}
		}
		return taken, left, len(b.PreparedBlends())
	}
	if _, left, waiting := taken(); left != 3 || waiting != 1 {
		t.Fatalf("%d of 3 are left, %d blends wait", left, waiting)
	}
	if h, _ := open(t, o).State().Holder(o.Settling); h.Grams != 0 {
		t.Error("preparing a blend moved honey")
	}
	o.Write(19, pourOf(p.Takes[2], o.Settling, 50_000)) // before it was prepared
	if _, left, _ := taken(); left != 3 {
		t.Error("what was poured before counts")
	}
	o.Write(21, pourOf(p.Takes[0], o.Settling, 0))
	o.Write(22, pourOf(p.Takes[2], o.Settling, 30_000))
	if _, left, _ := taken(); left != 2 {
		t.Errorf("%d are left once a drum and a part of the sump's honey are poured, want 2", left)
	}
	second := o.Write(23, pourOf(p.Takes[2], o.Settling, 19_800)) // a floor scale shows half kilograms
	o.Write(24, pourOf(p.Takes[1], o.Settling, 299_000))
	if x, left, waiting := taken(); left != 0 || waiting != 0 || x[0].MovedG != 300_000 || x[1].MovedG != 299_000 || x[2].MovedG != 49_800 || len(x[2].By) != 2 {
		t.Errorf("%d are left: %+v", left, x)
	}
	o.Withdraw(second)
	if _, left, waiting := taken(); left != 1 || waiting != 1 {
		t.Error("a pour that was withdrawn counts")
	}
}

func TestADrumThatWentElsewhereIsNotWaitedFor(t *testing.T) {
	t.Parallel()
	o, _, p := blendOutfit()
	blend := o.Write(20, p)
	o.Write(21, pourOf(p.Takes[0], o.Sump, 0))
	b := open(t, o)
	if taken := b.Taken(b.InForce(blend)); taken[0].Elsewhere == nil || !taken[0].Done() || taken[1].Done() {
		t.Errorf("%+v: the first drum went elsewhere, the second waits", taken)
	}
}

func TestABlendThatCannotBePouredIsRefused(t *testing.T) {
	t.Parallel()
	o, drums, p := blendOutfit()
	o.Write(20, pourOf(p.Takes[1], o.Settling, 0))
	b := open(t, o)
	refusal := func(p *ledger.PreparedBlend) string {
		p.Title, p.TankID = "x", o.Settling
		var f *fault.Error
		if !errors.As(b.Check(&ledger.Entry{ID: uuid.New(), Kind: p.Kind(), OccurredAt: ledgertest.At(30), Body: p}, ledgertest.At(31)), &f) {
			return ""
		}
		return f.Error() + fmt.Sprint(f.Fields)
	}
	for says, takes := range map[string][]ledger.BlendTake{
		"Nothing goes into this blend":           nil,
		"D-1 is listed twice":                    {ofDrum(drums[0]), ofDrum(drums[0])},
		"How much of tank":                       {ofTank(o.Sump, 0)},
		"stays there":                            {ofTank(o.Settling, 50_000)},
		"A blend is made of containers":          {{From: ledger.Place{Kind: ledger.PlaceRun, ID: uuid.New()}}},
		"Container D-2 is empty or gone already": {ofDrum(drums[1])},
		"with this id":                           {ofDrum(uuid.New())},
		"the id of a tank is needed here":        {ofTank(drums[0], 50_000)},
	} {
		if got := refusal(&ledger.PreparedBlend{Takes: takes}); !strings.Contains(got, says) {
			t.Errorf("%q, want %q", got, says)
		}
	}
	for says, x := range map[string]ledger.BlendExpected{
		"No rule set knows this parameter":             {Parameter: "sweetness", Value: 1},
		"The upper end cannot lie below the lower one": {Parameter: "moisture", Value: 17, Low: new(18.0), High: new(16.0)},
		"": {Parameter: "moisture", Value: 17, High: new(18.0)},
	} {
		if got := refusal(&ledger.PreparedBlend{Takes: []ledger.BlendTake{ofDrum(drums[0])}, Expects: []ledger.BlendExpected{x}}); !strings.Contains(got, says) || says == "" && got != "" {
			t.Errorf("%q, want %q", got, says)
		}
	}
}
