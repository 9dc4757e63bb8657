package pages

import (
	"net/http"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/ledger"
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
	err := p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) error {
		v.Manager = who.Role == db.Manager
		m := form.NewMaker(request.VoiceFor(ctx, o, b), b)
		for _, kind := range ledger.Kinds() {
			if !kind.SetUp() || p.recorded[kind].Schema == nil {
				continue
			}
			section := settingsSection{Kind: string(kind), Title: m.Say(sectionTitle[kind])}
			var failed error
			b.InForceOf(kind, func(root ledger.ID, e *ledger.Entry) bool {
				thing := settingsThing{ID: root.String(), Name: season.EntryName(b, root).In(m)}
				if value, err := entries.Value(e); err != nil {
					failed = err
				} else {
					delete(value, "occurred_at")
					delete(value, "name")
					for name, v := range value {
						if _, many := v.([]any); many { // its own page has them
							delete(value, name)
						}
					}
					thing.Lines = slices.DeleteFunc(linesOfEntry(m, p.recorded[kind], value), func(l entryLine) bool { return strings.Count(l.Label, ": ") > 1 })
				}
				section.Things = append(section.Things, thing)
				return failed == nil
			})
			if failed != nil {
				return failed
			}
			slices.SortFunc(section.Things, func(a, b settingsThing) int { return compareNames(a.Name, b.Name) })
			v.Sections = append(v.Sections, section)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "settings.html", v)
}

// sectionTitle is the plural of each kind that is set up.
var sectionTitle = map[ledger.Kind]string{
	ledger.KindSeason: "Seasons", ledger.KindYard: "Yards", ledger.KindSuperKind: "Kinds of super", ledger.KindContainerKind: "Kinds of container",
	ledger.KindRoom: "Rooms and stores", ledger.KindTank: "Tanks", ledger.KindInstrument: "Instruments", ledger.KindBuyer: "Buyers",
	ledger.KindRuleSet: "Buyers' limits and own rules",
}
