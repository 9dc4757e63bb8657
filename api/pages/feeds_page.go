package pages

import (
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"pullbook/api/feeds"
	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

const feedsPath = "/settings/feeds"

func (p *pages) routeFeeds(e *echo.Echo, m ...echo.MiddlewareFunc) {
	e.GET(feedsPath, p.feedsPage, m...)
	e.POST(feedsPath, p.addFeedKey)
	e.POST(feedsPath+"/:id/revoke", p.revokeFeedKey)
	e.POST(feedsPath+"/decimal-mark", p.setDecimalMark)
}

// feedsView is the tables that there are, their addresses and the keys in them.
type feedsView struct {
	Feeds []feedRow
	Keys  []feedKeyRow
	// KeyOf is what a key is for that was made just now. The addresses of Feeds have it in
	// them, this once.
	KeyOf string
	// Caution is what somebody has to know who takes an address to another machine.
	Caution string
	// Mark is what the addresses write before decimals, and Said what the outfit's
	// spreadsheets do; empty where nobody said.
	Mark decimalMark
	Said string
	// Others are the addresses with the other mark, where they have a key in them: it is
	// shown this once.
	Others []feedRow
}

// feedRow is a feed. Filters are the names of those that it takes, as an address has them.
type feedRow struct{ Name, What, Filters, Address string }

type feedKeyRow struct{ ID, Name, Feed, MadeBy, Made, Revoked string }

// feedSays is what each feed has.
var feedSays = map[string]message.Text{
	"yards": message.F("what each yard gave in each season"), "pulls": message.F("supers pulled"), "runs": message.F("runs of the extractor"),
	"readings": message.F("moisture, temperature and results of laboratories"), "movements": message.F("honey from place to place, each way"),
	"tanks": message.F("what is in the tanks"), "lots": message.F("lots, what they are made of and how they keep"), "containers": message.F("drums and other containers"),
	"verdicts": message.F("lots against limits"), "findings": message.F("what is odd, most honey first"), "temperatures": message.F("temperatures that loggers wrote"),
	"journal": message.F("every entry"), feeds.SeasonWorkbook: message.F("a season as one workbook, with charts"),
	feeds.Calendar: message.F("holds, limits that are near and checks that are due, for a calendar program"),
}

// feedFile is the file of a feed that its address names first.
func feedFile(name string) string {
	switch name {
	case feeds.SeasonWorkbook:
		return name + ".xlsx"
	case feeds.Calendar:
		return name + ".ics"
	}
	return name + ".csv"
}

// feedsReader is a manager who looks at the feeds, and the decimal mark of the addresses.
type feedsReader struct {
	who    db.Principal
	outfit db.Outfit
	f      locale.Voice
	mark   decimalMark
}

func (p *pages) feedsReader(ctx echo.Context) (r feedsReader, err error) {
	err = p.manage(ctx, func(m db.Principal, o db.Outfit, b *ledger.Book) error {
		r.who, r.outfit, r.f = m, o, request.VoiceFor(ctx, o, b)
		return nil
	})
	if err == nil {
		r.mark, err = decimalMarkOf(ctx, r.outfit, r.f.Language)
	}
	return r, err
}

func (p *pages) feedsPage(ctx echo.Context) error {
	r, err := p.feedsReader(ctx)
	if err != nil {
		return err
	}
	return p.showFeeds(ctx, r, db.FeedKey{}, "")
}

// showFeeds shows the feeds; with the secret of a key, those that it reads by addresses that
// have it in them.
func (p *pages) showFeeds(ctx echo.Context, r feedsReader, made db.FeedKey, secret string) error {
	f, mark := r.f, r.mark
	keys, err := p.DB.FeedKeys(ctx.Request().Context(), r.who.Outfit)
	if err != nil {
		return err
	}
	at := p.AddressFor(ctx)
	v := feedsView{KeyOf: made.Name, Mark: mark, Said: r.outfit.DecimalMark}
	if secret != "" {
		v.Caution = at.Caution.In(f)
	}
	for _, name := range feeds.Feeds() {
		if secret != "" && made.Feed != "" && made.Feed != name {
			continue
		}
		row := feedRow{name, feedSays[name].In(f), strings.Join(feeds.FiltersOf(p.Service, name), ", "), feedAddress(at.Base, name, f.Language, mark, secret)}
		v.Feeds = append(v.Feeds, row)
		if other := feedAddress(at.Base, name, f.Language, mark.Other(), secret); secret != "" && other != row.Address {
			v.Others = append(v.Others, feedRow{Name: name, Address: other})
		}
	}
	for _, k := range keys {
		row := feedKeyRow{ID: k.ID.String(), Name: k.Name, Feed: k.Feed, MadeBy: k.MadeBy, Made: f.Day(k.CreatedAt)}
		if k.RevokedAt != nil {
			row.Revoked = f.Day(*k.RevokedAt)
		}
		v.Keys = append(v.Keys, row)
	}
	return p.page(ctx, http.StatusOK, "feeds.html", v)
}

// feedAddress is the address of a feed at this service, as a reader copies it; with the secret
// of a key where there is one.
func feedAddress(base, name string, reader locale.Language, mark decimalMark, secret string) string {
	address := base + request.FeedsPrefix + feedFile(name)
	switch {
	case name == feeds.Calendar && reader.Lang != locale.English.Lang:
		address += "?language=" + reader.Lang
	case strings.HasSuffix(address, ".csv"):
		address = mark.address(address)
	}
	switch {
	case secret == "":
		return address
	case strings.Contains(address, "?"):
		return address + "&key=" + secret
	}
	return address + "?key=" + secret
}

// setDecimalMark says what the outfit's spreadsheets write before decimals.
func (p *pages) setDecimalMark(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	mark, err := db.DecimalMarkOf(ctx.FormValue("mark"))
	if err != nil {
		return err
	}
	if err := p.DB.As(who).SetDecimalMark(ctx.Request().Context(), who.Outfit, mark); err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, feedsPath)
}

// addFeedKey makes a key, whose addresses are shown once.
func (p *pages) addFeedKey(ctx echo.Context) error {
	r, err := p.feedsReader(ctx)
	if err != nil {
		return err
	}
	feed := ctx.FormValue("feed")
	if feed != "" && feedSays[feed].IsEmpty() {
		return fault.New(fault.Invalid, "There is no such feed. There are %s. Without a name, the key reads all of them.", strings.Join(feeds.Feeds(), ", "))
	}
	key, secret, err := p.DB.As(r.who).CreateFeedKey(ctx.Request().Context(), r.who.Outfit, strings.TrimSpace(ctx.FormValue("name")), feed, r.who.Name)
	if err != nil {
		return err
	}
	return p.showFeeds(ctx, r, key, secret)
}

func (p *pages) revokeFeedKey(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	id, err := idParam(ctx)
	if err != nil {
		return err
	}
	if _, err := p.DB.As(who).RevokeFeedKey(ctx.Request().Context(), who.Outfit, id); err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, feedsPath)
}
