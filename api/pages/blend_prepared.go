package pages

import (
	"net/http"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/db"
	"pullbook/domain/chance"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// prepareBlend records that a blend is to be made, as the page showed it. It moves no honey.
func (p *pages) prepareBlend(ctx echo.Context) error {
	id, err := uuid.Parse(ctx.FormValue("id"))
	tank, noTank := uuid.Parse(ctx.FormValue("tank"))
	if err != nil || noTank != nil {
		return fault.New(fault.Invalid, "Say into which tank the blend goes.")
	}
	err = p.once(ctx, id, func(who db.Principal) error {
		f, found, which, err := p.blendChosen(ctx)
		if err != nil {
			return err
		}
		title := strings.TrimSpace(ctx.FormValue("title"))
		if title == "" {
			title = f.Say("A blend of %s", message.Kg(found.Blends[which].Kg))
		}
		title = message.Shortened(title, longestBlendTitle)
		body := preparedOf(&found.Blends[which], title, tank)
		_, err = entries.Put(p.Service, ctx, who, &ledger.Entry{ID: id, Kind: body.Kind(), OccurredAt: p.Now(), Body: body})
		return err
	})
	if err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, preparedBlendPath+"/"+id.String())
}

// longestBlendTitle is as the contract has it.
const longestBlendTitle = 120

// preparedOf is the entry of a blend that is to be made.
func preparedOf(b *plan.Blend, title string, tank ledger.ID) *ledger.PreparedBlend {
	out := &ledger.PreparedBlend{Title: title, TankID: tank}
	for _, t := range b.Takes {
		take := ledger.BlendTake{From: ledger.Place{Kind: ledger.PlaceContainer, ID: t.Stock.ID}}
		if t.Stock.Part {
			take = ledger.BlendTake{From: ledger.Place{Kind: ledger.PlaceTank, ID: t.Stock.ID}, MassG: int64(t.Kg*1000 + 0.5)}
		}
		out.Takes = append(out.Takes, take)
	}
	for _, m := range b.Mixed {
		out.Expects = append(out.Expects, ledger.BlendExpected{Parameter: m.Limit.Parameter, Value: m.Mean, StdUncertainty: m.SD, Low: m.Limit.Low, High: m.Limit.High})
	}
	return out
}

// preparedBlendView is a blend that is to be made, held against what came.
type preparedBlendView struct {
	Title, Tank, TankPath, Note, Mass string
	Entry                             entryLink
	Left                              string
	Takes                             []preparedTake
	Came                              []cameRow
	// Manages: the reader may withdraw it.
	Manages bool
}

type preparedTake struct {
	Name, Lot, Planned, Poured, State string
	By                                []entryLink
}

type cameRow struct{ Name, Expected, Measured, On, Says string }

func (p *pages) preparedBlendPage(ctx echo.Context) error {
	return p.kept(ctx, "blend-prepared.html", func(who db.Principal, b *ledger.Book) (wording, error) {
		id, err := uuid.Parse(ctx.Param("id"))
		e := b.InForce(id)
		if err != nil || e == nil || e.Kind != ledger.KindPreparedBlend {
			return nil, fault.New(fault.NotFound, "The book has no such prepared blend. A manager may have withdrawn it; the journal has what became of it.")
		}
		x, root, l := e.Body.(*ledger.PreparedBlend), b.Root(id), links{}
		came, err := plan.CameOf(b, e, reports.OnDay(p.Service, b, nil), p.Now())
		if err != nil {
			return nil, err
		}
		v := &preparedBlendView{Title: x.Title, Tank: b.Name(x.TankID), TankPath: tankPath(b.Root(x.TankID)), Note: x.Note, Manages: who.Role == db.Manager}
		l.add(b, root)
		takes, left := takesOf(b, b.Taken(e), l)
		return func(f locale.Voice) any {
			v.Mass, v.Entry, v.Left = f.Mass, l.to(f, root), f.Say("%s", message.Plural{N: float64(left), One: "%s left to pour", Other: "%s left to pour"})
			for _, t := range takes {
				v.Takes = append(v.Takes, t(f))
			}
			for _, c := range came {
				v.Came = append(v.Came, cameOf(f, c))
			}
			return v
		}, nil
	})
}

// takesOf are what goes in, each with what was poured of it.
func takesOf(b *ledger.Book, taken []ledger.BlendTaken, l links) (out []func(locale.Voice) preparedTake, left int) {
	for _, t := range taken {
		if !t.Done() {
			left++
		}
		row, planned := preparedTake{Name: b.Name(t.From.ID)}, t.MassG
		if fill := ledger.Named[ledger.Fill](b, t.From.ID); fill != nil {
			row.Lot, planned = b.Name(fill.LotID), fill.NetG()
		}
		for _, by := range t.By {
			l.add(b, b.Root(by.ID))
		}
		if t.Elsewhere != nil {
			l.add(b, b.Root(t.Elsewhere.ID))
		}
		out = append(out, func(f locale.Voice) preparedTake {
			row.Planned, row.Poured = f.Grams(planned), locale.Missing
			switch {
			case t.Elsewhere != nil:
				row.State, row.By = f.Say("it went elsewhere"), []entryLink{l.to(f, b.Root(t.Elsewhere.ID))}
			case t.Done():
				row.State = f.Say("poured")
			case len(t.By) > 0:
				row.State = f.Say("poured in part")
			default:
				row.State = f.Say("left to pour")
			}
			for _, by := range t.By {
				row.Poured, row.By = f.Grams(t.MovedG), append(row.By, l.to(f, b.Root(by.ID)))
			}
			return row
		})
	}
	return out, left
}

func cameOf(f locale.Voice, c plan.Came) cameRow {
	unit := standard.SayUnit(plan.UnitOf(c.Parameter))
	row := cameRow{
		Name: f.Say("%s", message.Capital(standard.SayParameter(c.Parameter))), Measured: locale.Missing, On: c.On,
		Expected: f.Say("%s %s, give or take %s", message.Significant(c.Value, 4), unit, message.Significant(2*c.StdUncertainty, 2)),
	}
	if c.On == "" {
		row.Says = f.Say("nobody measured it since")
		return row
	}
	row.Measured = f.Say("%s %s, give or take %s", message.Significant(c.Measured, 4), unit, message.Significant(2*c.MeasuredSD, 2))
	row.Says = f.Say("the difference: %s", chance.InWords(c.Chance))
	if c.Low != nil && c.Measured < *c.Low || c.High != nil && c.Measured > *c.High {
		row.Says = f.Say("outside the limit; the difference: %s", chance.InWords(c.Chance))
	}
	return row
}

// preparedBlends lists the blends that wait to be poured.
func preparedBlends(b *ledger.Book) (out []preparedBlendRow) {
	for _, e := range b.PreparedBlends() {
		x := e.Body.(*ledger.PreparedBlend)
		out = append(out, preparedBlendRow{preparedBlendPath + "/" + b.Root(e.ID).String(), x.Title, b.Name(x.TankID)})
	}
	return out
}

type preparedBlendRow struct{ Path, Title, Tank string }

// tankChoices are the tanks that a blend may be made in, those with nothing in them first.
func tankChoices(b *ledger.Book) (out []choice) {
	var full []choice
	for _, t := range season.Tanks(b) {
		if tank := ledger.Named[ledger.Tank](b, t.TankID); tank == nil || tank.Use == ledger.Sump {
			continue // honey goes through it
		}
		c := choice{Value: t.TankID.String(), Name: t.Name}
		if t.Grams > 0 {
			full = append(full, c)
		} else {
			out = append(out, c)
		}
	}
	return append(out, full...)
}
