package pages

import (
	"encoding/hex"
	"fmt"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/away"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

const journalPath = "/journal"

// journalView is the book as it was written, latest first.
type journalView struct {
	Kinds, People []form.Option
	// New are the kinds of which whoever looks may write an entry.
	New  []form.Option
	Rows []journalRow
	Sift siftView
	// Older is where the next page begins; empty where there is none. Back is how far back the
	// entries of this page were looked through for words; empty where to the first.
	Older, Back string
}

type journalRow struct {
	ID, Number, Kind, What, Happened, Recorded, By string
	// Mark says what became of it: corrected, withdrawn, or that it corrects.
	Mark string
}

const (
	// rowsOfJournal are on a page.
	rowsOfJournal = 100
	// lookedAtOnce are put into words before the book is held again.
	lookedAtOnce = 1000
	// lookedThrough are looked through at most for words, at each page.
	lookedThrough = 20_000
)

// journalAsked is what the address of the journal asks for.
type journalAsked struct {
	sifting
	kind   ledger.Kind
	person string
	// before is the number of the entry above those of the page; 0 where the page is the first.
	before int64
}

func journalAskedBy(ctx echo.Context) (a journalAsked, err error) {
	if a.sifting, err = siftingAsked(ctx); err != nil {
		return a, err
	}
	// Addresses of one day are about still.
	day, err := siftDay(ctx, "day")
	if err != nil {
		return a, err
	}
	if day != "" && a.from == "" && a.to == "" {
		a.from, a.to = day, day
	}
	a.kind, a.person = ledger.Kind(ctx.QueryParam("kind")), ctx.QueryParam("person")
	if a.before, err = strconv.ParseInt(ctx.QueryParam("before"), 10, 64); err != nil {
		a.before = 0
	}
	return a, nil
}

// journal lists entries, latest first, of a kind, a person or some days if one asks.
func (p *pages) journal(ctx echo.Context) error {
	asked, err := journalAskedBy(ctx)
	if err != nil {
		return err
	}
	var v journalView
	look := journalLook{journalAsked: asked}
	for more := true; more; {
		err := p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) error {
			look.voice, look.as = request.VoiceFor(ctx, o, b), who.Role
			look.some(b)
			return nil
		})
		if err != nil {
			return err
		}
		more = look.inWords(&v)
	}
	look.tellRest(&v)
	p.offerKinds(&v, look.voice, look.as, asked.kind)
	who, err := p.Visitor(ctx)
	if err != nil {
		return err
	}
	people, err := p.DB.People(ctx.Request().Context(), who.Outfit)
	if _, known := request.KnownAt(ctx); err != nil && !(known && away.Unavailable(err)) {
		return err // while the database is away, nobody is offered to choose
	}
	for _, x := range people {
		v.People = append(v.People, form.Option{Value: x.Name, Label: x.Name, Chosen: x.Name == asked.person})
	}
	return p.page(ctx, http.StatusOK, "journal.html", v)
}

// journalLook looks the journal through, some entries at a time: the book is held while they are
// taken, and free while they are put into words.
type journalLook struct {
	journalAsked
	voice locale.Voice
	as    db.Role
	// lines wait to be put into words.
	lines []journalLine
	// at is the number of the entry to look at next, began where the page began, and all how many
	// entries the book has.
	at, began, all int64
}

// some takes the next entries of those asked for, whatever their words.
func (l *journalLook) some(b *ledger.Book) {
	if l.began == 0 {
		l.began = b.Len()
		if l.before > 0 && l.before <= l.began {
			l.began = l.before - 1
		}
		l.at, l.all = l.began, b.Len()
	}
	most := rowsOfJournal + 1 // one more tells that there is an older one
	if len(l.words) > 0 {
		most = lookedAtOnce
	}
	l.lines = l.lines[:0]
	for ; l.at > 0 && len(l.lines) < most; l.at-- {
		if e := b.Numbered(l.at); l.asksFor(b, e) {
			_, by := b.Entry(e.ID)
			l.lines = append(l.lines, journalLine{e, by, entryName(l.as, b, e), len(b.PhotosOf(e.ID))})
		}
	}
}

// asksFor reports whether an entry is of the kind, the person and the days asked for.
func (l *journalLook) asksFor(b *ledger.Book, e *ledger.Entry) bool {
	return (l.kind == "" || e.Kind == l.kind) && (l.person == "" || e.RecordedBy == l.person) &&
		(l.from == "" && l.to == "" || l.day(e.OccurredAt.In(b.Location())))
}

