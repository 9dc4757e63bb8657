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

func name(text string) blankColumn             { return blankColumn{Name: text, Wide: true} }
func number(text, unit string) blankColumn     { return blankColumn{Name: text, Unit: unit} }
func rows(n int) []struct{}                    { return make([]struct{}, n) }
func columns(all ...blankColumn) []blankColumn { return all }

// when begins each row, remarks end it.
func (w writing) row(all ...blankColumn) []blankColumn {
	f := w.figures
	return slices.Concat(columns(number(f.say("When it happened"), "")), all, columns(name(f.say("Remarks"))))
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
			name(f.say("What was read")), number(f.say("The instrument shows"), ""), name(f.say("Instrument")),
			number(f.say("Where the sample was drawn"), ""), number(f.say("Temperature of the sample"), f.Temperature),
		), Rows: rows(20)}}}
}

func (w writing) fill() blankSheet {
	f := w.figures
	return blankSheet{Kind: "fill", Title: f.say("Fill drums"), Lists: []blankList{w.tanks(), w.named(f.say("Kind of container"), ledger.KindContainerKind)},
		Tables: []blankTable{
			{Columns: columns(name(f.say("Lot")), name(f.say("Code of the new lot")), name(f.say("Tank")), name(f.say("Kind of container"))), Rows: rows(1)},
			{Columns: w.row(number(f.say("Container number"), ""), number(f.say("Tare"), f.Mass), number(f.say("Gross"), f.Mass)), Rows: rows(20)},
		}}
}

func (w writing) transfer() blankSheet {
	f := w.figures
	return blankSheet{Kind: "transfer", Title: f.say("Transfer"), Lists: []blankList{w.tanks()},
		Tables: []blankTable{{Columns: w.row(name(f.say("From")), name(f.say("To")), number(f.say("Honey"), f.Mass)), Rows: rows(20)}}}
}

func (w writing) run() blankSheet {
	f := w.figures
	return blankSheet{Kind: "run", Title: f.say("Run"), Lists: []blankList{w.superKinds()},
		Tables: []blankTable{
			{Caption: f.say("Start a run"), Columns: w.row(name(f.say("Name of the run")), number(f.say("Frames on each side"), "")), Rows: rows(1)},
			{Caption: f.say("Supers in"), Columns: w.row(name(f.say("From the pull")), name(f.say("Kind of super")), number(f.say("How many supers"), "")), Rows: rows(5)},
			{Caption: f.say("Load"), Columns: w.row(number(f.say("Load number"), ""), number(f.say("Frames, left side"), ""), number(f.say("Frames, right side"), "")), Rows: rows(12)},
			{Caption: f.say("End the run"), Columns: w.row(number(f.say("Wax, drained"), f.Mass), number(f.say("Emptied boxes together"), f.Mass), number(f.say("Combs set aside"), "")), Rows: rows(1)},
		}}
}

func (w writing) pull() blankSheet {
	f := w.figures
	asked := columns(name(f.say("Yard")))
	for _, kind := range w.superKinds().Names {
		asked = append(asked, number(f.say("Supers, %s", kind), ""))
	}
	asked = append(asked, number(f.say("Hives worked"), ""), number(f.say("Gross weight of all boxes"), f.Mass), number(f.say("Hot room"), ""))
	return blankSheet{Kind: "pull", Title: f.say("Pull"), Lists: []blankList{w.named(f.say("Yard"), ledger.KindYard)},
		Tables: []blankTable{{Columns: w.row(asked...), Rows: rows(18)}}}
}

func (w writing) temperature() blankSheet {
	f := w.figures
	return blankSheet{Kind: "temperature", Title: f.say("Temperature"), Lists: []blankList{w.tanks(), w.named(f.say("Rooms"), ledger.KindRoom)},
		Tables: []blankTable{{Columns: w.row(name(f.say("What was measured")), number(f.say("Temperature"), f.Temperature)), Rows: rows(20)}}}
}

func (w writing) stocktake() blankSheet {
	f := w.figures
	return blankSheet{Kind: "stocktake", Title: f.say("Stocktake by dip"), Lists: []blankList{w.tanks()},
		Tables: []blankTable{{Columns: w.row(
			name(f.say("Tank")), number(f.say("Dip, to the honey under the foam"), w.depth), number(f.say("Temperature of the honey"), f.Temperature),
			number(f.say("Foam on top"), w.depth), number(f.say("Honey"), f.Mass),
		), Rows: rows(20)}}}
}

func (w writing) wash() blankSheet {
	f := w.figures
	return blankSheet{Kind: "wash", Title: f.say("Wash a tank"), Lists: []blankList{w.tanks()},
		Tables: []blankTable{{Columns: w.row(name(f.say("Tank")), name(f.say("Washed with"))), Rows: rows(20)}}}
}

// named are the things of a kind by their names.
func (w writing) named(title string, kind ledger.Kind) blankList {
	out := blankList{Name: title}
	w.book.Of(kind, func(root ledger.ID, _ *ledger.Entry) bool {
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
	w.book.Of(ledger.KindTank, func(_ ledger.ID, e *ledger.Entry) bool {
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
	w.book.Of(ledger.KindInstrument, func(_ ledger.ID, e *ledger.Entry) bool {
		if x := e.Body.(*ledger.Instrument); scales[x.Scale] != "" {
			out.Names = append(out.Names, x.Name+" ("+scales[x.Scale]+")")
		}
		return true
	})
	return out
}
