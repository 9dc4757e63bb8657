package pages

import (
	"cmp"
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/ledger"
)

// blankSheet is paper for the days on which all else fails. It asks what the
// recording page asks, in the same words and in its order, so that it is quickly
// typed in afterwards.
type blankSheet struct {
	Title, Outfit string
	Tables        []blankTable
	// Lists are the names to write, as the book has them.
	Lists []blankList
}

type blankTable struct {
	Caption string
	Columns []blankColumn
	Rows    []struct{}
}

// blankColumn is a column with the unit to write in; Wide where names go.
type blankColumn struct {
	Name, Unit string
	Wide       bool
}

type blankList struct {
	Name  string
	Names []string
}

func (p *pages) blankPage(ctx echo.Context) error {
	kind := ctx.Param("kind")
	return p.kept(ctx, "blank.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		known := knownOf(b)
		for _, k := range blankKinds {
			if k.kind != kind {
				continue
			}
			return func(f locale.Voice) any {
				sheet := k.sheet(newWriting(f, known))
				sheet.Outfit = ctx.Get(callerKey).(caller).outfit
				return &sheet
			}, nil
		}
		return nil, echo.ErrNotFound
	})
}

// writing makes the sheets of one outfit in one language.
type writing struct {
	locale.Voice
	known knownThings
	depth string
}

func wide(text string) blankColumn { return blankColumn{Name: text, Wide: true} }

func narrow(text, unit string) blankColumn { return blankColumn{Name: text, Unit: unit} }

func emptyRows(n int) []struct{} { return make([]struct{}, n) }

// when begins each row, remarks end it.
func (w writing) row(all ...blankColumn) []blankColumn {
	f := w.Voice
	return slices.Concat([]blankColumn{narrow(f.Say("When it happened"), "")}, all, []blankColumn{wide(f.Say("Remarks"))})
}

// blankKinds are the sheets by what they are for, in the order of the recording page.
var blankKinds = []struct {
	kind  string
	sheet func(writing) blankSheet
}{
	{"reading", writing.reading}, {"fill", writing.fill}, {"transfer", writing.transfer}, {"run", writing.run}, {"pull", writing.pull},
	{"temperature", writing.temperature}, {"stocktake", writing.stocktake}, {"wash", writing.wash},
}

func newWriting(f locale.Voice, known knownThings) writing {
	if f.US() {
		return writing{f, known, "in"}
	}
	return writing{f, known, "cm"}
}

func (w writing) reading() blankSheet {
	f := w.Voice
	return blankSheet{Title: f.Say("Moisture"), Lists: []blankList{w.tanks(), w.instruments()},
		Tables: []blankTable{{Columns: w.row(
			wide(f.Say("What was read")), narrow(f.Say("The instrument shows"), ""), wide(f.Say("Read with")),
			narrow(f.Say("Where the sample was drawn"), ""), narrow(f.Say("Temperature of the sample"), f.Temperature),
		), Rows: emptyRows(22)}}}
}

func (w writing) fill() blankSheet {
	f := w.Voice
	return blankSheet{Title: f.Say("Fill drums"), Lists: []blankList{w.tanks(), w.named(f.Say("Kind of container"), ledger.KindContainerKind)},
		Tables: []blankTable{
			{Columns: []blankColumn{wide(f.Say("Lot")), wide(f.Say("Code of the new lot")), wide(f.Say("Tank")), wide(f.Say("Kind of container"))}, Rows: emptyRows(1)},
			{Columns: w.row(narrow(f.Say("Container number"), ""), narrow(f.Say("Tare"), f.Mass), narrow(f.Say("Gross"), f.Mass)), Rows: emptyRows(20)},
		}}
}

func (w writing) transfer() blankSheet {
	f := w.Voice
	return blankSheet{Title: f.Say("Transfer"), Lists: []blankList{w.tanks()},
		Tables: []blankTable{{Columns: w.row(wide(f.Say("From")), narrow(f.Say("Container number"), ""), wide(f.Say("To")), narrow(f.Say("Honey"), f.Mass)), Rows: emptyRows(22)}}}
}

func (w writing) run() blankSheet {
	f := w.Voice
	return blankSheet{Title: f.Say("Run"), Lists: []blankList{w.superKinds()},
		Tables: []blankTable{
			{Caption: f.Say("Start a run"), Columns: w.row(wide(f.Say("Name of the run")), narrow(f.Say("Frames on each side"), "")), Rows: emptyRows(1)},
			{Caption: f.Say("Supers in"), Columns: w.row(wide(f.Say("From the pull")), wide(f.Say("Kind of super")), narrow(f.Say("How many supers"), "")), Rows: emptyRows(5)},
			{Caption: f.Say("Load"), Columns: w.row(narrow(f.Say("Load number"), ""), narrow(f.Say("Frames, left side"), ""), narrow(f.Say("Frames, right side"), "")), Rows: emptyRows(12)},
			{Caption: f.Say("End the run"), Columns: w.row(narrow(f.Say("Wax, drained"), f.Mass), narrow(f.Say("Emptied boxes together"), f.Mass), narrow(f.Say("Combs set aside"), "")), Rows: emptyRows(1)},
		}}
}