// inWords puts into words what was taken, and reports whether the page has room for more, and
// there is more.
func (l *journalLook) inWords(v *journalView) bool {
	for _, line := range l.lines {
		row := line.row(l.voice)
		if !l.holds(row.Number, row.Kind, row.What, row.Happened, row.By, row.Mark) {
			continue
		}
		if len(v.Rows) == rowsOfJournal {
			l.at = line.Number
			return false
		}
		v.Rows = append(v.Rows, row)
	}
	return l.at > 0 && len(v.Rows) < rowsOfJournal && l.began-l.at < lookedThrough
}

// tellRest tells how much of the journal is shown, and where the rest is.
func (l *journalLook) tellRest(v *journalView) {
	v.Sift = l.view(l.voice, journalPath, len(v.Rows), int(l.all))
	v.Sift.On = l.on() || l.kind != "" || l.person != ""
	if l.at == 0 {
		return
	}
	v.Older = l.with(journalPath, "kind", string(l.kind), "person", l.person, "before", strconv.FormatInt(l.at+1, 10))
	if len(l.words) > 0 {
		v.Back = l.voice.Count(int(l.at + 1))
	}
}

// entryName is how an entry is spoken of to somebody of a role.
func entryName(role db.Role, b *ledger.Book, e *ledger.Entry) message.Text {
	if entries.Withheld(role, e) {
		return message.F("people, keys or settings were changed; managers can see what")
	}
	return season.EntryName(b, e.ID)
}

// offerKinds lists the kinds of entry by their names, to look at and to write.
func (p *pages) offerKinds(v *journalView, f locale.Voice, role db.Role, chosen ledger.Kind) {
	for _, k := range append(ledger.Kinds(), ledger.KindUnreadable) {
		option := form.Option{Value: string(k), Label: k.Noun().In(f), Chosen: k == chosen}
		v.Kinds = append(v.Kinds, option)
		if p.recorded[k].Schema != nil && k != ledger.KindWithdrawal && k != ledger.KindAcceptance && request.MayRecord(role, k) == nil {
			v.New = append(v.New, option)
		}
	}
	byLabel := func(a, b form.Option) int { return compareNames(a.Label, b.Label) }
	slices.SortFunc(v.Kinds, byLabel)
	slices.SortFunc(v.New, byLabel)
}

// journalLine is an entry of the journal, what replaced it, if anything, and its name.
type journalLine struct {
	*ledger.Entry
	by   *ledger.Entry
	name message.Text
	// pictures is how many stand that were taken with it.
	pictures int
}

func (e journalLine) row(f locale.Voice) journalRow {
	row := journalRow{
		ID: e.ID.String(), Number: f.Count(int(e.Number)), Kind: e.Kind.Noun().In(f), What: e.name.In(f),
		Happened: f.Minute(e.OccurredAt), Recorded: f.Minute(e.RecordedAt), By: e.RecordedBy,
	}
	switch {
	case e.by != nil && e.by.Kind == ledger.KindWithdrawal:
		row.Mark = f.Say("withdrawn")
	case e.by != nil:
		row.Mark = f.Say("corrected since")
	case e.Kind != ledger.KindWithdrawal && e.Replaces != uuid.Nil:
		row.Mark = f.Say("a correction")
	}
	if e.pictures > 0 {
		with := f.Say("%s", message.Plural{N: float64(e.pictures), One: "%s picture", Other: "%s pictures"})
		row.Mark = strings.TrimPrefix(row.Mark+" · "+with, " · ")
	}
	return row
}

// entryView is one entry with all that was ever said about it.
type entryView struct {
	Title, Kind string
	Versions    []versionView
	Odd         []string
	// Elsewhere is nil except right after the entry, its correction or withdrawal was recorded.
	Elsewhere *elsewhereView
	// CanCorrect: whoever looks is a manager, and the entry stands.
	CanCorrect bool
	// CanWithdraw: so may be the entries of an import, by it, which has no form.
	CanWithdraw bool
	// CanBringBack: whoever looks is a manager, and the entry was withdrawn.
	CanBringBack bool
	// Before is the number of the entry that the last correction corrected; empty where the
	// entry was not corrected.
	Before        string
	ID, Withdrawn string
	NewID         string
	// Papers are the certificates of a laboratory's result, or the one that the entry is.
	Papers papersView
	// Pictures were taken with the entry; PictureOf is where the entry of a picture is.
	Pictures  []pictureView
	PictureOf string
}

// versionView is an entry as it was written once: the first, or a correction.
type versionView struct {
	// With are the other entries of the finding that it settles too.
	With                                                []entryLink
	MoreWith                                            string
	Number, Happened, Recorded, By, Via, Digest, Reason string
	Current                                             bool
	Lines                                               []entryLine
	// Unreadable says why nothing of it can be shown, and Stored where its text is.
	Unreadable, Stored string
}

