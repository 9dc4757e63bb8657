package reports

import (
	"strings"

	"github.com/google/uuid"

	"pullbook/api/request"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// LatestSeason asks for the latest season that has begun.
const LatestSeason = "latest"

// Named finds a thing of a kind by its id, its name or its code, as a query asks. What is
// written like an id and is none may still be a name. A name in other case will do where it
// means one thing.
func Named(b *ledger.Book, kind ledger.Kind, text string) (ledger.ID, error) {
	return find(b, kind, text, "query:")
}

// InPath finds a thing of a kind by its id, its name or its code, as a path names it. It
// returns an id as it is: the report itself says what the outfit has not got.
func InPath(b *ledger.Book, kind ledger.Kind, text string) (ledger.ID, error) {
	found, err := find(b, kind, text, "path:")
	return orID(text, found, err)
}

func find(b *ledger.Book, kind ledger.Kind, text, within string) (ledger.ID, error) {
	id, noID := uuid.Parse(text)
	if e, _ := b.Entry(b.Root(id)); noID == nil && e != nil && e.Kind == kind {
		return b.Root(id), nil
	}
	found, known := called(b, text, kind)
	word := string(kind)
	at := request.Asked{Pointer: within + word, Sent: text}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return ledger.ID{}, at.Fault("The outfit has more than one %s of this name: send the id of the one that you mean.", word)
	case noID == nil:
		return ledger.ID{}, at.Missing("The outfit has no %s with this id.", word)
	case len(known) == 0:
		return ledger.ID{}, at.Missing("The outfit has no %s yet.", word)
	}
	f := at.Missing("The outfit has no such %s. It has %s: send one of these, or its id.", word, strings.Join(known[:min(len(known), mostNamed)], ", "))
	request.Suggest(&f.Fields[0], request.Nearest(text, known))
	return ledger.ID{}, f
}

// called returns what goes by a name among things of some kinds, and the first names of
// these things, as many as may be compared within one request. Where nothing has exactly
// this name, a name in other case will do.
func called(b *ledger.Book, text string, kinds ...ledger.Kind) (found []ledger.ID, known []string) {
	const mostKnown = 10_000
	var alike []ledger.ID
	for _, kind := range kinds {
		b.InForceOf(kind, func(root ledger.ID, e *ledger.Entry) bool {
			name := b.Name(root)
			if fill, is := e.Body.(*ledger.Fill); is {
				name = fill.Container
			}
			if name == text {
				found = append(found, root)
			}
			if strings.EqualFold(name, strings.TrimSpace(text)) {
				alike = append(alike, root)
			}
			if len(known) < mostKnown {
				known = append(known, name)
			}
			return true
		})
	}
	if len(found) == 0 {
		found = alike
	}
	return found, known
}

// NamedSeason is named for a season, which may also be asked for as the latest.
func NamedSeason(s *request.Service, b *ledger.Book, text string) (ledger.ID, error) {
	if text == LatestSeason {
		return SeasonOf(s, nil, b)
	}
	return Named(b, ledger.KindSeason, text)
}

// reported is named for what a report is about. The report itself says of an id that the
// outfit has not got that there is nothing.
func reported(b *ledger.Book, kind ledger.Kind, text string) (ledger.ID, error) {
	found, err := Named(b, kind, text)
	return orID(text, found, err)
}

func orID(text string, found ledger.ID, err error) (ledger.ID, error) {
	if id, noID := uuid.Parse(text); err != nil && noID == nil {
		return id, nil
	}
	return found, err
}

// mostNamed is how many names a refusal lists.
const mostNamed = 12

// SeasonOf is the season that a request asks for, or else the latest one that
// has begun.
func SeasonOf(s *request.Service, asked *string, b *ledger.Book) (ledger.ID, error) {
	if asked != nil && *asked != LatestSeason {
		return reported(b, ledger.KindSeason, *asked)
	}
	var latest ledger.ID
	var first ledger.Date
	today := ledger.Date(s.Now().In(b.Location()).Format("2006-01-02"))
	b.InForceOf(ledger.KindSeason, func(root ledger.ID, e *ledger.Entry) bool {
		if x := e.Body.(*ledger.Season); x.First <= today && x.First > first {
			latest, first = root, x.First
		}
		return true
	})
	if first == "" {
		return latest, fault.New(fault.NotFound, "The outfit has no season that has begun: set one up first.")
	}
	return latest, nil
}
