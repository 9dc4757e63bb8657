package api_test

import (
	"errors"
	"net/http"
	"net/url"
	"regexp"
	"testing"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/ledger"
)

// Each form of a manager's is one entry in the manager's name, and one that changes
// nothing is none; each command of the operator's beside it is one of the operator's.
func TestEachChangeOfPeopleIsOneEntryOfTheBook(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	odell := uuid.New()
	if err := h.Operator.CreatePerson(t.Context(), h.Outfit, db.Person{ID: odell, Name: "Odell", Role: db.Crew}); err != nil {
		t.Fatal(err)
	}
	person, outfit := "/settings/people/"+odell.String(), db.Outfit{ID: h.Outfit, Name: h.Name, TimeZone: "Europe/Madrid", Units: "us", DecimalMark: "comma"}
	post := func(path string, form url.Values) func() error {
		return func() error {
			if r, body := h.Send(t, http.MethodPost, path, form, nil); r.StatusCode != http.StatusOK {
				return errors.New(r.Status + ": " + body)
			}
			return nil
		}
	}
	for _, change := range []struct {
		what string
		do   func() error
		by   string
		made int64
	}{
		{"a role on the page", post(person, url.Values{"do": {"role"}, "role": {"manager"}}), "Tamsin", 1},
		{"the same role on the page", post(person, url.Values{"do": {"role"}, "role": {"manager"}}), "", 0},
		{"a code on the page", post(person, url.Values{"do": {"code"}, "code": {"4071"}}), "Tamsin", 1},
		{"a password on the page", post(person, url.Values{"do": {"password"}, "name": {"Odell"}}), "Tamsin", 1},
		{"signed out on the page", post(person, url.Values{"do": {"sign-out"}}), "Tamsin", 1},
		{"another try on the page", post(person, url.Values{"do": {"let-try"}}), "", 0},
		{"a person on the page", post("/settings/people", url.Values{"name": {"Juno"}, "role": {"crew"}}), "Tamsin", 1},
		{"what spreadsheets write, on the page", post("/settings/feeds/decimal-mark", url.Values{"mark": {"comma"}}), "Tamsin", 1},
		{"the same once more", post("/settings/feeds/decimal-mark", url.Values{"mark": {"comma"}}), "", 0},
		{"a token on the page", post("/settings/tokens", url.Values{"name": {"the scale"}, "person": {"Odell"}}), "Tamsin", 1},
		{"a token revoked on the page", func() error {
			_, body := h.Get(t, "/settings/people")
			return post(regexp.MustCompile(`/settings/tokens/[^"]+/revoke`).FindString(body), nil)()
		}, "Tamsin", 1},
		{"a role by command", func() error { return h.Operator.SetRole(t.Context(), h.Outfit, odell, db.Reader) }, db.TheOperator, 1},
		{"the same role by command", func() error { return h.Operator.SetRole(t.Context(), h.Outfit, odell, db.Reader) }, "", 0},
		{"a time zone by command", func() error { return h.Operator.ChangeOutfit(t.Context(), outfit) }, db.TheOperator, 1},
		{"the same time zone by command", func() error { return h.Operator.ChangeOutfit(t.Context(), outfit) }, "", 0},
	} {
		before := lastEntry(t, h)
		if err := change.do(); err != nil {
			t.Fatalf("%s: %v", change.what, err)
		}
		last := lastEntry(t, h)
		if last.Number != before.Number+change.made {
			t.Errorf("%s: %d entries", change.what, last.Number-before.Number)
		}
		if change.made == 1 && (last.Kind != ledger.KindOperator || last.RecordedBy != change.by) {
			t.Errorf("%s: a %s by %s", change.what, last.Kind, last.RecordedBy)
		}
	}
}

// lastEntry is the last of the book.
func lastEntry(t *testing.T, h *apitest.House) *ledger.Entry {
	t.Helper()
	entries, err := h.Operator.EntriesAfter(t.Context(), h.Outfit, 0)
	if err != nil {
		t.Fatal(err)
	}
	return entries[len(entries)-1]
}
