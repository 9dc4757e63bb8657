package api

import (
	"cmp"
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// blankSheet is paper for the days on which all else fails. It asks what the
// recording page asks, in the same words and in its order, so that it is quickly
// typed in afterwards.
type blankSheet struct {
	Kind, Title string
	Outfit      string
	Tables      []blankTable
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
	return p.kept(ctx, "blank.html", func(_ db.Principal, f figures, b *ledger.Book) (any, error) {
		sheets := blankSheets(f, b)
		i := slices.IndexFunc(sheets, func(s blankSheet) bool { return s.Kind == kind })
		if i < 0 {
			return nil, echo.ErrNotFound
		}
		sheets[i].Outfit = ctx.Get(callerKey).(caller).outfit
		return &sheets[i], nil
	})
}

// writing makes the sheets of one outfit in one language.
type writing struct {
	figures
	book  *ledger.Book
	depth string
}

func wide(text string) blankColumn         { return blankColumn{Name: text, Wide: true} }
func narrow(text, unit string) blankColumn { return blankColumn{Name: text, Unit: unit} }
func emptyRows(n int) []struct{}           { return make([]struct{}, n) }

// when begins each row, remarks end it.
func (w writing) row(all ...blankColumn) []blankColumn {
	f := w.figures
	return slices.Concat([]blankColumn{narrow(f.say("When it happened"), "")}, all, []blankColumn{wide(f.say("Remarks"))})
}

// blankSheets are the sheets, in the order of the recording page.
func blankSheets(f figures, b *ledger.Book) []blankSheet {
	w := writing{f, b, "cm"}
	if f.us() {
		w.depth = "in"
	}
	return []blankSheet{w.reading(), w.fill(), w.transfer(), w.run(), w.pull(), w.temperature(), w.stocktake(), w.wash()}
}

func (w writing) reading() blankSheet {
	f := w.figures
	return blankSheet{Kind: "reading", Title: f.say("Moisture"), Lists: []blankList{w.tanks(), w.instruments()},
		Tables: []blankTable{{Columns: w.row(
			wide(f.say("What was read")), narrow(f.say("The instrument shows"), ""), wide(f.say("Read with")),
			narrow(f.say("Where the sample was drawn"), ""), narrow(f.say("Temperature of the sample"), f.Temperature),
		), Rows: emptyRows(22)}}}
}

func (w writing) fill() blankSheet {
	f := w.figures
	return blankSheet{Kind: "fill", Title: f.say("Fill drums"), Lists: []blankList{w.tanks(), w.named(f.say("Kind of container"), ledger.KindContainerKind)},
		Tables: []blankTable{
			{Columns: []blankColumn{wide(f.say("Lot")), wide(f.say("Code of the new lot")), wide(f.say("Tank")), wide(f.say("Kind of container"))}, Rows: emptyRows(1)},
			{Columns: w.row(narrow(f.say("Container number"), ""), narrow(f.say("Tare"), f.Mass), narrow(f.say("Gross"), f.Mass)), Rows: emptyRows(20)},
		}}
}

func (w writing) transfer() blankSheet {
	f := w.figures
	return blankSheet{Kind: "transfer", Title: f.say("Transfer"), Lists: []blankList{w.tanks()},
		Tables: []blankTable{{Columns: w.row(wide(f.say("From")), wide(f.say("To")), narrow(f.say("Honey"), f.Mass)), Rows: emptyRows(22)}}}
}

func (w writing) run() blankSheet {
	f := w.figures
	return blankSheet{Kind: "run", Title: f.say("Run"), Lists: []blankList{w.superKinds()},
		Tables: []blankTable{
			{Caption: f.say("Start a run"), Columns: w.row(wide(f.say("Name of the run")), narrow(f.say("Frames on each side"), "")), Rows: emptyRows(1)},
			{Caption: f.say("Supers in"), Columns: w.row(wide(f.say("From the pull")), wide(f.say("Kind of super")), narrow(f.say("How many supers"), "")), Rows: emptyRows(5)},
			{Caption: f.say("Load"), Columns: w.row(narrow(f.say("Load number"), ""), narrow(f.say("Frames, left side"), ""), narrow(f.say("Frames, right side"), "")), Rows: emptyRows(12)},
			{Caption: f.say("End the run"), Columns: w.row(narrow(f.say("Wax, drained"), f.Mass), narrow(f.say("Emptied boxes together"), f.Mass), narrow(f.say("Combs set aside"), "")), Rows: emptyRows(1)},
		}}
}

func (w writing) pull() blankSheet {
	f := w.figures
	asked := []blankColumn{wide(f.say("Yard"))}
	for _, kind := range w.superKinds().Names {
		asked = append(asked, narrow(f.say("Supers, %s", kind), ""))
	}
	asked = append(asked, narrow(f.say("Hives worked"), ""), narrow(f.say("Gross weight of all boxes"), f.Mass), narrow(f.say("Hot room"), ""))
	return blankSheet{Kind: "pull", Title: f.say("Pull"), Lists: []blankList{w.named(f.say("Yard"), ledger.KindYard)},
		Tables: []blankTable{{Columns: w.row(asked...), Rows: emptyRows(20)}}}
}

func (w writing) temperature() blankSheet {
	f := w.figures
	return blankSheet{Kind: "temperature", Title: f.say("Temperature"), Lists: []blankList{w.tanks(), w.named(f.say("Rooms"), ledger.KindRoom)},
		Tables: []blankTable{{Columns: w.row(wide(f.say("What was measured")), narrow(f.say("Temperature"), f.Temperature)), Rows: emptyRows(22)}}}
}

func (w writing) stocktake() blankSheet {
	f := w.figures
	return blankSheet{Kind: "stocktake", Title: f.say("Stocktake by dip"), Lists: []blankList{w.tanks()},
		Tables: []blankTable{{Columns: w.row(
			wide(f.say("Tank")), narrow(f.say("Dip, to the honey under the foam"), w.depth), narrow(f.say("Temperature of the honey"), f.Temperature),
			narrow(f.say("Foam on top"), w.depth), narrow(f.say("Honey"), f.Mass),
		), Rows: emptyRows(22)}}}
}

func (w writing) wash() blankSheet {
	f := w.figures
	return blankSheet{Kind: "wash", Title: f.say("Wash a tank"), Lists: []blankList{w.tanks()},
		Tables: []blankTable{{Columns: w.row(wide(f.say("Tank")), wide(f.say("Washed with"))), Rows: emptyRows(22)}}}
}

// named are the things of a kind by their names.
func (w writing) named(title string, kind ledger.Kind) blankList {
	out := blankList{Name: title}
	w.book.InForceOf(kind, func(root ledger.ID, _ *ledger.Entry) bool {
		out.Names = append(out.Names, w.book.Name(root))
		return true
	})
	slices.SortFunc(out.Names, cmp.Compare)
	return out
}

func (w writing) superKinds() blankList {
	f := w.figures
	return w.named(f.say("Kind of super"), ledger.KindSuperKind)
}

// tanks have the marks of their hoses with them, by which one knows them.
func (w writing) tanks() blankList {
	f := w.figures
	out := blankList{Name: f.say("Tank")}
	w.book.InForceOf(ledger.KindTank, func(_ ledger.ID, e *ledger.Entry) bool {
		t := e.Body.(*ledger.Tank)
		name := t.Name
		if t.HoseMark != "" {
			name += " (" + f.say("hose %s", t.HoseMark) + ")"
		}
		out.Names = append(out.Names, name)
		return true
	})
	return out
}

// instruments are the refractometers, with what each shows.
func (w writing) instruments() blankList {
	f := w.figures
	out := blankList{Name: f.say("Instrument")}
	scales := map[string]string{ledger.ScaleMoisture: "%", ledger.ScaleBrix: "°Brix", ledger.ScaleRefractiveIndex: f.say("refractive index")}
	w.book.InForceOf(ledger.KindInstrument, func(_ ledger.ID, e *ledger.Entry) bool {
		if x := e.Body.(*ledger.Instrument); scales[x.Scale] != "" {
			out.Names = append(out.Names, x.Name+" ("+scales[x.Scale]+")")
		}
		return true
	})
	return out
}
