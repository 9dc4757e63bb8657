package pages

import (
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// holdReasons are the reasons for a hold in the order in which a form offers
// them.
var holdReasons = []ledger.HoldReason{
	ledger.HeldForFermentation, ledger.HeldForLimit, ledger.HeldForFinding, ledger.HeldForRecall, ledger.HeldForOther,
}

// lotActions are the forms of what the reader may do about a lot.
type lotActions struct {
	// Records: the reader may bring entries; Manages: also what is a manager's.
	Records, Manages bool
	// Hold, Release, Override and Check are whether there is anything to do.
	Hold, Release, Check bool
	// IDs are those of the entries that the forms make, by what they do.
	IDs      map[string]string
	Why      []choice
	Checks   []choice
	RuleSets []choice
	// OtherSets are the rule sets that nobody of the outfit goes by.
	OtherSets []choice
	Refused   *refusedForm
}

// refusedForm is what a form held that the book refused, and why.
type refusedForm struct {
	Do string
	refusal
	// Note and Chosen are what was typed and ticked.
	Note   string
	Chosen []string
}

// By tells a form that was refused; empty for all others.
func (r *refusedForm) By(do string) *refusedForm {
	if r.Do == do {
		return r
	}
	return nil
}

// Typed is the note that a refused form held.
func (r *refusedForm) Typed(do string) string {
	if r.Do == do {
		return r.Note
	}
	return ""
}

func (v *lotView) actions(f locale.Voice, refused *refusedForm) lotActions {
	a := lotActions{Records: v.who.Role != db.Reader, Manages: v.who.Role == db.Manager, Refused: refused, IDs: map[string]string{}}
	if !a.Records {
		return a
	}
	for _, do := range []string{"hold", "release", "override", "check"} {
		a.IDs[do] = uuid.NewString()
	}
	a.Hold = v.status == ledger.StatusOpen || v.status == ledger.StatusReleased
	a.Check = len(v.report.Containers) > 0
	a.Release = a.Check && (v.status == ledger.StatusOpen || v.status == ledger.StatusHeld)
	for _, w := range holdReasons {
		a.Why = append(a.Why, choice{string(w), w.Text().In(f), slices.Contains(refused.Chosen, string(w))})
	}
	a.Checks = v.checkChoices(f, refused)
	for _, set := range v.every {
		used := slices.ContainsFunc(v.sets, func(u ledger.Resolved) bool { return u.ID == set.ID })
		c := choice{referenceOf(set), nameOfSet(f, set), used && len(v.sets) < len(v.every)}
		if refused.Do == "check" {
			c.Chosen = slices.Contains(refused.Chosen, c.Value)
		}
		if used {
			a.RuleSets = append(a.RuleSets, c)
			continue
		}
		a.OtherSets = append(a.OtherSets, c)
	}
	return a
}

// checkChoices are the checks that still speak of the lot, the latest first.
func (v *lotView) checkChoices(f locale.Voice, refused *refusedForm) (out []choice) {
	for _, e := range slices.Backward(v.checks) {
		if !e.outdated.IsEmpty() {
			continue
		}
		c := e.Body.(*ledger.Check)
		name := f.Say("entry %s, on %s: %s", e.Number, c.On.Said(), c.Sentence())
		out = append(out, choice{e.ID.String(), name, slices.Contains(refused.Chosen, e.ID.String())})
	}
	return out
}

// ownSet begins a reference to a rule set of the outfit's own; what names a
// published one has no such beginning.
const ownSet = "own:"

func referenceOf(set ledger.Resolved) string {
	if set.Root != (ledger.ID{}) {
		return ownSet + set.Root.String()
	}
	return set.ID
}

// decideLot does what a form on a lot's page asks for: it records the entry that
// a program would send.
func (p *pages) decideLot(ctx echo.Context) error {
	id, err := lotParam(ctx)
	if err != nil {
		return err
	}
	typed, err := ctx.FormParams()
	if err != nil {
		return fault.New(fault.Malformed, "The form did not arrive whole. Please send it again.")
	}
	var who db.Principal
	var day standard.Date
	again := false
	err = p.look(ctx, func(w db.Principal, _ db.Outfit, b *ledger.Book) error {
		who, day = w, reports.OnDay(p.Service, b, nil)
		if entry, err := uuid.Parse(typed.Get("id")); err == nil {
			had, _ := b.Entry(entry)
			again = had != nil
		}
		return nil
	})
	if err != nil {
		return err
	}
	if again { // sent twice
		return ctx.Redirect(http.StatusSeeOther, recordedOn(lotPath(id), typed.Get("id")))
	}
	kind, value := lotEntry(typed.Get("do"), id, day, typed)
	if value == nil {
		return echo.ErrNotFound
	}
	value["id"], value["occurred_at"] = typed.Get("id"), p.Now().Format(time.RFC3339Nano)
	err = entries.Record(p.Service, ctx, who, kind, value)
	var f *fault.Error
	switch {
	case errors.As(err, &f) && (f.Code == fault.Invalid || f.Code == fault.Conflict || f.Code == fault.Malformed):
		return p.lotRefused(ctx, id, f)
	case err != nil:
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, recordedOn(lotPath(id), typed.Get("id")))
}

// lotEntry is the entry that a form asks for, as the contract has it; nil where
// there is no such form.
func lotEntry(do string, lot ledger.ID, day standard.Date, typed map[string][]string) (ledger.Kind, map[string]any) {
	get := func(name string) string { return strings.TrimSpace(strings.Join(typed[name], "")) }
	value := map[string]any{"lot_id": lot.String()}
	if note := get("note"); note != "" {
		value["note"] = note
	}
	switch do {
	case "hold":
		value["status"] = string(ledger.StatusHeld)
		if why := get("why"); why != "" {
			value["why"] = why
		}
	case "release":
		value["status"] = string(ledger.StatusReleased)
		if check := get("check_id"); check != "" {
			value["check_id"] = check
		}
	case "override":
		value["status"], value["override"] = string(ledger.StatusReleased), true
	case "check":
		sets := []map[string]any{}
		for _, name := range typed["rule_set"] {
			if own, ok := strings.CutPrefix(name, ownSet); ok {
				sets = append(sets, map[string]any{"rule_set_id": own})
				continue
			}
			sets = append(sets, map[string]any{"standard": name})
		}
		value["on"], value["rule_sets"] = string(day), sets
		return ledger.KindCheck, value
	default:
		return "", nil
	}
	return ledger.KindLotStatus, value
}

// lotRefused shows the lot's page again with why the book refused, beside the
// form, which keeps what was typed.
func (p *pages) lotRefused(ctx echo.Context, id ledger.ID, because *fault.Error) error {
	var f locale.Voice
	var view *lotView
	err := p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		f = request.VoiceFor(ctx, o, b)
		view, err = p.lotView(who, b, id)
		return err
	})
	if err != nil {
		return err
	}
	typed := ctx.Request().PostForm
	refused := &refusedForm{Do: typed.Get("do"), refusal: refusalOf(f, because), Note: typed.Get("note")}
	refused.Chosen = slices.Concat(typed["rule_set"], typed["check_id"], typed["why"])
	return p.page(ctx, request.ProblemOf[because.Code].Status, "lot.html", view.inWords(f, refused))
}
