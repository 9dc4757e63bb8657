package pages

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

const (
	findingsPath = "/findings"
	acceptPath   = findingsPath + "/accept"
)

// findingsView is what does not add up, most honey first.
type findingsView struct {
	Mass, InQuestion string
	Count            int
	// MayAccept is whether the reader may settle a finding.
	MayAccept bool
	Open      []finding
	// Earlier and Later are the addresses of the other leaves of the list.
	Earlier, Later string
	From, To       int
	Settled        []settledFinding
	SettledCount   int
	Sift           siftView
}

type finding struct {
	ID              string
	EntryID, Code   string
	Sentence        string
	Expected, Found string
	Chance          chanceView
	Mass            string
	Happened, By    string
	Entries         []entryLink
	MoreEntries     int
	// Gone is where it is said what became of old stock; empty for other findings.
	Gone string
	Why  []string
	// Reason was typed and Wrong says why it would not do.
	Reason, Wrong string
}

// chanceView says in words how likely chance alone explains something, and the figure
// behind that.
type chanceView struct{ Words, Figure string }

type entryLink struct{ Address, Name string }

type settledFinding struct {
	ID, Sentence, Reason, By, When string
	Entry                          entryLink
}

// How many findings a leaf of the list has, and entries are named for each.
const (
	findingsOnALeaf = 40
	mostEntries     = 6
	mostSettled     = 200
	mostSifted      = 1000
)

// findingID is where a finding stands on its page.
func findingID(f ledger.Flag) string {
	return fmt.Sprintf("%s-%s", f.Code, f.Entry)
}

func (p *pages) findings(ctx echo.Context) error {
	from, _ := strconv.Atoi(ctx.QueryParam("from"))
	asked, err := siftingAsked(ctx)
	if err != nil {
		return err
	}
	return p.kept(ctx, "findings.html", func(who db.Principal, b *ledger.Book) (wording, error) {
		words := leafOfFindings(b, who, asked, from)
		return func(f locale.Voice) any { return words(f) }, nil
	})
}

// leafOfFindings takes a leaf of the findings from a book, and returns what puts it into words.
// Of more findings than mostSifted, those about the most honey are looked through for what is asked for.
func leafOfFindings(b *ledger.Book, who db.Principal, asked sifting, from int) func(locale.Voice) *findingsView {
	list, links := season.Evening(b), links{}
	odd := func(flags []*ledger.Flag) (out []season.Odd) {
		for _, flag := range flags {
			o := season.OddOf(b, flag)
			o.Entries = slices.Clone(o.Entries)
			links.add(b, append(o.Entries, o.Entry)...)
			out = append(out, o)
		}
		return out
	}
	leaf := findingsLeaf{EveningList: list, links: links, asked: asked, mayAccept: request.MayRecord(who.Role, ledger.KindAcceptance) == nil}
	if asked.on() {
		leaf.from, leaf.open = from, odd(list.Open[:min(len(list.Open), mostSifted)])
	} else {
		leaf.first = max(0, min(from, len(list.Open)-1))
		leaf.open = odd(list.Open[leaf.first:min(leaf.first+findingsOnALeaf, len(list.Open))])
	}
	leaf.settled = odd(list.Settled[:min(len(list.Settled), mostSettled)])
	return leaf.inWords
}

// findingsLeaf is what was taken from a book for a leaf of its findings.
type findingsLeaf struct {
	season.EveningList
	links         links
	asked         sifting
	mayAccept     bool
	open, settled []season.Odd
	// first is where in the list open begins. Where some are asked for, open are all of them, and
	// from is where the leaf begins among those that match.
	first, from int
}

