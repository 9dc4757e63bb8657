package pages

import (
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

const settingsPath = "/settings"

// settingsView is what an outfit has set up.
type settingsView struct {
	Manager  bool
	Sections []settingsSection
}

type settingsSection struct {
	Kind, Title string
	Things      []settingsThing
}

// settingsThing is a yard, a tank, a buyer's limits …, with what it says.
type settingsThing struct {
	ID, Name string
	Lines    []entryLine
}

// settings lists the set-up by kind. Buyers' limits are among it: they are rule
// sets of the outfit's own.
func (p *pages) settings(ctx echo.Context) error {
	var v settingsView
	var f locale.Voice
	var setUp []setUpOfKind
	err := p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) error {
		v.Manager, f = who.Role == db.Manager, request.VoiceFor(ctx, o, b)
		for _, kind := range ledger.Kinds() {
			if !kind.SetUp() || p.recorded[kind].Schema == nil {
				continue
			}
			of, err := p.setUpOf(b, kind)
			if err != nil {
				return err
			}
			setUp = append(setUp, of)
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, of := range setUp {
		v.Sections = append(v.Sections, p.settingsSection(f, of))
	}
	return p.page(ctx, http.StatusOK, "settings.html", v)
}

// setUpOfKind is what was set up of a kind: the root, name and answers of each thing.
type setUpOfKind struct {
	kind   ledger.Kind
	roots  []ledger.ID
	names  []message.Text
	values []map[string]any
	things form.Things
}

func (p *pages) setUpOf(b *ledger.Book, kind ledger.Kind) (of setUpOfKind, err error) {
	of.kind = kind
	b.InForceOf(kind, func(root ledger.ID, e *ledger.Entry) bool {
		var value map[string]any
		if value, err = entries.Value(e); err != nil {
			return false
		}
		of.roots, of.names, of.values = append(of.roots, root), append(of.names, season.EntryName(b, root)), append(of.values, value)
		return true
	})
	of.things = form.ThingsFor(b, p.recorded[kind].Schema, of.values...)
	return of, err
}

func (p *pages) settingsSection(f locale.Voice, of setUpOfKind) settingsSection {
	section := settingsSection{Kind: string(of.kind), Title: f.Say(sectionTitle[of.kind])}
	m := form.NewMaker(f, of.things)
	for i, value := range of.values {
		delete(value, "occurred_at")
		delete(value, "name")
		for name, v := range value {
			if _, many := v.([]any); many { // its own page has them
				delete(value, name)
			}
		}
		lines := slices.DeleteFunc(linesOfEntry(m, p.recorded[of.kind], value), func(l entryLine) bool { return strings.Count(l.Label, ": ") > 1 })
		section.Things = append(section.Things, settingsThing{of.roots[i].String(), of.names[i].In(f), lines})
	}
	slices.SortFunc(section.Things, func(a, b settingsThing) int { return compareNames(a.Name, b.Name) })
	return section
}

// sectionTitle is the plural of each kind that is set up.
var sectionTitle = map[ledger.Kind]string{
	ledger.KindSeason: "Seasons", ledger.KindYard: "Yards", ledger.KindSuperKind: "Kinds of super", ledger.KindContainerKind: "Kinds of container",
	ledger.KindRoom: "Rooms and stores", ledger.KindTank: "Tanks", ledger.KindInstrument: "Instruments", ledger.KindBuyer: "Buyers",
	ledger.KindRuleSet: "Buyers' limits and own rules",
}
