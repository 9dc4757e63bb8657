package pages

import (
	"errors"
	"net/http"
	"net/url"
	"slices"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

const limitsPath = "/settings/limits"

// A buyer's limits are asked for in plain fields. What they cannot say stays as it is where
// limits are changed, and the form of any entry can say it all.
func (p *pages) routeLimits(e *echo.Echo, m ...echo.MiddlewareFunc) {
	e.GET(limitsPath+"/new", p.limitsForm, m...)
	e.POST(limitsPath+"/new", p.sendLimits)
	e.GET(limitsPath+"/:id", p.limitsForm, m...)
	e.POST(limitsPath+"/:id", p.sendLimits)
}

// limitsAbout is what a form of limits is about, as its book has it.
type limitsAbout struct {
	who   db.Principal
	f     locale.Voice
	facts limitsFacts
	start *limitsStart
	on    standard.Date
	// root and tip are of the rule set that is changed; zero where a new one is written.
	root, tip ledger.ID
	at        string
	// had: an entry of the form's id is in the book already.
	had bool
}

func (p *pages) limitsForm(ctx echo.Context) error {
	a, err := p.limitsAbout(ctx, url.Values{"from": {ctx.QueryParam("from")}})
	if err != nil {
		return err
	}
	if a.start.set == nil && a.root != uuid.Nil { // of grades or classes
		return ctx.Redirect(http.StatusSeeOther, journalPath+"/"+a.root.String()+"/correct")
	}
	s := newSentLimits(a.f, a.start, url.Values{"id": {uuid.NewString()}}, a.root != uuid.Nil)
	s.typed.Set(currencyField, a.facts.currency)
	s.typedOf()
	return p.showLimits(ctx, http.StatusOK, a, s, refusal{})
}

// limitsAbout takes from the book what a form of limits is about.
func (p *pages) limitsAbout(ctx echo.Context, typed url.Values) (a limitsAbout, err error) {
	var f locale.Voice
	err = p.manage(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		f = request.VoiceFor(ctx, o, b)
		a = limitsAbout{who: who, on: reports.OnDay(p.Service, b, nil)}
		if id, err := uuid.Parse(typed.Get("id")); err == nil {
			e, _ := b.Entry(id)
			a.had = e != nil // sent twice
		}
		from := typed.Get("from")
		if ctx.Param("id") != "" {
			if from, err = a.change(ctx, b, from); err != nil {
				return err
			}
		}
		if a.root == uuid.Nil || from != "" {
			a.start, err = startOf(b, from, a.on)
		} else {
			a.start = &limitsStart{}
		}
		if err == nil {
			a.facts, err = limitsFactsOf(b, a)
		}
		return err
	})
	a.f = f
	return a, err
}

// change takes the rule set that is changed. It returns what the form starts from: the version in
// force, which has to be the one that the form was made of; nothing where the form cannot say it.
func (a *limitsAbout) change(ctx echo.Context, b *ledger.Book, from string) (string, error) {
	e, err := standing(ctx, b)
	if err != nil {
		return "", err
	}
	r, is := e.Body.(*ledger.RuleSet)
	if !is {
		return "", errNoSuchEntry
	}
	if from != "" && from != e.ID.String() {
		return "", fault.New(fault.Conflict, "Somebody changed these limits since you opened them. Open them again, and nothing of that change is lost.")
	}
	a.root, a.tip, a.at = b.Root(e.ID), b.Tip(e.ID).ID, e.OccurredAt.Format("2006-01-02T15:04:05.999999999Z07:00")
	a.facts.title = season.EntryName(b, e.ID)
	if r.Form != standard.FormLimits {
		return "", nil
	}
	return e.ID.String(), nil
}

func limitsFactsOf(b *ledger.Book, a limitsAbout) (facts limitsFacts, err error) {
	facts = a.facts
	b.InForceOf(ledger.KindBuyer, func(root ledger.ID, e *ledger.Entry) bool {
		facts.buyers = append(facts.buyers, choice{Value: root.String(), Name: e.Body.(*ledger.Buyer).Name})
		return true
	})
	b.InForceOf(ledger.KindRuleSet, func(_ ledger.ID, e *ledger.Entry) bool {
		r := e.Body.(*ledger.RuleSet)
		if r.Form == standard.FormLimits {
			facts.own = append(facts.own, choice{Value: e.ID.String(), Name: r.Name})
		}
		if r.Price != nil {
			facts.currency = r.Price.Currency
		}
		return true
	})
	for _, choices := range [][]choice{facts.buyers, facts.own} {
		slices.SortFunc(choices, func(x, y choice) int { return compareNames(x.Name, y.Name) })
	}
	facts.published, err = publishedStarts(a.on)
	return facts, err
}

// sendLimits starts the form anew from something else, works its examples out, or records
// what it holds.
func (p *pages) sendLimits(ctx echo.Context) error {
	typed, err := ctx.FormParams()
	if err != nil {
		return fault.New(fault.Malformed, "The form did not arrive whole. Please send it again.")
	}
	a, err := p.limitsAbout(ctx, typed)
	if err != nil {
		return err
	}
	if a.start.set == nil && a.root != uuid.Nil {
		return errNoSuchEntry
	}
	s := newSentLimits(a.f, a.start, typed, a.root != uuid.Nil)
	if typed.Get("do") == "start" {
		s.typedOf()
		return p.showLimits(ctx, http.StatusOK, a, s, refusal{})
	}
	value := s.entry()
	switch {
	case a.had:
		return ctx.Redirect(http.StatusSeeOther, p.limitsBookedAt(a, typed.Get("id"), value))
	case typed.Get("do") == "try" && len(s.wrong) == 0:
		return p.showLimits(ctx, http.StatusOK, a, s, refusal{})
	case len(s.wrong) > 0:
		return p.showLimits(ctx, http.StatusUnprocessableEntity, a, s, refusal{Why: a.f.Say("Nothing was written down yet: look at what is marked below.")})
	}
	value["id"], value["via"], value["occurred_at"] = typed.Get("id"), "paper", p.Now().Format("2006-01-02T15:04:05Z07:00")
	if s.correcting {
		value["occurred_at"], value["replaces"], value["reason"] = a.at, a.tip.String(), s.one("/reason")
	}
	err = entries.Record(p.Service, ctx, a.who, ledger.KindRuleSet, value)
	if f := (*fault.Error)(nil); errors.As(err, &f) && f.Code != fault.SignIn && f.Code != fault.Internal {
		return p.showLimits(ctx, http.StatusUnprocessableEntity, a, s, refusal{f.Message.In(a.f), s.refused(f)})
	}
	if err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, p.limitsBookedAt(a, typed.Get("id"), value))
}

// limitsBookedAt is where limits are seen at work: among the lots that are held to them. Limits that
// were changed show what that changes elsewhere, and those that do not hold today judge nothing.
func (p *pages) limitsBookedAt(a limitsAbout, id string, value map[string]any) string {
	from, _ := value["in_force_from"].(string)
	to, _ := value["in_force_to"].(string)
	if a.root != uuid.Nil || from > string(a.on) || to != "" && to < string(a.on) {
		return recordedPath(id, id)
	}
	return lotsPath + "?" + url.Values{"rule_set": {id}}.Encode()
}

func (p *pages) showLimits(ctx echo.Context, status int, a limitsAbout, s *sentLimits, wrong refusal) error {
	v := s.view(a.facts)
	v.refusal, v.Action, v.Back = wrong, ctx.Request().URL.Path, settingsPath
	if s.correcting {
		v.Full = journalPath + "/" + a.root.String() + "/correct"
	}
	return p.page(ctx, status, "limits.html", v)
}
