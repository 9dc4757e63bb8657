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
	"pullbook/domain/message"
)

const feedsPath = "/settings/feeds"

func (p *pages) routeFeeds(e *echo.Echo, m ...echo.MiddlewareFunc) {
	e.GET(feedsPath, p.feedsPage, m...)
	e.POST(feedsPath, p.addFeedKey)
	e.POST(feedsPath+"/:id/revoke", p.revokeFeedKey)
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

func (p *pages) feedsPage(ctx echo.Context) error { return p.showFeeds(ctx, db.FeedKey{}, "") }

// showFeeds shows the feeds; with the secret of a key, those that it reads by addresses that
// have it in them.
func (p *pages) showFeeds(ctx echo.Context, made db.FeedKey, secret string) error {
	who, f, err := p.managingIn(ctx)
	if err != nil {
		return err
	}
	keys, err := p.DB.FeedKeys(ctx.Request().Context(), who.Outfit)
	if err != nil {
		return err
	}
	at := p.AddressFor(ctx)
	v := feedsView{KeyOf: made.Name}
	if secret != "" {
		v.Caution = at.Caution.In(f)
	}
	for _, name := range feeds.Feeds() {
		if secret != "" && made.Feed != "" && made.Feed != name {
			continue
		}
		address := at.Base + request.FeedsPrefix + feedFile(name)
		ask := "?"
		switch {
		case name == feeds.Calendar && f.Language.Lang != locale.English.Lang:
			address, ask = address+"?language="+f.Language.Lang, "&"
		case strings.HasSuffix(address, ".csv") && f.DecimalMark() == ",":
			address, ask = address+"?decimal=comma", "&"
		}
		if secret != "" {
			address += ask + "key=" + secret
		}
		v.Feeds = append(v.Feeds, feedRow{name, feedSays[name].In(f), strings.Join(feeds.FiltersOf(p.Service, name), ", "), address})
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

// addFeedKey makes a key, whose addresses are shown once.
func (p *pages) addFeedKey(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	feed := ctx.FormValue("feed")
	if feed != "" && feedSays[feed].IsEmpty() {
		return fault.New(fault.Invalid, "There is no such feed. There are %s. Without a name, the key reads all of them.", strings.Join(feeds.Feeds(), ", "))
	}
	key, secret, err := p.DB.As(who).CreateFeedKey(ctx.Request().Context(), who.Outfit, strings.TrimSpace(ctx.FormValue("name")), feed, who.Name)
	if err != nil {
		return err
	}
	return p.showFeeds(ctx, key, secret)
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
