package pages

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/domain/fault"
)

func siftedBy(t *testing.T, pairs ...string) (sifting, error) {
	t.Helper()
	query := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		query.Set(pairs[i], pairs[i+1])
	}
	return siftingAsked(echo.New().NewContext(httptest.NewRequest(http.MethodGet, "/journal?"+query.Encode(), nil), httptest.NewRecorder()))
}

// Who looks for a row types a few words as they come: in small letters, without accents, in any order.
func TestARowIsFoundByItsWordsInAnyOrder(t *testing.T) {
	row := []string{"Peña Alta", "tambor D26-0146", "1\u202f034.8"}
	for text, found := range map[string]bool{
		"": true, "  ": true, "d26-0146": true, "pena": true, "PEÑA": true, "0146 alta": true, "1 034": true, "D26-0146 Mill": false, "0147": false,
	} {
		s, err := siftedBy(t, siftFind, text)
		if err != nil || s.holds(row...) != found {
			t.Errorf("%q is found: %t, %v", text, !found, err)
		}
	}
}

// A lot that was filled from the 4th to the 6th is one of the 5th. Days are of the outfit's clock.
func TestARowIsOfADayOfTheOutfitsClock(t *testing.T) {
	winnipeg, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	late := time.Date(2026, 8, 6, 3, 30, 0, 0, time.UTC).In(winnipeg) // half past ten at night on the 5th
	early := late.AddDate(0, 0, -1)
	for _, test := range []struct {
		from, to string
		want     bool
	}{{"", "", true}, {"2026-08-05", "2026-08-05", true}, {"2026-08-06", "", false}, {"", "2026-08-04", true}, {"", "2026-08-03", false}} {
		s, err := siftedBy(t, siftFrom, test.from, siftTo, test.to)
		if err != nil || s.days(early, late) != test.want {
			t.Errorf("from %q to %q: %t, %v", test.from, test.to, !test.want, err)
		}
	}
}

func TestWhatCannotBeLookedForIsRefusedWithItsName(t *testing.T) {
	for _, test := range []struct{ name, sent, says string }{
		{siftFrom, "5/8/2026", "5/8/2026 is no day of the calendar"}, {siftTo, "2026-02-30", "2026-02-30 is no day"},
		{siftFind, strings.Repeat("é", longestFind+1), "too long"}, {siftFind, "a\x00b", "a character that no row of a table has"}, {siftFind, "a\xff", "a character"},
	} {
		_, err := siftedBy(t, test.name, test.sent)
		if fault.CodeOf(err) != fault.Invalid || !strings.Contains(err.Error(), "query:"+test.name) || !strings.Contains(err.Error(), test.says) {
			t.Errorf("%s=%.20q: %v", test.name, test.sent, err)
		}
	}
	if _, err := siftedBy(t, siftFrom, "2026-08-05", siftTo, "2026-08-04"); err == nil || !strings.Contains(err.Error(), "The last day, 2026-08-04, is before the first, 2026-08-05.") {
		t.Errorf("days the other way round: %v", err)
	}
	if _, err := siftedBy(t, siftFind, strings.Repeat("é", longestFind)); err != nil {
		t.Errorf("as long as may be: %v", err)
	}
}

// A short table is not offered to be sifted. A long one keeps what else its page was asked for.
func TestTheFormKeepsWhatThePageWasAskedFor(t *testing.T) {
	f := locale.NewVoice(locale.English, "", time.UTC)
	none, err := siftedBy(t)
	if err != nil || none.view(f, "/lots", siftedFrom, siftedFrom).Offered || !none.view(f, "/lots", 31, siftedFrom+1).Offered {
		t.Errorf("a table is offered to be sifted from the wrong number of rows on, %v", err)
	}
	s, err := siftedBy(t, "range", "days", "other", "x", siftFind, "waste")
	if err != nil {
		t.Fatal(err)
	}
	v := s.view(f, "/tanks/7#what-happened", 2, 9, "range", "season")
	if !v.Offered || !v.On || v.Shown != "2" || v.Of != "9" || v.All != "/tanks/7?range=days#what-happened" || len(v.Keep) != 1 || v.Keep[0] != (keptParameter{"range", "days"}) {
		t.Errorf("the form is %+v", v)
	}
	if next := s.with("/findings", "from", "40", "kind", ""); next != "/findings?find=waste&from=40" {
		t.Errorf("the next leaf is at %s", next)
	}
}