// entryLine is a field of an entry. Was is what the version before had, where
// that was something else.
type entryLine struct {
	Label, Value, Typed, Was string
	Changed                  bool
}

// entry shows an entry, its corrections, and what is odd about it.
func (p *pages) entry(ctx echo.Context) error {
	id, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		return errNoSuchEntry
	}
	var f locale.Voice
	var who db.Principal
	var words func(locale.Voice) *entryView
	err = p.look(ctx, func(w db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		who, f = w, request.VoiceFor(ctx, o, b)
		words, err = p.tellEntry(b, who.Role, id)
		return err
	})
	if err != nil {
		return err
	}
	view := words(f)
	reply, err := p.replyShown(ctx)
	if err != nil {
		return err
	}
	view.Elsewhere = elsewhereViewOf(f, reply)
	return p.page(ctx, http.StatusOK, "entry.html", view)
}

// toldVersion is a version of an entry. It has no value where the contract has no form for it.
type toldVersion struct {
	*ledger.Entry
	value  map[string]any
	things form.Things
	// with are the first of the other entries that it settles the finding of, and moreWith
	// says how many more there are.
	with     []*ledger.Entry
	moreWith int
}

// mostSettledToo bounds those that a page lists.
const mostSettledToo = 50

func settledToo(b *ledger.Book, a *ledger.Acceptance) (with []*ledger.Entry, more int) {
	for _, id := range a.With[:min(len(a.With), mostSettledToo)] {
		if e, _ := b.Entry(id); e != nil {
			with = append(with, e)
		}
	}
	return with, max(0, len(a.With)-mostSettledToo)
}

// tellEntry takes from a book what is told of an entry, and returns what puts it into words.
func (p *pages) tellEntry(b *ledger.Book, role db.Role, id ledger.ID) (func(locale.Voice) *entryView, error) {
	chain := b.Chain(id)
	if len(chain) == 0 {
		return nil, errNoSuchEntry
	}
	var versions []toldVersion
	for _, e := range chain {
		version := toldVersion{Entry: e}
		if by := p.recorded[e.Kind]; by.Schema != nil {
			var err error
			if version.value, err = entries.Value(e); err != nil {
				return nil, err
			}
			version.things = form.ThingsFor(b, by.Schema, version.value)
		}
		if a, is := e.Body.(*ledger.Acceptance); is {
			version.with, version.moreWith = settledToo(b, a)
		}
		versions = append(versions, version)
	}
	name := entryName(role, b, chain[0])
	var odd []message.Text
	if tip := b.Tip(id); tip.Kind == ledger.KindUnreadable {
		odd = append(odd, season.Sentence(b, ledger.Flag{Code: ledger.EntryUnreadable, Entry: b.Root(id)}))
	}
	for _, f := range b.State().FlagsOn(id) {
		odd = append(odd, season.Sentence(b, f))
	}
	standing := b.InForce(id)
	mayWithdraw := role == db.Manager && standing != nil && !b.Final(id)
	mayCorrect := mayWithdraw && p.recorded[entries.KindToCorrect(standing)].Schema != nil
	mayBringBack := role == db.Manager && standing == nil && !b.TakenBack(id) && !b.Final(id) && chain[0].Kind != ledger.KindImport && !chain[0].Kind.Files()
	corrected := correctedBy(b, id)
	papers := papersOf(b, role, id)
	pictures, pictureOf := picturesOf(b, id)
	return func(f locale.Voice) *entryView {
		v := &entryView{Title: name.In(f), Kind: chain[0].Kind.Noun().In(f), ID: chain[0].ID.String(), NewID: uuid.NewString(), Odd: f.SayEach(odd)}
		p.showVersions(v, f, role, versions)
		v.CanWithdraw, v.CanCorrect = mayWithdraw && v.Withdrawn == "", mayCorrect && v.Withdrawn == ""
		v.CanBringBack = mayBringBack && v.Withdrawn != ""
		v.Papers = papers.inWords(f)
		v.Pictures, v.PictureOf = pictureRows(f, pictures), pictureOf
		if v.CanWithdraw && corrected > 0 {
			v.Before = f.Count(int(corrected))
		}
		return v
	}, nil
}

// correctedBy is the number of the entry that the last correction of what id names corrected,
// and that stands again once the correction is withdrawn; 0 where there is none.
func correctedBy(b *ledger.Book, id ledger.ID) int64 {
	before, _ := b.Entry(b.Tip(id).Replaces)
	if before == nil || before.Kind == ledger.KindWithdrawal || before.Kind == ledger.KindUnreadable {
		return 0
	}
	return before.Number
}

