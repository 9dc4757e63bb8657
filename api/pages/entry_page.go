package pages

import (
	"errors"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

func (p *pages) routeEntries(e *echo.Echo, m ...echo.MiddlewareFunc) {
	e.GET(journalPath, p.journal, m...)
	e.GET(journalPath+"/:id", p.entry, m...)
	e.GET(journalPath+"/:id/stored", p.stored, m...)
	e.GET(journalPath+"/:id/correct", p.correctForm, m...)
	e.POST(journalPath+"/:id/correct", p.correct)
	e.POST(journalPath+"/:id/withdraw", p.withdraw)
	e.POST(request.ResultCertificatesPath, p.putCertificate)
	e.GET("/entries/new", func(ctx echo.Context) error {
		return ctx.Redirect(http.StatusSeeOther, newEntryPath(ledger.Kind(ctx.QueryParam("kind"))))
	}, m...)
	e.GET("/entries/new/:kind", p.newForm, m...)
	e.POST("/entries/new/:kind", p.newEntry)
}

// newEntryPath is where an entry of a kind is written. What leaves is ticked, and a buyer's limits
// have fields of their own.
func newEntryPath(kind ledger.Kind) string {
	switch kind {
	case ledger.KindDispatch:
		return dispatchesPath + "/new"
	case ledger.KindRuleSet:
		return limitsPath + "/new"
	}
	return "/entries/new/" + url.PathEscape(string(kind))
}

// entryFormView is a form of an entry.
type entryFormView struct {
	Title, Kind string
	// Action is where it goes; Back where one goes without.
	Action, Back string
	ID           string
	// Correcting asks for a reason.
	Correcting bool
	Reason     string
	// Why says what was wrong with the whole; Errors count what was with parts.
	Why    string
	Errors int
	Fields []*form.Field
	// Others are errors of fields that the form does not show.
	Others []problemField
}

func (p *pages) newForm(ctx echo.Context) error {
	value := map[string]any{"occurred_at": p.Now().Format("2006-01-02T15:04:00Z07:00")}
	for name := range ctx.QueryParams() { // a link may fill in what it is about
		value[name] = ctx.QueryParam(name)
	}
	var f locale.Voice
	var things form.Things
	var kind ledger.Kind
	var by request.Recorded
	err := p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		if kind, by, err = p.kindParam(ctx, who); err == nil {
			f, things = request.VoiceFor(ctx, o, b), form.ThingsFor(b, by.Schema, value)
		}
		return err
	})
	if err != nil {
		return err
	}
	view := entryFormViewOf(form.NewMaker(f, things), kind, by, value)
	view.ID, view.Action, view.Back = uuid.NewString(), ctx.Request().URL.Path, "/settings"
	return p.page(ctx, http.StatusOK, "entry-form.html", view)
}

// kindParam is the kind in the address, if whoever asks may bring such entries.
func (p *pages) kindParam(ctx echo.Context, who db.Principal) (ledger.Kind, request.Recorded, error) {
	kind := ledger.Kind(ctx.Param("kind"))
	by, ok := p.recorded[kind]
	if !ok {
		return kind, by, echo.ErrNotFound
	}
	return kind, by, request.MayRecord(who.Role, kind)
}

func entryFormViewOf(m form.Maker, kind ledger.Kind, by request.Recorded, value map[string]any) *entryFormView {
	v := &entryFormView{Kind: string(kind), Title: kind.Noun().In(m), Fields: m.Fields(by.Schema, value), Errors: len(m.Errors)}
	shown := map[string]bool{}
	var walk func([]*form.Field)
	walk = func(fields []*form.Field) {
		for _, f := range fields {
			shown[f.Name] = true
			walk(f.Fields)
		}
	}
	walk(v.Fields)
	for _, pointer := range slices.Sorted(maps.Keys(m.Errors)) {
		if !shown[pointer] {
			v.Others = append(v.Others, problemField{pointer, m.Errors[pointer]})
		}
	}
	return v
}

// newEntry records what a form of a new entry holds.
func (p *pages) newEntry(ctx echo.Context) error {
	return p.submit(ctx, func(who db.Principal, b *ledger.Book) (*ledger.Entry, ledger.Kind, error) {
		kind, _, err := p.kindParam(ctx, who)
		return nil, kind, err
	})
}

func (p *pages) correctForm(ctx echo.Context) error {
	var f locale.Voice
	var things form.Things
	var kind ledger.Kind
	var value map[string]any
	var name message.Text
	err := p.manage(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		e, err := standing(ctx, b)
		if err != nil {
			return err
		}
		kind = entries.KindToCorrect(e)
		if p.recorded[kind].Schema == nil {
			return errNoSuchEntry
		}
		if value, err = entries.Value(e); err != nil {
			return err
		}
		f, things = request.VoiceFor(ctx, o, b), form.ThingsFor(b, p.recorded[kind].Schema, value)
		name = season.EntryName(b, e.ID)
		return nil
	})
	if err != nil {
		return err
	}
	view := entryFormViewOf(form.NewMaker(f, things), kind, p.recorded[kind], value)
	view.ID, view.Correcting = uuid.NewString(), true
	view.Title = f.Say("Correct: %s", name)
	view.Action, view.Back = ctx.Request().URL.Path, journalPath+"/"+ctx.Param("id")
	return p.page(ctx, http.StatusOK, "entry-form.html", view)
}

