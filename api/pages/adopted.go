package pages

import (
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/plans"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan/held"
)

const (
	adoptedPath = plansPath + "/adopted"
	adoptPath   = plansPath + "/adopt"
)

// adoptable works out the plan that a query asks for, as an entry that somebody may go by; nil where nothing is
// asked for, something is wrong with it, or there is no such plan.
type adoptable func(echo.Context) (*ledger.AdoptedPlan, error)

// routeAdoptable serves the sheet of a plan to work from.
func (p *pages) routeAdoptable(e *echo.Echo, path string, of adoptable, squeezed echo.MiddlewareFunc) {
	e.GET(path+"/blank", func(ctx echo.Context) error { return p.plannedBlank(ctx, of) }, squeezed)
}

// toGoBy is where a plan that was found becomes a sheet, or one that somebody goes by.
type toGoBy struct {
	Blank, Adopt, NewID string
	// Plan is the plan as it is shown, as the contract has it. It comes back with the form: the book may have new
	// entries by then, and another plan.
	Plan string
	// Manages: the reader may go by it.
	Manages bool
}

// goByOf is of the plan that the page at an address shows; nil where there is nothing to go by.
func (p *pages) goByOf(ctx echo.Context, path string, plan *ledger.AdoptedPlan) (*toGoBy, error) {
	if plan == nil {
		return nil, nil
	}
	beginsNow(plan, p.Now())
	plan.Title = message.Shortened(plan.Title, longestBlendTitle)
	value, err := entries.Value(&ledger.Entry{Kind: plan.Kind(), Body: plan})
	if err != nil {
		return nil, err
	}
	text, err := json.Marshal(value)
	if err != nil {
		return nil, err
	}
	out := &toGoBy{Blank: path + "/blank?" + ctx.QueryParams().Encode(), Adopt: adoptPath, NewID: uuid.NewString(), Plan: string(text)}
	err = p.look(ctx, func(who db.Principal, _ db.Outfit, _ *ledger.Book) error {
		out.Manages = who.Role == db.Manager
		return nil
	})
	return out, err
}

// planned is the plan that a query asks for.
func planned(ctx echo.Context, of adoptable) (*ledger.AdoptedPlan, error) {
	plan, err := of(ctx)
	if err == nil && plan == nil {
		err = fault.New(fault.NotFound, "There is no such plan. Ask for one on the page Plans.")
	}
	return plan, err
}

// adopt records that a manager goes by a plan, as the page showed it. It moves no honey.
func (p *pages) adopt(ctx echo.Context) error {
	var value map[string]any
	id, err := uuid.Parse(ctx.FormValue("id"))
	if err == nil {
		err = json.Unmarshal([]byte(ctx.FormValue("plan")), &value)
	}
	if err != nil || value == nil {
		return fault.New(fault.Invalid, "This page is not complete. Ask for the plan again, and go by it then.")
	}
	err = p.once(ctx, id, func(who db.Principal) error {
		value["id"], value["occurred_at"] = id.String(), p.Now().Format(time.RFC3339Nano)
		if title := strings.TrimSpace(ctx.FormValue("title")); title != "" {
			value["title"] = message.Shortened(title, longestBlendTitle)
		}
		return entries.Record(p.Service, ctx, who, ledger.KindAdoptedPlan, value)
	})
	if err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, adoptedPath+"/"+id.String())
}

// once has a manager record an entry of an id, unless the book has it: a button that is touched twice sends twice,
// and both may come at once.
func (p *pages) once(ctx echo.Context, id ledger.ID, record func(db.Principal) error) error {
	var who db.Principal
	had := false
	look := func() error {
		return p.manage(ctx, func(w db.Principal, _ db.Outfit, b *ledger.Book) error {
			e, _ := b.Entry(id)
			who, had = w, e != nil
			return nil
		})
	}
	if err := look(); err != nil || had {
		return err
	}
	err := record(who)
	if err != nil && look() == nil && had {
		return nil
	}
	return err
}

// beginsNow has the first step of a plan begin at once that was worked out from the next whole hour on: whoever goes
// by it need not wait for the hour.
func beginsNow(plan *ledger.AdoptedPlan, now time.Time) {
	if len(plan.Steps) == 0 {
		return
	}
	if at := plan.Steps[0].At; at != nil && at.After(now) && at.Sub(now) <= time.Hour {
		plan.Steps[0].At = &now
	}
}

// plannedBlankView is a plan as paper: what is to be done is ticked off, and what came is written beside what was
// expected. Nothing of it is recorded by itself.
type plannedBlankView struct {
	Title, Outfit, Entries, On, Note string
	Steps                            []stepShown
	Figures                          []figureShown
}

