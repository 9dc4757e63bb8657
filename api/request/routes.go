package request

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/labstack/echo/v4"

	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// FeedsPrefix begins the addresses that spreadsheets refresh from.
const FeedsPrefix = "/feeds/"

const (
	// keyParameter is the query parameter that a feed key comes in. It is in no
	// log, no metric and no error.
	keyParameter = "key"
	// KeyFeed is where a request keeps which feed its key reads.
	KeyFeed = "feed"
)

// ImportPath is the page that brings sheets in.
const ImportPath = "/import"

// ImportsPath takes sheets from programs.
const ImportsPath = "/v1/imports"

// CertificatesPath takes laboratories' certificates from programs, and
// ResultCertificatesPath from the page of the result.
const (
	CertificatesPath       = "/v1/laboratory-certificates"
	PhotosPath             = "/v1/photos" // pictures come as certificates do
	ResultCertificatesPath = "/journal/:id/certificates"
)

// routeSettings is what a route asks of a request, and what a request to it may
// use. What the interface for programs asks stands in openapi.yaml, as x-role and
// x-body-kib of each operation.
type routeSettings struct {
	// MostBytes bounds the body.
	MostBytes int64
	// Role is the least role that may ask; "" lets everybody who is signed in.
	Role db.Role
	// program says that the route takes a token and answers in JSON.
	program bool
	// Feed says that spreadsheets refresh from the route.
	Feed bool
	// takesSheet says that the route has the time of an import, takesCertificate that it
	// takes a file in, while it reads the body.
	takesSheet, takesCertificate bool
}

// What the bodies of the program's own forms may hold.
const (
	strangerFormBytes = 16 << 10 // nobody has to be signed in to send it
	formBytes         = 1 << 20  // a list of the containers of a season
)

// pageRoutes are the forms of the program's pages that may hold less or more than
// others.
var pageRoutes = map[string]routeSettings{
	"POST /sign-in":        {MostBytes: strangerFormBytes},
	"POST /sign-out":       {MostBytes: strangerFormBytes},
	"POST /unlock":         {MostBytes: strangerFormBytes},
	"POST /lock":           {MostBytes: strangerFormBytes},
	"POST " + LanguagePath: {MostBytes: strangerFormBytes},
	"POST " + ImportPath:   {takesSheet: true}, // as large as a program may send

	"POST " + ResultCertificatesPath: {takesCertificate: true}, // as large as a program may send
}

// OperationSettings reads the settings of an operation of the contract.
func OperationSettings(path string, op *openapi3.Operation) (routeSettings, error) {
	out := routeSettings{Feed: strings.HasPrefix(path, FeedsPrefix), program: true}
	var kib int64
	for name, into := range map[string]any{"x-role": &out.Role, "x-body-kib": &kib} {
		value, ok := op.Extensions[name]
		if !ok {
			continue
		}
		text, err := json.Marshal(value)
		if err == nil {
			err = json.Unmarshal(text, into)
		}
		if err != nil {
			return out, fmt.Errorf("%s of %s: %w", name, op.OperationID, err)
		}
	}
	if (op.RequestBody != nil) != (kib > 0) {
		return out, fmt.Errorf("%s says x-body-kib %d, and whether it has a body", op.OperationID, kib)
	}
	if out.Role != "" && !slices.Contains(roles, out.Role) {
		return out, fmt.Errorf("%s has the x-role %q", op.OperationID, out.Role)
	}
	out.MostBytes = kib << 10
	out.takesSheet = path == ImportsPath && kib > 0
	out.takesCertificate = (path == CertificatesPath || path == PhotosPath) && kib > 0
	return out, nil
}

