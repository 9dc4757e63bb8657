package trace_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/trace"
)

// anySeason draws what the generator can make up: any seed, one or two houses and seasons, a
// year told in outline, and what goes wrong in a real one.
func anySeason(t *rapid.T) demo.Options {
	yards := rapid.IntRange(10, 30).Draw(t, "yards")
	return demo.Options{
		Seed: rapid.Uint64().Draw(t, "seed"), Yards: yards,
		Supers:  yards * rapid.IntRange(40, 110).Draw(t, "supers of a yard"),
		Runs:    yards * rapid.IntRange(10, 25).Draw(t, "runs of ten yards") / 10,
		Seasons: rapid.IntRange(1, 2).Draw(t, "seasons"), Outline: rapid.IntRange(0, 1).Draw(t, "outlines"),
		Houses: rapid.IntRange(1, 2).Draw(t, "houses"), Happenings: rapid.Bool().Draw(t, "happenings"), ToldInFull: rapid.Bool().Draw(t, "told in full"),
	}
}

// made is a made-up season and its book.
type made struct {
	*demo.Book
	book   *ledger.Book
	tracer *trace.Tracer
}

func makeUp(t interface{ Fatalf(string, ...any) }, o demo.Options) made {
	m := made{Book: demo.Outfit(o)}
	b, err := ledger.Open(m.Location, m.Recorded())
	if err != nil {
		t.Fatalf("the season does not open: %v", err)
	}
	m.book, m.tracer = b, trace.Open(b)
	return m
}

// trulyG is what of a container's honey, as weighed, truly came from a yard or pull.
func (m made) trulyG(container, source ledger.ID) float64 {
	share := 0.0
	for pull, part := range m.Truth.PullShares[container] {
		if pull == source || m.book.Root(ledger.Named[ledger.Pull](m.book, pull).YardID) == source {
			share += part
		}
	}
	return share * float64(ledger.Named[ledger.Fill](m.book, container).NetG())
}

// told counts bounds, how many of them say anything, and how many are wrong.
type told struct {
	pairs, promised, limited int
	tooHigh, tooLow          int
	widths                   []float64
	// wrong names those that are.
	wrong []string
}

// takes holds bounds against the truth, to the gram.
func (x *told) takes(what string, of trace.Amount, netG int64, trulyG float64) {
	x.pairs++
	if of.LeastG > 0 {
		x.promised++
	}
	if of.MostG < netG {
		x.limited++
	}
	x.widths = append(x.widths, float64(of.MostG-of.LeastG)/float64(netG))
	high, low := float64(of.LeastG) > trulyG+1, float64(of.MostG) < trulyG-1
	if high {
		x.tooHigh++
	}
	if low {
		x.tooLow++
	}
	if high || low {
		x.wrong = append(x.wrong, fmt.Sprintf("%s: truly %.0f g of %d, bounds %+v", what, trulyG, netG, of))
	}
}

// medianWidth is in percent of the net.
func (x *told) medianWidth() float64 {
	slices.Sort(x.widths)
	return 100 * x.widths[len(x.widths)/2]
}

// lots takes what each lot has of each yard and pull.
func (m made) lots(t interface{ Fatalf(string, ...any) }, tracer *trace.Tracer, x *told) {
	m.book.InForceOf(ledger.KindLot, func(lot ledger.ID, _ *ledger.Entry) bool {
		back, err := tracer.Back(lot)
		if err != nil {
			t.Fatalf("%v", err)
		}
		for _, o := range slices.Concat(back.Yards, back.Pulls) {
			sum := 0.0
			for _, id := range m.book.State().Lot(lot).Containers {
				sum += m.trulyG(id, o.Place.ID)
			}
			x.takes("lot "+back.Name+" of "+o.Name, o.Of, back.NetG, sum)
		}
		return true
	})
}

