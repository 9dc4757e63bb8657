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
	"pullbook/domain/standard"
)

const settingsPath = "/settings"

// settingsView is what an outfit has set up.
type settingsView struct {
	Manager  bool
	Sections []settingsSection
}

type settingsSection struct {
	Kind, Title string
	// New is where one more is set up.
	New     string
	Columns []settingsColumn
	Things  []settingsThing
}

// settingsColumn is one thing that matters of each, with its unit.
type settingsColumn struct {
	Name, Unit string
	// Figures stand under one another at the right.
	Figures bool
}

// settingsThing is a yard, a tank, a buyer's limits …, with what matters of it.
type settingsThing struct {
	ID, Name, Change string
	Cells            []settingsCell
}

type settingsCell struct {
	Text    string
	Figures bool
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

// settingsColumns are the fields of each kind that matter at a glance; its own page has the rest.
var settingsColumns = map[ledger.Kind][]string{
	ledger.KindSeason: {"first", "last"}, ledger.KindYard: {"registration", "country"}, ledger.KindSuperKind: {"frames_per_super", "tare_kg", "usual_net_kg"},
	ledger.KindContainerKind: {"volume_l", "usual_tare_kg", "usual_net_kg"}, ledger.KindRoom: {"use", "usual_temperature_c"},
	ledger.KindTank: {"use", "capacity_kg", "hose_mark"}, ledger.KindInstrument: {"scale", "std_uncertainty", "check_every_days"},
	ledger.KindBuyer: {"address"}, ledger.KindRuleSet: {"citation"},
}

// settingsOf takes what is set up of a kind from a book, and returns what puts it into words.
func (p *pages) settingsOf(b *ledger.Book, kind ledger.Kind) (_ func(locale.Voice) settingsSection, err error) {
	var roots []ledger.ID
	var names []message.Text
	var values []map[string]any
	var briefs []limitsBrief
	b.InForceOf(kind, func(root ledger.ID, e *ledger.Entry) bool {
		var value map[string]any
		if value, err = entries.Value(e); err == nil {
			roots, names, values = append(roots, root), append(names, season.EntryName(b, root)), append(values, value)
		}
		if r, is := e.Body.(*ledger.RuleSet); is {
			briefs = append(briefs, briefOf(r))
		}
		return err == nil
	})
	by := p.recorded[kind]
	things := form.ThingsFor(b, by.Schema, values...)
	return func(f locale.Voice) settingsSection {
		section := settingsSection{Kind: string(kind), Title: f.Say(sectionTitle[kind]), New: newEntryPath(kind)}
		m := form.NewMaker(f, things)
		section.Columns = settingsHead(m, kind, by)
		for i, value := range values {
			thing := settingsThing{ID: roots[i].String(), Name: names[i].In(f), Change: journalPath + "/" + roots[i].String() + "/correct"}
			thing.Cells = settingsCells(m, kind, by, value)
			if kind == ledger.KindRuleSet {
				thing.Change = limitsPath + "/" + roots[i].String()
				thing.Cells = append(thing.Cells, settingsCell{briefs[i].limits(f), false}, settingsCell{briefs[i].price(f), true})
			}
			section.Things = append(section.Things, thing)
		}
		section.dropEmpty()
		slices.SortFunc(section.Things, func(a, b settingsThing) int { return compareNames(a.Name, b.Name) })
		return section
	}, err
}

// settingsHead are the columns of a kind.
func settingsHead(m form.Maker, kind ledger.Kind, by request.Recorded) (out []settingsColumn) {
	for _, f := range m.Only(by.Schema, nil, settingsColumns[kind]) {
		out = append(out, settingsColumn{f.Label, f.Unit, f.Control == "number"})
	}
	if kind == ledger.KindRuleSet {
		out = append(out, settingsColumn{m.Say("limits"), "", false}, settingsColumn{m.Say("price for each %s", m.Mass), "", true})
	}
	return out
}

// settingsCells are what matters of one thing. A unit stands in the head of its column.
func settingsCells(m form.Maker, kind ledger.Kind, by request.Recorded, value map[string]any) (out []settingsCell) {
	for _, f := range m.Only(by.Schema, value, settingsColumns[kind]) {
		figures := f.Control == "number"
		f.Unit = ""
		text := m.ShownValue(f)
		if f.Control == "date" && text != "" {
			text = m.Date(text)
		}
		out = append(out, settingsCell{text, figures})
	}
	return out
}

// dropEmpty leaves out columns in which nobody wrote anything.
func (s *settingsSection) dropEmpty() {
	for i := len(s.Columns) - 1; i >= 0; i-- {
		if slices.ContainsFunc(s.Things, func(t settingsThing) bool { return t.Cells[i].Text != "" }) {
			continue
		}
		s.Columns = slices.Delete(s.Columns, i, i+1)
		for j := range s.Things {
			s.Things[j].Cells = slices.Delete(s.Things[j].Cells, i, i+1)
		}
	}
}

// limitsBrief is what matters of a rule set at a glance.
type limitsBrief struct {
	said  []message.Text
	more  int
	terms *standard.PriceTerms
}

// mostBrief limits are said at a glance; those for all honeys come first.
const mostBrief = 4

func briefOf(r *ledger.RuleSet) (out limitsBrief) {
	out.terms = r.Price
	set, err := r.Compile("own", 1, "")
	if err != nil { // it was written by an earlier program
		out.more = len(r.Limits)
		return out
	}
	for i := range set.Limits {
		l := &set.Limits[i]
		if l.When != nil || l.Grade != "" || len(out.said) == mostBrief {
			out.more++
			continue
		}
		out.said = append(out.said, message.F("%s %s", l.SaidParameter(), l.Said()))
	}
	return out
}

func (x limitsBrief) limits(f locale.Voice) string {
	said := f.SayEach(x.said)
	if x.more > 0 {
		said = append(said, f.Say("and %s more", x.more))
	}
	return strings.Join(said, ", ")
}

func (x limitsBrief) price(f locale.Voice) string {
	if x.terms == nil {
		return ""
	}
	return f.PriceTyped(x.terms.PricePerKg.String(), x.terms.Currency) + "\u00a0" + x.terms.Currency
}

// sectionTitle is the plural of each kind that is set up.
var sectionTitle = map[ledger.Kind]string{
	ledger.KindSeason: "Seasons", ledger.KindYard: "Yards", ledger.KindSuperKind: "Kinds of super", ledger.KindContainerKind: "Kinds of container",
	ledger.KindRoom: "Rooms and stores", ledger.KindTank: "Tanks", ledger.KindInstrument: "Instruments", ledger.KindBuyer: "Buyers",
	ledger.KindRuleSet: "Buyers' limits and own rules",
}