func (p *pages) plannedBlank(ctx echo.Context, of adoptable) error {
	plan, err := planned(ctx, of)
	if err != nil {
		return err
	}
	return p.blankOf(ctx, plan, p.Now())
}

func (p *pages) blankOf(ctx echo.Context, plan *ledger.AdoptedPlan, at time.Time) error {
	v := &plannedBlankView{Title: plan.Title, Note: plan.Note}
	var steps []held.Step
	var figures []held.Figure
	var f locale.Voice
	var through int64
	err := p.look(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		f, v.Outfit, through = request.VoiceFor(ctx, o, b), o.Name, b.Len()
		steps, figures = held.Planned(b, plan), held.Expected(b, plan, at)
		return nil
	})
	if err != nil {
		return err
	}
	v.Entries, v.On = f.Count(int(through)), f.Day(at)
	for _, s := range steps {
		v.Steps = append(v.Steps, stepShownOf(f, &s, nil))
	}
	for _, x := range figures {
		v.Figures = append(v.Figures, figureShownOf(f, &x))
	}
	return p.page(ctx, http.StatusOK, "adopted-blank.html", v)
}

// adoptedBlank is the sheet of a plan that somebody goes by.
func (p *pages) adoptedBlank(ctx echo.Context) error {
	var plan *ledger.AdoptedPlan
	var at time.Time
	err := p.look(ctx, func(_ db.Principal, _ db.Outfit, b *ledger.Book) error {
		e, err := adoptedOf(ctx, b)
		if err == nil {
			plan, at = e.Body.(*ledger.AdoptedPlan), e.OccurredAt
		}
		return err
	})
	if err != nil {
		return err
	}
	return p.blankOf(ctx, plan, at)
}

// adoptedOf is the plan that an address names.
func adoptedOf(ctx echo.Context, b *ledger.Book) (*ledger.Entry, error) {
	id, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		id = uuid.Nil
	}
	return plans.Adopted(b, id)
}

// adoptedView is a plan that somebody goes by, held against what came.
type adoptedView struct {
	Title, Note, Blank string
	Entry              entryLink
	// Left says how many steps are still to be done.
	Left    string
	Steps   []stepShown
	Figures []figureShown
	// Records: steps of it wait on Record. Manages: the reader may withdraw it.
	Records, Manages bool
}

func (p *pages) adoptedPage(ctx echo.Context) error {
	now := p.Now()
	return p.kept(ctx, "adopted.html", func(who db.Principal, b *ledger.Book) (wording, error) {
		e, err := adoptedOf(ctx, b)
		if err != nil {
			return nil, err
		}
		figures, err := held.Figures(b, e, now)
		if err != nil {
			return nil, err
		}
		steps, root, l := held.Steps(b, e, now), b.Root(e.ID), links{}
		l.add(b, root)
		for _, s := range steps {
			l.add(b, s.By...)
		}
		plan := e.Body.(*ledger.AdoptedPlan)
		v := &adoptedView{Title: plan.Title, Note: plan.Note, Blank: adoptedPath + "/" + root.String() + "/blank", Manages: who.Role == db.Manager}
		return func(f locale.Voice) any {
			v.Entry = l.to(f, root)
			v.held(f, steps, figures, l)
			return v
		}, nil
	})
}

func (v *adoptedView) held(f locale.Voice, steps []held.Step, figures []held.Figure, l links) {
	left := 0
	for i := range steps {
		s := &steps[i]
		v.Steps = append(v.Steps, stepShownOf(f, s, l))
		if !s.Done && !s.Lapsed {
			left++
			v.Records = v.Records || s.Does != ledger.PlanDelivers
		}
	}
	v.Left = f.Say("%s", message.Plural{N: float64(left), One: "%s step left", Other: "%s steps left"})
	for i := range figures {
		v.Figures = append(v.Figures, figureShownOf(f, &figures[i]))
	}
}

// adoptedPlans lists the plans that somebody goes by.
func adoptedPlans(b *ledger.Book) (out []adoptedRow) {
	all := b.AdoptedPlans()
	for _, e := range all[:min(len(all), mostAdopted)] {
		out = append(out, adoptedRow{adoptedPath + "/" + b.Root(e.ID).String(), e.Body.(*ledger.AdoptedPlan).Title, e.OccurredAt})
	}
	return out
}

// mostAdopted is how many of the latest are listed.
const mostAdopted = 20

type adoptedRow struct {
	Path, Title string
	At          time.Time
}
