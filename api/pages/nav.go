package pages

import (
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/db"
)

// nav is what every page offers to go to, of what is served: by what one does there.
var nav = []navGroup{
	{"Recording", []navItem{{Path: recordPath, Name: "Record"}, {Path: printPath, Name: "Printing"}}},
	{"Looking", []navItem{
		{Path: "/", Name: "Today"}, {Path: seasonPath, Name: "Season", under: []string{"/yards/"}},
		{Path: tanksPath, Name: "Tanks"}, {Path: journalPath, Name: "Journal", under: []string{"/entries/"}},
	}},
	{"Deciding", []navItem{
		{Path: findingsPath, Name: "Findings"}, {Path: balancePath, Name: "Balance"}, {Path: lotsPath, Name: "Lots"},
		{Path: plansPath, Name: "Plans"}, {Path: calculatorsPath, Name: "Calculators"}, {Path: recallPath, Name: "Recall"},
	}},
	{"Selling", []navItem{{Path: dispatchesPath, Name: "Dispatches"}}},
	{"Setting up", []navItem{{Path: settingsPath, Name: "Settings", under: []string{request.ImportPath}}}},
}

// mostUsed are the pages that stand beside the menu, by who looks: the first few on a phone. Those
// who are not known are on the page of recording, or at the door.
var mostUsed = map[db.Role][]string{
	db.Manager: {"/", recordPath, seasonPath, tanksPath, lotsPath, dispatchesPath, findingsPath},
	db.Crew:    {"/", recordPath, tanksPath, lotsPath},
	db.Reader:  {"/", seasonPath, tanksPath, lotsPath},
	"":         {"/", recordPath},
}

// onPhone is how many of the most used have room beside the menu on a phone.
const onPhone = 2

// navGroup is some pages that one needs for the same.
type navGroup struct {
	Name  string
	Items []navItem
}

type navItem struct {
	Path, Name string
	Here       bool
	// Wide: it stands beside the menu only where there is room.
	Wide bool
	// under are the beginnings of routes that belong to the page though its path is no part of theirs.
	under []string
}

// has reports whether a route belongs to the page.
func (n navItem) has(route string) bool {
	if n.Path == "/" {
		return route == "/"
	}
	return route == n.Path || slices.ContainsFunc(append([]string{n.Path + "/"}, n.under...), func(beginning string) bool { return strings.HasPrefix(route, beginning) })
}

// ways are the ways from a page to others.
type ways struct {
	// First are the most used, Groups all.
	First  []navItem
	Groups []navGroup
	// Here is the page that one is on; empty where it is none of them. It is told beside the menu:
	// HereWide where a wide window shows it among the first, and not at all where all windows do.
	Here     string
	HereWide bool
}

func (p *pages) waysFrom(ctx echo.Context, role db.Role) (w ways) {
	items := map[string]navItem{}
	for _, group := range nav {
		shown := navGroup{Name: group.Name}
		for _, n := range group.Items {
			if !p.served[n.Path] {
				continue
			}
			if n.Here = n.has(ctx.Path()); n.Here {
				w.Here = n.Name
			}
			items[n.Path] = n
			shown.Items = append(shown.Items, n)
		}
		if len(shown.Items) > 0 {
			w.Groups = append(w.Groups, shown)
		}
	}
	for _, path := range mostUsed[role] {
		n, served := items[path]
		if !served {
			continue
		}
		n.Wide = len(w.First) >= onPhone
		if n.Here && n.Wide {
			w.HereWide = true
		} else if n.Here {
			w.Here = ""
		}
		w.First = append(w.First, n)
	}
	return w
}
