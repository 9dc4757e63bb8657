package feeds

import (
	"net/http"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
	"pullbook/openapi"
)

const calendarType = "text/calendar; charset=utf-8"

// GetCalendar answers with what has a day, as events of whole days.
func (s Handler) GetCalendar(ctx echo.Context, _ openapi.GetCalendarParams) error {
	language := workbookLanguage(ctx)
	a, err := s.answer(ctx, Calendar, "ics", true, language.Lang)
	if err != nil || a == nil {
		return err
	}
	a.mime = calendarType
	var dates []quality.Dated
	var revised time.Time
	err = a.steps.Step(func(b *ledger.Book) error {
		on := standard.Date(s.Now().In(b.Location()).Format(time.DateOnly))
		sets, err := reports.RuleSetsInUse(b, nil, on)
		if err != nil {
			return err
		}
		if b.Len() > 0 {
			revised = b.Numbered(b.Len()).RecordedAt
		}
		dates, err = quality.Dates(b, sets, on)
		return err
	})
	if err != nil {
		return err
	}
	f := locale.NewVoice(language, a.steps.Outfit.Units, nil)
	text, err := calendarOf(f, a.steps.Outfit.Name, s.AddressFor(ctx).Base, dates, revised)
	if err != nil {
		return err
	}
	a.head(ctx)
	if request.HeadAsked(ctx) {
		return ctx.NoContent(http.StatusOK)
	}
	return ctx.Blob(http.StatusOK, calendarType, []byte(text))
}

// calendarOf writes dates as iCalendar. Each event was revised with the book's last entry, so
// that the same book on the same day gives the same text.
func calendarOf(f locale.Voice, outfit, base string, dates []quality.Dated, revised time.Time) (string, error) {
	c := ics.NewCalendarFor("pullbook")
	c.SetProductId("-//pullbook//calendar//EN")
	c.SetMethod(ics.MethodPublish)
	c.SetName(outfit)
	c.SetXWRCalName(outfit)
	// How often a program need ask: the days move once a day or with an entry.
	c.SetRefreshInterval("PT1H")
	c.SetXPublishedTTL("PT1H")
	for _, d := range dates {
		from, err := time.Parse(time.DateOnly, string(d.From))
		if err != nil {
			return "", err
		}
		to, err := time.Parse(time.DateOnly, string(d.To))
		if err != nil {
			return "", err
		}
		e := c.AddEvent(d.Key + "@pullbook")
		e.SetDtStampTime(revised)
		e.SetAllDayStartAt(from)
		e.SetAllDayEndAt(to.AddDate(0, 0, 1)) // the end of an event is the first day without it
		e.SetSummary(d.What.In(f))
		if detail := d.Detail.In(f); detail != "" {
			e.SetDescription(detail)
		}
		e.SetURL(base + placeOfDated(d))
		e.SetTimeTransparency(ics.TransparencyTransparent) // nobody is busy by it
	}
	return c.Serialize(ics.WithNewLineWindows), nil
}

// placeOfDated is the page about what an event is about.
func placeOfDated(d quality.Dated) string {
	if d.Kind == ledger.KindLot {
		return "/lots/" + d.About.String()
	}
	return "/balance/instruments"
}
