package pages

import (
	"net/url"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/db/books"
	"pullbook/domain/ledger"
	"pullbook/domain/trace"
)

// recordedPath is the page of an entry right after one of its chain was recorded.
func recordedPath(entry, recorded string) string { return recordedOn(journalPath+"/"+entry, recorded) }

// recordedOn is any page right after an entry was recorded on it.
func recordedOn(path, recorded string) string {
	return path + "?" + url.Values{"recorded": {recorded}}.Encode()
}

// replyShown is the reply to the entry that was just recorded; an empty one for a page that
// shows none.
func (p *pages) replyShown(ctx echo.Context) (books.Reply, error) {
	recorded, err := uuid.Parse(ctx.QueryParam("recorded"))
	if err != nil {
		return books.Reply{}, nil
	}
	who, err := p.Visitor(ctx)
	if err != nil {
		return books.Reply{}, err
	}
	return p.Books.Reply(ctx.Request().Context(), who, recorded)
}

// elsewhereView is what an entry that was just recorded changed elsewhere.
type elsewhereView struct {
	Opened, Closed, Outdated, Superseded []elsewhereLine
	// Together says of late entries that they were taken in together, so that it is what all of
	// them changed.
	Together string
	// More says how many more are not listed, for each that has more.
	More []string
}

// elsewhereLine is one of them, and the page that has more of it.
type elsewhereLine struct{ Says, Link string }

func elsewhereViewOf(f locale.Voice, r books.Reply) *elsewhereView {
	v := &elsewhereView{}
	for _, x := range r.Opened {
		v.Opened = append(v.Opened, elsewhereLine{f.Say("This opens a finding: %s", x.Says), journalPath + "/" + x.Flag.Entry.String()})
	}
	for _, x := range r.Closed {
		v.Closed = append(v.Closed, elsewhereLine{f.Say("This settles: %s", x.Says), journalPath + "/" + x.Flag.Entry.String()})
	}
	for _, x := range r.Outdated {
		v.Outdated = append(v.Outdated, elsewhereLine{f.Say("This makes the check of lot %s outdated: %s. Check the lot again.", x.Code, x.Why), lotPath(x.Lot)})
	}
	for _, x := range r.Superseded {
		v.Superseded = append(v.Superseded, supersededLine(f, x))
	}
	if r.MoreOpened > 0 {
		v.More = append(v.More, f.Say("It opens %s more findings.", r.MoreOpened))
	}
	if r.MoreClosed > 0 {
		v.More = append(v.More, f.Say("It settles %s more findings.", r.MoreClosed))
	}
	if r.MoreOutdated > 0 {
		v.More = append(v.More, f.Say("It makes %s more checks outdated.", r.MoreOutdated))
	}
	if r.MoreSuperseded > 0 {
		v.More = append(v.More, f.Say("It changes figures of %s more dispatches, checks or sheets.", r.MoreSuperseded))
	}
	if r.SupersededUnfinished {
		v.More = append(v.More, f.Say("So much rests on this that not all of it was looked at: the pages of dispatches and lots mark what changed."))
	}
	if r.Last > 0 {
		v.Together = f.Say("%s entries came late and were taken in together (entries %s to %s). This is what all of them changed.", f.Count(int(r.Last-r.First+1)), f.Count(int(r.First)), f.Count(int(r.Last)))
	}
	if v.Opened == nil && v.Closed == nil && v.Outdated == nil && v.Superseded == nil && v.More == nil {
		return nil
	}
	return v
}

// supersededLine says which figures changed of a dispatch, a check or the sheets of a lot.
func supersededLine(f locale.Voice, x trace.Superseding) elsewhereLine {
	changed := certificate.Changed(x)
	switch {
	case x.By == nil:
		return elsewhereLine{f.Say("Sheets of lot %s that were printed before have other figures: %s. Print a new one.", x.OnName, changed), lotPath(x.On.ID)}
	case x.By.Kind == ledger.KindCheck:
		return elsewhereLine{f.Say("This changes figures that the check of lot %s rested on: %s. Check the lot again.", x.OnName, changed), lotPath(x.On.ID)}
	}
	return elsewhereLine{f.Say("This changes figures of what left for %s on %s: %s. Print its sheet anew.", x.OnName, f.Day(x.By.OccurredAt), changed), dispatchPath(x.By.ID)}
}