// containers takes what each container has of a yard, and what those on hand and those sent
// have together.
func (m made) containers(tracer *trace.Tracer, yard ledger.ID, each, sums *told) {
	f := tracer.Forward(trace.Subject{Place: ledger.Place{Kind: ledger.PlaceYard, ID: yard}})
	truly := map[season.ContainerState]float64{}
	for _, c := range f.Containers {
		if c.State == season.Held || c.State == season.Dispatched {
			g := m.trulyG(c.ID, yard)
			each.takes(c.Number+" of "+f.Name, c.Of, c.NetG, g)
			truly[c.State] += g
		}
	}
	for state, of := range map[season.ContainerState]trace.Amount{season.Held: f.OnHand, season.Dispatched: f.Dispatched} {
		if net := map[season.ContainerState]int64{season.Held: f.OnHandNetG, season.Dispatched: f.DispatchedNetG}[state]; net > 0 {
			sums.takes(string(state)+" of "+f.Name, of, net, truly[state])
		}
	}
}

func (m made) yards() (out []ledger.ID) {
	m.book.InForceOf(ledger.KindYard, func(yard ledger.ID, _ *ledger.Entry) bool { out = append(out, yard); return true })
	return out
}

// TestNoBoundIsWrongInAnySeasonThatCanBeMadeUp makes up seasons whose scales, dips and hoists
// err, whose boxes are fuller or emptier than usual, and whose crew forgets 90 kg: the least is
// never above what truly was in a container, a lot or all that is on hand or sent, and the most
// never below it.
func TestNoBoundIsWrongInAnySeasonThatCanBeMadeUp(t *testing.T) {
	t.Parallel()
	var lots, drums, sums told
	rapid.Check(t, func(t *rapid.T) {
		m := makeUp(t, anySeason(t))
		m.lots(t, m.tracer, &lots)
		yards := m.yards()
		for i := range 3 {
			m.containers(m.tracer, yards[rapid.IntRange(0, len(yards)-1).Draw(t, fmt.Sprint("yard ", i))], &drums, &sums)
		}
		for _, wrong := range slices.Concat(lots.wrong, drums.wrong, sums.wrong) {
			t.Error(wrong)
		}
		lots.wrong, drums.wrong, sums.wrong = nil, nil, nil
	})
	for what, x := range map[string]*told{"lots": &lots, "containers": &drums, "sums": &sums} {
		t.Logf("%s: %d bounds, %d leasts above nothing, %d mosts below the net", what, x.pairs, x.promised, x.limited)
	}
	if lots.promised < 3000 || lots.limited < 20_000 || drums.limited < 3000 || sums.promised < 150 || sums.limited < 300 {
		t.Error("too few of the bounds say anything")
	}
}

// TestTheReadmeSaysHowWideTheBoundsAre counts the table of the README over ten seasons by which
// nothing was set.
func TestTheReadmeSaysHowWideTheBoundsAre(t *testing.T) {
	t.Parallel()
	var rows [2][2]told
	for seed := range uint64(10) {
		m := makeUp(t, demo.Ordinary(2000+seed))
		for i, tracer := range []*trace.Tracer{trace.OpenExact(m.book), m.tracer} {
			m.lots(t, tracer, &rows[i][0])
			for _, yard := range m.yards() {
				m.containers(tracer, yard, new(told), &rows[i][1])
			}
		}
	}
	var table strings.Builder
	for i, how := range []string{"exact", "off by what is allowed for"} {
		for k, of := range []string{"a lot, of each of its yards and pulls", "all on hand or all sent, of a yard"} {
			x := &rows[i][k]
			fmt.Fprintf(&table, "| %s | %s | %d | %.1f %% | %d of %d | %d of %d |\n", of, how, x.pairs, x.medianWidth(), x.tooHigh, x.promised, x.tooLow, x.limited)
		}
	}
	readme, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(readme), table.String()) {
		t.Errorf("the README has another table than this:\n%s", table.String())
	}
}
