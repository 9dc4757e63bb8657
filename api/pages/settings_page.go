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
	var sections []func(locale.Voice) settingsSection
	err := p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) error {
		v.Manager, f = who.Role == db.Manager, request.VoiceFor(ctx, o, b)
		for _, kind := range ledger.Kinds() {
			if !kind.SetUp() || p.recorded[kind].Schema == nil {
				continue
			}
			section, err := p.settingsOf(b, kind)
			if err != nil {
				return err
			}
			sections = append(sections, section)
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, section := range sections {
		v.Sections = append(v.Sections, section(f))
	}
	return p.page(ctx, http.StatusOK, "settings.html", v)
}

// settingsOf takes what is set up of a kind from a book, and returns what puts it into words.
func (p *pages) settingsOf(b *ledger.Book, kind ledger.Kind) (_ func(locale.Voice) settingsSection, err error) {
	var roots []ledger.ID
	var names []message.Text
	var values []map[string]any
	b.InForceOf(kind, func(root ledger.ID, e *ledger.Entry) bool {
		var value map[string]any
		if value, err = entries.Value(e); err == nil {
			roots, names, values = append(roots, root), append(names, season.EntryName(b, root)), append(values, value)
		}
		return err == nil
	})
	by := p.recorded[kind]
	things := form.ThingsFor(b, by.Schema, values...)
	return func(f locale.Voice) settingsSection {
		section := settingsSection{Kind: string(kind), Title: f.Say(sectionTitle[kind])}
		for i, value := range values {
			delete(value, "occurred_at")
			delete(value, "name")
			for name, v := range value {
				if _, many := v.([]any); many { // its own page has them
					delete(value, name)
				}
			}
			lines := linesOfEntry(form.NewMaker(f, things), by, value)
			lines = slices.DeleteFunc(lines, func(l entryLine) bool { return strings.Count(l.Label, ": ") > 1 })
			section.Things = append(section.Things, settingsThing{roots[i].String(), names[i].In(f), lines})
		}
		slices.SortFunc(section.Things, func(a, b settingsThing) int { return compareNames(a.Name, b.Name) })
		return section
	}, err
}

// sectionTitle is the plural of each kind that is set up.
var sectionTitle = map[ledger.Kind]string{
	ledger.KindSeason: "Seasons", ledger.KindYard: "Yards", ledger.KindSuperKind: "Kinds of super", ledger.KindContainerKind: "Kinds of container",
	ledger.KindRoom: "Rooms and stores", ledger.KindTank: "Tanks", ledger.KindInstrument: "Instruments", ledger.KindBuyer: "Buyers",
	ledger.KindRuleSet: "Buyers' limits and own rules",
}
