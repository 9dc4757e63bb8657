package pages

import (
	"slices"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/balance"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// dryingView is the hot rooms of a season: what their air does, and how the
// stacks in them dry.
type dryingView struct {
	Seasons []seasonChoice
	// Season is empty where the outfit has none.
	Season, AsOf, Entries, Target string
	Rooms                         []dryingRoom
	entries                       int
	rooms                         []balance.Room
	links                         links
}

type dryingRoom struct {
	ID, Name string
	// Temperature and Humidity are means, empty where none were logged.
	Temperature, Humidity string
	Sentences             []string
	// Here are the stacks that stand there; Gone those that were extracted, the
	// latest first, as far as there is room.
	Here, Gone []dryingStack
	MoreGone   int
}

type dryingStack struct {
	Address, Yard, Boxes, Honey, In, Out, Sentence, Water string
	Cautions                                              []string
	Layers                                                []dryingLayer
}

// dryingLayer has no Slope where it was read on one day only.
type dryingLayer struct {
	Name, Last, Slope string
	Readings          []entryLink
	More              int
}

// mostGone stacks of a room that were extracted are shown.
const mostGone = 20

func (p *pages) dryingPage(ctx echo.Context) error {
	asked := ctx.QueryParam("season")
	return p.keptAsOf(ctx, "drying.html", func(_ db.Principal, b *ledger.Book) (wording, error) {
		v := &dryingView{AsOf: earlierEntry(ctx, b), entries: int(b.Len()), links: links{}}
		id, found, err := p.chosen(asked, b)
		if err != nil || !found {
			return v.inWords, err
		}
		v.Season, v.Seasons = ledger.Named[ledger.Season](b, id).Name, seasonChoices(b, id)
		period, err := balance.Season(b, id)
		if err != nil {
			return nil, err
		}
		if v.rooms, err = balance.Drying(b, period, balance.DryEnoughPct); err != nil {
			return nil, err
		}
		for _, r := range v.rooms {
			for _, s := range r.Stacks {
				for _, x := range s.Layers {
					v.links.add(b, readingsOf(x)...)
				}
			}
		}
		return v.inWords, nil
	})
}

func (v *dryingView) inWords(f locale.Voice) any {
	v.Entries, v.Target = f.Count(v.entries), f.Number(balance.DryEnoughPct, 1)
	for _, r := range v.rooms {
		v.Rooms = append(v.Rooms, dryingRoomOf(f, v.links, r))
	}
	return v
}

func readingsOf(x balance.LayerLine) (ids []ledger.ID) {
	for _, r := range x.Readings {
		ids = append(ids, r.EntryID)
	}
	return ids
}

func dryingRoomOf(f locale.Voice, l links, r balance.Room) dryingRoom {
	out := dryingRoom{ID: r.RoomID.String(), Name: r.Name, Sentences: f.SayEach(r.Sentences)}
	if r.MeanTemperatureC != nil {
		out.Temperature = f.Celsius(*r.MeanTemperatureC)
	}
	if r.MeanHumidityPct != nil {
		out.Humidity = f.Number(*r.MeanHumidityPct, 0)
	}
	for _, s := range slices.Backward(r.Stacks) {
		switch {
		case s.Out.IsZero():
			out.Here = append(out.Here, dryingStackOf(f, l, s))
		case len(out.Gone) < mostGone:
			out.Gone = append(out.Gone, dryingStackOf(f, l, s))
		default:
			out.MoreGone++
		}
	}
	return out
}

func dryingStackOf(f locale.Voice, known links, s balance.Stack) dryingStack {
	out := dryingStack{
		Address: yardPath(s.YardID), Yard: s.Yard, Boxes: supers(f, s.Boxes), Honey: f.Kg(s.HoneyKg), In: f.Day(s.In), Sentence: s.Sentence.In(f),
		Cautions: f.SayEach(s.Cautions),
	}
	if !s.Out.IsZero() {
		out.Out = f.Day(s.Out)
	}
	if s.WaterKg != nil {
		out.Water = f.Say("%s", message.WithSD(*s.WaterKg, *s.WaterUncertaintyKg))
	}
	for _, l := range s.Layers {
		layer := dryingLayer{Name: l.Layer.Said().In(f), Last: f.Number(l.LastPct, 1) + " ± " + f.Number(l.LastUncertaintyPct, 1)}
		if l.Slope != nil {
			layer.Slope = f.Number(*l.Slope, 2) + " ± " + f.Number(*l.SlopeUncertainty, 2)
		}
		layer.Readings, layer.More = known.some(f, readingsOf(l), mostEntries)
		out.Layers = append(out.Layers, layer)
	}
	return out
}