func (p *pages) showVersions(v *entryView, f locale.Voice, role db.Role, versions []toldVersion) {
	first := versions[0]
	var before []entryLine
	for i, e := range versions {
		if e.Kind == ledger.KindWithdrawal && first.Kind != ledger.KindWithdrawal {
			v.Withdrawn = f.Say("Withdrawn by %s on %s: %s", e.RecordedBy, f.Minute(e.RecordedAt), e.Reason)
			continue
		}
		if e.Kind != ledger.KindUnreadable {
			v.Withdrawn = "" // brought back
		}
		var lines []entryLine
		if e.value != nil {
			lines = linesOfEntry(form.NewMaker(f, e.things), p.recorded[e.Kind], e.value)
		}
		version := versionView{
			Number: f.Count(int(e.Number)), Happened: f.Minute(e.OccurredAt), Recorded: f.Minute(e.RecordedAt), By: e.RecordedBy,
			Digest: hex.EncodeToString(e.Digest[:8]), Reason: e.Reason, Current: i == len(versions)-1,
			Lines: lines,
		}
		if u, is := e.Body.(*ledger.Unreadable); is && !entries.Withheld(role, e.Entry) {
			version.Unreadable, version.Stored = u.Why, journalPath+"/"+e.ID.String()+"/stored"
		}
		if e.Via != "" {
			version.Via = f.Say(request.ChoiceOf(string(e.Via)))
		}
		for _, other := range e.with {
			version.With = append(version.With, entryLink{journalPath + "/" + other.ID.String(), f.Say("entry %s", f.Count(int(other.Number)))})
		}
		if e.moreWith > 0 {
			version.MoreWith = f.Say("and %s more", e.moreWith)
		}
		if i > 0 {
			version.Lines = changed(before, lines)
		}
		before = lines
		v.Versions = append(v.Versions, version)
	}
	slices.Reverse(v.Versions)
}

// linesOfEntry are an entry's fields as one reads them.
func linesOfEntry(m form.Maker, by request.Recorded, value map[string]any) []entryLine {
	typed, _ := value["as_entered"].(map[string]any)
	var out []entryLine
	var walk func(fields []*form.Field, path string)
	walk = func(fields []*form.Field, path string) {
		for _, f := range fields {
			label := path + f.Label
			if f.Control == "group" && !m.Plain(f) {
				walk(f.Fields, label+": ")
				continue
			}
			if f.Control == "list" {
				walk(f.Fields, path)
				continue
			}
			line := entryLine{Label: label, Value: m.ShownValue(f)}
			if line.Value == "" {
				continue
			}
			if entered, ok := typed[f.Name[1:]]; ok {
				line.Typed = fmt.Sprint(entered)
			}
			out = append(out, line)
		}
	}
	walk(m.Fields(by.Schema, value), "")
	return out
}

// mostStored bounds how much of an entry's stored text is handed out.
const mostStored = 1 << 20

// stored hands out the stored text of an entry that cannot be read, as far as a
// person would look at it.
func (p *pages) stored(ctx echo.Context) error {
	id, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		return errNoSuchEntry
	}
	var text []byte
	err = p.look(ctx, func(who db.Principal, _ db.Outfit, b *ledger.Book) error {
		e, _ := b.Entry(id)
		if e == nil || e.Kind != ledger.KindUnreadable {
			return errNoSuchEntry
		}
		if entries.Withheld(who.Role, e) {
			return errManagers
		}
		text = e.Body.(*ledger.Unreadable).Raw
		return nil
	})
	if err != nil {
		return err
	}
	ctx.Response().Header().Set("Content-Disposition", `attachment; filename="entry-`+id.String()+`.txt"`)
	return ctx.Blob(http.StatusOK, "text/plain; charset=utf-8", text[:min(len(text), mostStored)])
}

// changed marks the lines that are not what they were, and adds those left out.
func changed(before, now []entryLine) []entryLine {
	var out []entryLine
	for _, line := range now {
		i := slices.IndexFunc(before, func(l entryLine) bool { return l.Label == line.Label })
		switch {
		case i < 0:
			line.Changed, line.Was = true, locale.Missing
		case !reflect.DeepEqual(before[i].Value, line.Value):
			line.Changed, line.Was = true, before[i].Value
		}
		out = append(out, line)
	}
	for _, line := range before {
		if !slices.ContainsFunc(now, func(l entryLine) bool { return l.Label == line.Label }) {
			out = append(out, entryLine{Label: line.Label, Value: locale.Missing, Was: line.Value, Changed: true})
		}
	}
	return out
}

// compareNames orders names as a list of them is read, whatever their case.
func compareNames(a, b string) int { return strings.Compare(strings.ToLower(a), strings.ToLower(b)) }