func (l findingsLeaf) inWords(f locale.Voice) *findingsView {
	v := &findingsView{
		Mass: f.Mass, InQuestion: f.Grams(l.OpenG), Count: len(l.Open), SettledCount: len(l.Settled), MayAccept: l.mayAccept,
	}
	for _, o := range l.open {
		if x := findingOf(f, l.links, o); l.asked.day(o.OccurredAt.In(f.Zone)) && l.asked.holds(x.says()...) {
			v.Open = append(v.Open, x)
		}
	}
	for _, o := range l.settled {
		x := settledFinding{findingID(o.Flag), o.Sentence.In(f), o.Reason, o.SettledBy, f.Minute(o.SettledAt), l.links.to(f, o.Entry)}
		if (l.asked.day(o.OccurredAt.In(f.Zone)) || l.asked.day(o.SettledAt.In(f.Zone))) && l.asked.holds(x.Sentence, x.Reason, x.By, x.When, x.Entry.Name) {
			v.Settled = append(v.Settled, x)
		}
	}
	first, matching := l.first, len(l.Open)
	if l.asked.on() {
		matching = len(v.Open)
		first = max(0, min(l.from, matching-1))
		v.Open = v.Open[first:min(first+findingsOnALeaf, matching)]
	}
	v.From, v.To = first+1, first+len(v.Open)
	if first > 0 {
		v.Earlier = l.asked.with(findingsPath, "from", strconv.Itoa(max(0, first-findingsOnALeaf)))
	}
	if v.To < matching {
		v.Later = l.asked.with(findingsPath, "from", strconv.Itoa(v.To))
	}
	v.Sift = l.asked.view(f, findingsPath, len(v.Open)+len(v.Settled), len(l.Open)+len(l.Settled))
	return v
}

// says are the words of a finding.
func (x finding) says() []string {
	out := append([]string{x.Sentence, x.Expected, x.Found, x.Mass, x.Chance.Words, x.Happened, x.By}, x.Why...)
	for _, e := range x.Entries {
		out = append(out, e.Name)
	}
	return out
}

func findingOf(f locale.Voice, l links, o season.Odd) finding {
	x := finding{
		ID: findingID(o.Flag), EntryID: o.Entry.String(), Code: string(o.Code), Sentence: o.Sentence.In(f),
		Found: flagged(f, o.Unit, o.Found), Happened: f.Minute(o.OccurredAt), By: o.RecordedBy,
		Entries: []entryLink{l.to(f, o.Entry)},
	}
	if o.Expected != 0 || o.Code == ledger.Overdrawn || o.Code == ledger.StocktakeFarOff {
		x.Expected = flagged(f, o.Unit, o.Expected)
	}
	if o.Unit == "" || o.Found == 0 && x.Expected == "" {
		x.Found = ""
	}
	if o.MassG != 0 {
		x.Mass = f.Grams(o.MassG)
	}
	if o.Code == ledger.OldStock {
		x.Gone = gonePath(o.Entry)
	}
	if !o.Chance.IsEmpty() {
		x.Chance = chanceView{o.Chance.In(f), f.Say("Good scales and readings alone are this far off %s.", oneIn(f, o.Unlikely))}
	}
	for _, why := range o.Why {
		x.Why = append(x.Why, why.In(f))
	}
	others, more := l.some(f, o.Entries, mostEntries)
	x.Entries, x.MoreEntries = append(x.Entries, others...), more
	return x
}

// links are the entries that now stand for what some ids name.
type links map[ledger.ID]*ledger.Entry

// add looks more of them up.
func (l links) add(b *ledger.Book, ids ...ledger.ID) {
	for _, id := range ids {
		if l[id] = b.InForce(id); l[id] == nil {
			l[id], _ = b.Entry(id)
		}
	}
}

// to names the entry that stands for what id names.
func (l links) to(f locale.Voice, id ledger.ID) entryLink {
	e := l[id]
	if e == nil {
		return entryLink{Name: locale.Missing}
	}
	return entryLink{journalPath + "/" + e.ID.String(), f.Say("entry %s", e.Number)}
}

// some names some entries, and counts the rest.
func (l links) some(f locale.Voice, ids []ledger.ID, most int) (out []entryLink, more int) {
	for _, id := range ids[:min(len(ids), most)] {
		out = append(out, l.to(f, id))
	}
	return out, len(ids) - len(out)
}