func (w writing) pull() blankSheet {
	f := w.Voice
	asked := []blankColumn{wide(f.Say("Yard"))}
	for _, kind := range w.superKinds().Names {
		asked = append(asked, narrow(f.Say("Supers, %s", kind), ""))
	}
	asked = append(asked, narrow(f.Say("Hives worked"), ""), narrow(f.Say("Gross weight of all boxes"), f.Mass), narrow(f.Say("Hot room"), ""))
	return blankSheet{Title: f.Say("Pull"), Lists: []blankList{w.named(f.Say("Yard"), ledger.KindYard)},
		Tables: []blankTable{{Columns: w.row(asked...), Rows: emptyRows(20)}}}
}

func (w writing) temperature() blankSheet {
	f := w.Voice
	return blankSheet{Title: f.Say("Temperature"), Lists: []blankList{w.tanks(), w.named(f.Say("Rooms"), ledger.KindRoom)},
		Tables: []blankTable{{Columns: w.row(wide(f.Say("What was measured")), narrow(f.Say("Temperature"), f.Temperature)), Rows: emptyRows(22)}}}
}

func (w writing) stocktake() blankSheet {
	f := w.Voice
	return blankSheet{Title: f.Say("Stocktake by dip"), Lists: []blankList{w.tanks()},
		Tables: []blankTable{{Columns: w.row(
			wide(f.Say("Tank")), narrow(f.Say("Dip, to the honey under the foam"), w.depth), narrow(f.Say("Temperature of the honey"), f.Temperature),
			narrow(f.Say("Foam on top"), w.depth), narrow(f.Say("Honey"), f.Mass),
		), Rows: emptyRows(22)}}}
}

func (w writing) wash() blankSheet {
	f := w.Voice
	return blankSheet{Title: f.Say("Wash a tank"), Lists: []blankList{w.tanks()},
		Tables: []blankTable{{Columns: w.row(wide(f.Say("Tank")), wide(f.Say("Washed with"))), Rows: emptyRows(22)}}}
}

// named are the things of a kind by their names.
func (w writing) named(title string, kind ledger.Kind) blankList {
	return blankList{title, w.known[kind].names}
}

func (w writing) superKinds() blankList {
	f := w.Voice
	return w.named(f.Say("Kind of super"), ledger.KindSuperKind)
}

// tanks have the marks of their hoses with them, by which one knows them.
func (w writing) tanks() blankList {
	f := w.Voice
	out := blankList{Name: f.Say("Tank")}
	for _, e := range w.known[ledger.KindTank].entries {
		t := e.Body.(*ledger.Tank)
		name := t.Name
		if t.HoseMark != "" {
			name += " (" + f.Say("hose %s", t.HoseMark) + ")"
		}
		out.Names = append(out.Names, name)
	}
	return out
}

// instruments are the refractometers, with what each shows.
func (w writing) instruments() blankList {
	f := w.Voice
	out := blankList{Name: f.Say("Instrument")}
	scales := map[string]string{ledger.ScaleMoisture: "%", ledger.ScaleBrix: "°Brix", ledger.ScaleRefractiveIndex: f.Say("refractive index")}
	for _, e := range w.known[ledger.KindInstrument].entries {
		if x := e.Body.(*ledger.Instrument); scales[x.Scale] != "" {
			out.Names = append(out.Names, x.Name+" ("+scales[x.Scale]+")")
		}
	}
	return out
}

// knownThings are what the sheets list: the entries of a kind, and their names in order.
type knownThings map[ledger.Kind]struct {
	entries []*ledger.Entry
	names   []string
}

func knownOf(b *ledger.Book) knownThings {
	known := knownThings{}
	for _, kind := range []ledger.Kind{ledger.KindContainerKind, ledger.KindSuperKind, ledger.KindYard, ledger.KindRoom, ledger.KindTank, ledger.KindInstrument} {
		of := known[kind]
		b.InForceOf(kind, func(root ledger.ID, e *ledger.Entry) bool {
			of.entries, of.names = append(of.entries, e), append(of.names, b.Name(root))
			return true
		})
		slices.SortFunc(of.names, cmp.Compare)
		known[kind] = of
	}
	return known
}