// standing is the latest version of the entry in the address.
func standing(ctx echo.Context, b *ledger.Book) (*ledger.Entry, error) {
	id, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		return nil, errNoSuchEntry
	}
	e := b.InForce(id)
	if e == nil {
		if had, _ := b.Entry(id); had != nil {
			return nil, fault.New(fault.Conflict, "This entry was withdrawn, so there is nothing left to correct.")
		}
		return nil, errNoSuchEntry
	}
	return e, nil
}

var errNoSuchEntry = fault.New(fault.NotFound, "The book has no such entry.")

func (p *pages) correct(ctx echo.Context) error {
	return p.submit(ctx, func(who db.Principal, b *ledger.Book) (*ledger.Entry, ledger.Kind, error) {
		if who.Role != db.Manager {
			return nil, "", errManagers
		}
		e, err := standing(ctx, b)
		if err == nil && p.recorded[entries.KindToCorrect(e)].Schema == nil {
			err = errNoSuchEntry
		}
		if err != nil {
			return nil, "", err
		}
		return e, entries.KindToCorrect(e), nil
	})
}

// submit takes a form in: adds or drops a line of it, or records what it
// holds. about says which entry it corrects, if any, and of which kind it is.
func (p *pages) submit(ctx echo.Context, about func(db.Principal, *ledger.Book) (*ledger.Entry, ledger.Kind, error)) error {
	typed, err := ctx.FormParams()
	if err != nil {
		return fault.New(fault.Malformed, "The form did not arrive whole. Please send it again.")
	}
	var who db.Principal
	var f locale.Voice
	var kind ledger.Kind
	var was map[string]any
	var tip ledger.ID
	err = p.look(ctx, func(w db.Principal, o db.Outfit, b *ledger.Book) error {
		who, f = w, request.VoiceFor(ctx, o, b)
		e, k, err := about(who, b)
		if err != nil {
			return err
		}
		if kind = k; e != nil {
			tip = b.Tip(e.ID).ID
			was, err = entries.Value(e)
		}
		return err
	})
	if err != nil {
		return err
	}
	m := form.NewMaker(f, form.Things{})
	value := m.Answers(p.recorded[kind].Schema, typed)
	value["id"], value["via"] = typed.Get("id"), "paper"
	if was != nil {
		m.Keep(was, value)
		value["replaces"], value["reason"], value["via"] = tip.String(), strings.TrimSpace(typed.Get("reason")), was["via"]
	}
	for name, v := range value {
		if v == nil || v == "" {
			delete(value, name)
		}
	}
	if typed.Get("do") != "save" || len(m.Errors) > 0 {
		return p.formAgain(ctx, m, kind, typed, value, "")
	}
	err = entries.Record(p.Service, ctx, who, kind, value)
	if f := (*fault.Error)(nil); errors.As(err, &f) && f.Code != fault.SignIn && f.Code != fault.Internal {
		for _, x := range f.Fields {
			m.Errors[x.Pointer] = x.Message.In(m)
		}
		return p.formAgain(ctx, m, kind, typed, value, f.Message.In(m))
	}
	if err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, recordedPath(typed.Get("id"), typed.Get("id")))
}

// formAgain shows a form with what was typed, and what was wrong with it.
func (p *pages) formAgain(ctx echo.Context, m form.Maker, kind ledger.Kind, typed url.Values, value map[string]any, why string) error {
	var things form.Things
	err := p.look(ctx, func(_ db.Principal, _ db.Outfit, b *ledger.Book) error {
		things = form.ThingsFor(b, p.recorded[kind].Schema, value)
		return nil
	})
	if err != nil {
		return err
	}
	m.Things = things
	view := entryFormViewOf(m, kind, p.recorded[kind], value)
	m.Retype(view.Fields, typed)
	view.ID, view.Reason, view.Why = typed.Get("id"), typed.Get("reason"), why
	view.Action = ctx.Request().URL.Path
	view.Back = strings.TrimSuffix(view.Action, "/correct")
	view.Correcting = view.Back != view.Action
	if !view.Correcting {
		view.Back = "/settings"
	}
	if pointer, ok := strings.CutPrefix(typed.Get("do"), "add "); ok {
		m.AddLine(view.Fields, pointer)
	}
	status := http.StatusOK
	if view.Why != "" || view.Errors > 0 {
		status = http.StatusUnprocessableEntity
	}
	return p.page(ctx, status, "entry-form.html", view)
}

// withdraw takes an entry back, or its last correction alone; of a withdrawn entry, the
// withdrawal.
func (p *pages) withdraw(ctx echo.Context) error {
	var who db.Principal
	var tip *ledger.Entry
	err := p.manage(ctx, func(w db.Principal, _ db.Outfit, b *ledger.Book) error {
		who = w
		e, err := standing(ctx, b)
		if err == nil {
			tip = b.Tip(e.ID)
		} else if id, _ := uuid.Parse(ctx.Param("id")); ctx.FormValue("takes") == ledger.TakesCorrection && b.Tip(id) != nil {
			tip, err = b.Tip(id), nil
		}
		return err
	})
	if err != nil {
		return err
	}
	value := map[string]any{
		"id": ctx.FormValue("id"), "occurred_at": p.Now().Format("2006-01-02T15:04:05Z07:00"),
		"replaces": tip.ID.String(), "reason": strings.TrimSpace(ctx.FormValue("reason")),
	}
	if takes := ctx.FormValue("takes"); takes != "" {
		value["takes"] = takes
	}
	if err := entries.Record(p.Service, ctx, who, ledger.KindWithdrawal, value); err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, recordedPath(ctx.Param("id"), ctx.FormValue("id")))
}