// flagged is a figure of a finding in the outfit's units.
func flagged(f locale.Voice, unit string, v float64) string {
	switch unit {
	case "kg":
		return f.Number(v*1000/f.GramsPerUnit, 1) + " " + f.Mass
	case "%":
		return f.Number(v, 1) + " %"
	case "C":
		return f.Say("%s", message.Celsius(v))
	case "ratio", "pH":
		return f.Number(v, -2)
	case "supers":
		return supers(f, int(v))
	case "containers":
		return f.Say("%s", message.Plural{N: v, One: "%s container", Other: "%s containers"})
	case "d":
		return f.Say("%s", message.Plural{N: v, One: "%s day", Other: "%s days"})
	case "h":
		return f.Say("%s h", message.Number{V: v})
	}
	return f.Number(v, -2) + " " + unit
}

// oneIn says a probability as one speaks of it: "about 1 time in 16,000".
func oneIn(f locale.Voice, probability float64) string {
	switch {
	case probability < 1e-6:
		return f.Say("less than 1 time in a million")
	case probability >= 0.5:
		return f.Say("more than half of the time")
	}
	return f.Say("about 1 time in %s", f.Number(twoFigures(1/probability), 0))
}

// twoFigures rounds to two significant figures.
func twoFigures(v float64) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', 1, 64), 64)
	if err != nil {
		return v
	}
	return rounded
}

// longestReason is as the contract has it.
const longestReason = 500

// acceptFinding settles a finding with a reason, as an acceptance sent to the API
// would.
func (p *pages) acceptFinding(ctx echo.Context) error {
	var who db.Principal
	var f locale.Voice
	var words func(locale.Voice) *findingsView
	var root ledger.ID
	code, reason := ledger.Code(ctx.FormValue("flag")), strings.TrimSpace(ctx.FormValue("reason"))
	entry, _ := uuid.Parse(ctx.FormValue("entry"))
	var wrong message.Text
	switch {
	case reason == "":
		wrong = message.F("Say why it is so: whoever looks at this later has only your words.")
	case utf8.RuneCountInString(reason) > longestReason:
		wrong = message.F("This is too long: %s characters at most.", longestReason)
	}
	err := p.look(ctx, func(as db.Principal, o db.Outfit, b *ledger.Book) error {
		who = as
		if err := request.MayRecord(who.Role, ledger.KindAcceptance); err != nil {
			return err
		}
		if !wrong.IsEmpty() {
			f = request.VoiceFor(ctx, o, b)
			words, root = leafOfFindings(b, who, sifting{}, leafOf(b, entry, code)), b.Root(entry)
		}
		return nil
	})
	switch {
	case err != nil:
		return err
	case !wrong.IsEmpty():
		view := words(f)
		view.refuse(root, code, reason, wrong.In(f))
		return p.page(ctx, http.StatusUnprocessableEntity, "findings.html", view)
	}
	body := &ledger.Acceptance{EntryID: entry, Flag: code}
	if _, err := entries.Put(p.Service, ctx, who, &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: p.Now(), Reason: reason, Body: body}); err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, findingsPath+"#"+findingID(ledger.Flag{Code: code, Entry: entry}))
}

// leafOf is where the leaf begins on which a finding stands.
func leafOf(b *ledger.Book, entry ledger.ID, code ledger.Code) int {
	at := slices.IndexFunc(season.Evening(b).Open, func(f *ledger.Flag) bool { return f.Entry == b.Root(entry) && f.Code == code })
	return max(0, at) / findingsOnALeaf * findingsOnALeaf
}

// refuse keeps what was typed beside the finding.
func (v *findingsView) refuse(entry ledger.ID, code ledger.Code, reason, wrong string) {
	id := findingID(ledger.Flag{Code: code, Entry: entry})
	for i := range v.Open {
		if v.Open[i].ID == id {
			v.Open[i].Reason, v.Open[i].Wrong = reason, wrong
		}
	}
}
