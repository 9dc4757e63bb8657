package pages

import (
	"net/http"
	"strconv"

	"github.com/labstack/echo/v4"

	"pullbook/domain/message"
	"pullbook/domain/plan"
	"pullbook/domain/standard"
)

// blendBlankView is a blend as paper: what goes in is ticked off and weighed as it is done, and
// what came of it is written beside what was expected. Nothing of it is recorded by itself.
type blendBlankView struct {
	Title, Outfit, Entries, On, Mass, Sum string
	Goes                                  []blankTake
	Mixed                                 []blankExpected
	Looks, Cautions                       []string
	Origins                               blendOrigins
}

type blankTake struct{ Number, Name, Source, Mass string }

type blankExpected struct{ Name, Limit, Expected string }

func (p *pages) blendBlank(ctx echo.Context) error {
	f, found, which, err := p.blendChosen(ctx)
	if err != nil {
		return err
	}
	b := &found.Blends[which]
	v := &blendBlankView{
		Title: f.Say("A blend of %s", message.Kg(b.Kg)), Outfit: ctx.Get(callerKey).(caller).outfit, Entries: f.Count(int(found.Through)), On: f.Date(string(found.On)),
		Mass: f.Mass, Sum: f.Kilograms(&b.Kg), Cautions: f.SayEach(plan.BlendCautions()), Origins: originsShown(f, b),
	}
	for i, t := range b.Takes {
		v.Goes = append(v.Goes, blankTake{strconv.Itoa(i + 1), t.Stock.Name, t.Stock.Source, f.Kilograms(&t.Kg)})
	}
	for _, m := range b.Mixed {
		said := blendMixedOf(f, m)
		v.Mixed = append(v.Mixed, blankExpected{said.Name, said.Limit, said.Expected})
	}
	for _, l := range found.Looks {
		v.Looks = append(v.Looks, f.Say("%s", message.Capital(standard.SayParameter(l.Parameter))))
	}
	return p.page(ctx, http.StatusOK, "blend-blank.html", v)
}
