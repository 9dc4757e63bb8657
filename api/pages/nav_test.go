package pages

import (
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/labstack/echo/v4"

	"pullbook/db"
)

func waysOn(route string, role db.Role) ways {
	p := &pages{served: map[string]bool{}}
	for _, group := range nav {
		for _, n := range group.Items {
			p.served[n.Path] = true
		}
	}
	ctx := echo.New().NewContext(httptest.NewRequest(http.MethodGet, "/", nil), httptest.NewRecorder())
	ctx.SetPath(route)
	return p.waysFrom(ctx, role)
}

// A yard belongs to the season, though its address does not begin as the season's does. Beside the menu stands
// where one is, unless the line of the most used shows it.
func TestThePageThatOneIsOnIsToldOnce(t *testing.T) {
	for _, test := range []struct {
		route  string
		role   db.Role
		here   string
		inWide bool
	}{
		{"/", db.Manager, "", false}, {"/record", db.Crew, "", false}, {"/yards/:id", db.Manager, "Season", true}, {"/yards/:id", db.Crew, "Season", false},
		{"/import", db.Manager, "Settings", false}, {"/entries/new/:kind", db.Crew, "Journal", false}, {"/balance/drying", db.Reader, "Balance", false},
		{"/account", db.Crew, "", false}, {"/record", "", "", false}, {"/lots/:id", "", "Lots", false},
	} {
		if w := waysOn(test.route, test.role); w.Here != test.here || w.HereWide != test.inWide {
			t.Errorf("%s, %q: beside the menu stands %q, among the first of a wide window: %t", test.route, test.role, w.Here, w.HereWide)
		}
	}
}

// Each page stands in one group, and what is used most is among the pages.
func TestEachPageStandsInOneGroup(t *testing.T) {
	groups := map[string]int{}
	for _, group := range nav {
		for _, n := range group.Items {
			groups[n.Path]++
		}
	}
	for path, n := range groups {
		if n != 1 {
			t.Errorf("%s stands in %d groups", path, n)
		}
	}
	for role, paths := range mostUsed {
		if w := waysOn("/", role); len(w.First) != len(paths) {
			t.Errorf("%q: %d of %d stand beside the menu", role, len(w.First), len(paths))
		}
	}
}