// Settings are those of the route that a request has come to.
func (s *Service) Settings(ctx echo.Context) routeSettings {
	route := ctx.Request().Method + " " + ctx.Path()
	out, known := s.Contract.operations[route]
	if !known {
		out, known = pageRoutes[route]
	}
	if !known {
		out.MostBytes = formBytes
		if ctx.Request().Method != http.MethodOptions {
			out.Feed = strings.HasPrefix(ctx.Path(), FeedsPrefix)
			out.program = out.Feed || strings.HasPrefix(ctx.Path(), "/v1/")
		}
	}
	switch {
	case out.takesSheet:
		out.MostBytes = s.Contract.operations["POST "+ImportsPath].MostBytes
	case out.takesCertificate && out.MostBytes > 0:
		out.MostBytes = min(out.MostBytes, s.MaxBodyBytes)
	case out.takesCertificate:
		out.MostBytes = min(s.Contract.operations["POST "+CertificatesPath].MostBytes, s.MaxBodyBytes)
	default:
		out.MostBytes = min(out.MostBytes, s.MaxBodyBytes)
	}
	return out
}

// roles are all, each with the rights of those before it.
var roles = []db.Role{db.Reader, db.Crew, db.Manager}

func atLeast(role, least db.Role) bool {
	return slices.Index(roles, role) >= slices.Index(roles, least)
}

// entitled refuses whoever has not the role that a route asks for, before the body
// is read.
func (s *Service) entitled(ctx echo.Context) error {
	least := s.Settings(ctx).Role
	p, signedIn := ctx.Get("principal").(db.Principal)
	if least == "" || !signedIn || atLeast(p.Role, least) {
		return nil
	}
	if err := s.Books.CheckAccess(ctx.Request().Context(), p); err != nil {
		return err // the role may be another by now
	}
	if p.Role == db.Reader && ctx.Request().Method != http.MethodGet {
		return errOnlyReads
	}
	return errForManager
}

var (
	errForManager = fault.New(fault.NotYours, "This is for a manager, like all setting up, accepting and dispatching. Crew record what happens, load what a manager prepared, and put right what they recorded themselves in the same shift.")
	errOnlyReads  = fault.New(fault.NotYours, "This token only reads.")
)

// MayRecord says whether a role may record new entries of a kind.
func MayRecord(role db.Role, kind ledger.Kind) error { return allowed(role, kindRole(kind)) }

// MayBring says whether a role may bring this entry. Crew may bring corrections and
// withdrawals of what they may record: the book takes those that put the own slip right
// (ledger.Book.OwnSlip).
func MayBring(role db.Role, e *ledger.Entry) error {
	if _, decides := e.Body.(*ledger.LotStatus); e.Replaces != (ledger.ID{}) && !decides {
		return allowed(role, kindRole(e.Kind))
	}
	return allowed(role, LeastRole(e))
}

func allowed(role, least db.Role) error {
	switch {
	case atLeast(role, least):
		return nil
	case role == db.Reader:
		return errOnlyReads
	}
	return errForManager
}

// LeastRole returns the least role that may bring an entry whoever recorded what it replaces.
// A correction and a withdrawal are a manager's then; so is letting a lot go, which anybody on the crew may hold, and
// sending off what no manager prepared.
func LeastRole(e *ledger.Entry) db.Role {
	status, decides := e.Body.(*ledger.LotStatus)
	if e.Replaces != (ledger.ID{}) || decides && status.Status != ledger.StatusHeld {
		return db.Manager
	}
	if d, sends := e.Body.(*ledger.Dispatch); sends && d.PreparedID != (ledger.ID{}) && !d.Override {
		return db.Crew // AsPrepared says how much of it
	}
	return kindRole(e.Kind)
}

// kindRole is the least role that may record new entries of a kind. It stands in
// openapi.yaml, as x-role of the operation that records them.
func kindRole(kind ledger.Kind) db.Role {
	if kind.Files() {
		kind = ledger.KindReading // who records puts certificates and pictures with it
	}
	if kind == ledger.KindDispatch {
		return db.Manager // but for what a manager prepared: LeastRole
	}
	ways, err := RecordedBy()
	if way, known := ways[kind]; known && err == nil {
		return way.role
	}
	return db.Manager
}
