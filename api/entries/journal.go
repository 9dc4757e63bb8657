package entries

import (
	"encoding/json"
	"time"

	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/openapi"
)

// KindToCorrect is the kind of a correction of an entry: of one that cannot be read,
// that which it is stored as.
func KindToCorrect(e *ledger.Entry) ledger.Kind {
	if u, is := e.Body.(*ledger.Unreadable); is {
		return u.Was
	}
	return e.Kind
}

// ListEntries is the journal: everything that was ever recorded.
func (s Handler) ListEntries(ctx echo.Context, params openapi.ListEntriesParams) error {
	return s.readJournal(ctx, func(role db.Role, b *ledger.Book) (any, error) {
		limit := int(wire.OrDefault(params.Limit, request.DefaultLimit))
		out := []openapi.Entry{}
		for n := min(wire.OrZero(params.After), b.Len()) + 1; n <= b.Len(); n++ {
			if len(out) == limit {
				request.NextPage(ctx, out[len(out)-1].Number)
				break
			}
			e, err := journalOut(role, b, b.Numbered(n))
			if err != nil {
				return nil, err
			}
			out = append(out, e)
		}
		return out, nil
	})
}

// GetEntry is one entry with all that replaced it or that it replaced.
func (s Handler) GetEntry(ctx echo.Context, id openapi_types.UUID) error {
	return s.readJournal(ctx, func(role db.Role, b *ledger.Book) (any, error) {
		chain := b.Chain(id)
		if chain == nil {
			return nil, fault.New(fault.NotFound, "The book has no entry %s.", id)
		}
		out := make([]openapi.Entry, len(chain))
		for i, e := range chain {
			var err error
			if out[i], err = journalOut(role, b, e); err != nil {
				return nil, err
			}
		}
		return out, nil
	})
}

// readJournal answers with what f returns as JSON, which hangs on the role of who asks:
// somebody may be a manager on one device, and crew at the shed's tablet.
func (s Handler) readJournal(ctx echo.Context, f func(db.Role, *ledger.Book) (any, error)) error {
	role := request.Principal(ctx).Role
	return s.ReadAs(ctx, echo.MIMEApplicationJSON, string(role), func(_ db.Outfit, b *ledger.Book) (request.Write, error) {
		v, err := f(role, b)
		return request.AsJSON(v), err
	})
}

// Withheld reports whether an entry says something about people, keys or settings, which
// managers alone read. Its head and its digest are for everybody.
func Withheld(role db.Role, e *ledger.Entry) bool {
	return role != db.Manager && KindToCorrect(e) == ledger.KindOperator
}

func journalOut(role db.Role, b *ledger.Book, e *ledger.Entry) (openapi.Entry, error) {
	content, err := ContentFor(role, e)
	if err != nil {
		return openapi.Entry{}, err
	}
	out := openapi.Entry{
		Number: e.Number, ID: e.ID, RootID: b.Root(e.ID), Kind: string(e.Kind), OccurredAt: e.OccurredAt,
		RecordedAt: e.RecordedAt, RecordedBy: e.RecordedBy, Replaces: wire.OrNil(e.Replaces), Reason: wire.OrNil(e.Reason),
		Digest: request.Hex(e.Digest),
	}
	if _, by := b.Entry(e.ID); by != nil {
		out.ReplacedBy = &by.ID
	}
	if u, is := e.Body.(*ledger.Unreadable); is {
		out.Kind, out.Unreadable, out.Content = string(u.Was), &u.Why, map[string]any{}
		if Withheld(role, e) {
			out.Unreadable = new("managers read why")
		}
		return out, nil
	}
	return out, json.Unmarshal(content, &out.Content)
}

// ContentFor is an entry's content as the digest covers it, or an empty object where it
// is withheld.
func ContentFor(role db.Role, e *ledger.Entry) ([]byte, error) {
	if Withheld(role, e) {
		return []byte("{}"), nil
	}
	return e.Content()
}

// listed is an entry as the lists of its kind show it: as it was sent, with
// what the book added.
type listed struct {
	id    ledger.ID
	added added
	// outdated says why a check no longer fits its lot; empty while it does.
	outdated message.Text
	request  any
}

type added struct {
	Number     int64                  `json:"number"`
	RootID     ledger.ID              `json:"root_id"`
	Kind       ledger.Kind            `json:"kind"`
	RecordedAt time.Time              `json:"recorded_at"`
	RecordedBy string                 `json:"recorded_by"`
	ReplacedBy *ledger.ID             `json:"replaced_by,omitempty"`
	Digest     string                 `json:"digest"`
	NetKg      *float64               `json:"net_kg,omitempty"`
	Moisture   *openapi.MoistureAt20C `json:"moisture_at_20c,omitempty"`
	With       []ledger.ID            `json:"with,omitempty"`
	// Certificates are those that stand of a laboratory's result.
	Certificates []openapi.LaboratoryCertificate `json:"certificates,omitempty"`
	qualityAdded
	Superseded *openapi.Superseded `json:"superseded,omitempty"`
}

// MarshalJSON writes both parts as one object.
func (l listed) MarshalJSON() ([]byte, error) {
	l.added.Outdated = l.outdated.String()
	first, err := json.Marshal(l.added)
	if err != nil {
		return nil, err
	}
	second, err := json.Marshal(l.request)
	if err != nil {
		return nil, err
	}
	return append(append(first[:len(first)-1], ','), second[1:]...), nil
}

func listedOut(b *ledger.Book, e *ledger.Entry) (listed, error) {
	content, err := Request(e)
	if err != nil {
		return listed{}, err
	}
	out := listed{id: e.ID, request: content, added: added{
		Number: e.Number, RootID: b.Root(e.ID), Kind: e.Kind,
		RecordedAt: e.RecordedAt, RecordedBy: e.RecordedBy, Digest: request.Hex(e.Digest), qualityAdded: qualityAddedOut(b, e),
	}}
	if _, by := b.Entry(e.ID); by != nil {
		out.added.ReplacedBy = &by.ID
	}
	switch x := e.Body.(type) {
	case *ledger.Fill:
		out.added.NetKg = new(wire.Kg(x.NetG()))
	case *ledger.Reading:
		out.added.Moisture, out.added.Certificates = reports.MoistureOut(x.Moisture), certificatesOut(b, e.ID)
	case *ledger.Acceptance:
		out.added.With = x.With
	case *ledger.Check:
		out.outdated = b.Outdated(e.ID)
	}
	return out, nil
}

// qualityAdded is what the book worked out for an entry about quality.
type qualityAdded struct {
	Version    *int             `json:"version,omitempty"`
	Drawn      *ledger.Drawn    `json:"drawn,omitempty"`
	Found      *ledger.Found    `json:"found,omitempty"`
	Outdated   string           `json:"outdated,omitempty"`
	Judged     []ledger.Leaving `json:"judged,omitempty"`
	TermsEntry *ledger.ID       `json:"terms_entry,omitempty"`
}

func qualityAddedOut(b *ledger.Book, e *ledger.Entry) qualityAdded {
	switch x := e.Body.(type) {
	case *ledger.RuleSet:
		return qualityAdded{Version: new(b.VersionOf(e))}
	case *ledger.Sample:
		return qualityAdded{Drawn: x.Drawn}
	case *ledger.Check:
		return qualityAdded{Found: x.Found}
	case *ledger.Dispatch:
		return qualityAdded{Judged: x.Judged}
	case *ledger.Settlement:
		return qualityAdded{TermsEntry: wire.OrNil(x.TermsEntry)}
	}
	return qualityAdded{}
}
