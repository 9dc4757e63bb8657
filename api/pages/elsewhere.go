package pages

import (
	"net/url"

	"pullbook/api/locale"
	"pullbook/domain/season"
)

// recordedPath is the page of an entry right after one of its chain was recorded.
func recordedPath(entry, recorded string) string {
	return journalPath + "/" + entry + "?" + url.Values{"recorded": {recorded}}.Encode()
}

// elsewhereView is what an entry that was just recorded changed elsewhere.
type elsewhereView struct {
	Opened, Closed, Outdated []elsewhereLine
	// More says how many more are not listed, for each of the three that has more.
	More []string
}

// elsewhereLine is one of them, and the page that has more of it.
type elsewhereLine struct{ Says, Link string }

func elsewhereViewOf(f locale.Voice, r season.Reply) *elsewhereView {
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
	if r.MoreOpened > 0 {
		v.More = append(v.More, f.Say("It opens %s more findings.", r.MoreOpened))
	}
	if r.MoreClosed > 0 {
		v.More = append(v.More, f.Say("It settles %s more findings.", r.MoreClosed))
	}
	if r.MoreOutdated > 0 {
		v.More = append(v.More, f.Say("It makes %s more checks outdated.", r.MoreOutdated))
	}
	if v.Opened == nil && v.Closed == nil && v.Outdated == nil {
		return nil
	}
	return v
}
