package request

import (
	"cmp"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// authenticate lets a request in by its token: as a bearer token, or as the
// password of Basic, which is what spreadsheets can send. The program's own pages
// send no token: their session speaks for them, if the request is from them. So no
// page's form needs a check of its own.
func (s *Service) authenticate(ctx echo.Context) error {
	if !s.Settings(ctx).program {
		return s.fromHere(ctx)
	}
	secret := secretOf(ctx.Request())
	if key := ctx.QueryParam(keyParameter); s.Settings(ctx).Feed && (db.IsFeedKey(secret) || secret == "" && key != "") {
		return s.openFeed(ctx, cmp.Or(secret, key))
	}
	p, err := s.whoAsks(ctx)
	if err == nil {
		ctx.Set("principal", p)
	}
	return err
}

func (s *Service) whoAsks(ctx echo.Context) (db.Principal, error) {
	if secret := secretOf(ctx.Request()); secret != "" {
		return s.Books.SignIn(ctx.Request().Context(), secret)
	}
	ctx.Set(PageKey, true)
	if err := s.fromHere(ctx); err != nil {
		return db.Principal{}, err
	}
	p, err := s.Visitor(ctx)
	if err == ErrSignedOut {
		err = fault.New(fault.SignIn, "This needs a token: send it as Authorization: Bearer, or as the password of Basic.")
	}
	return p, err
}

const PageKey = "page"

// VoiceOf is how a request is answered: a program in English and SI, a page's own
// script in the reader's language and the outfit's units.
func VoiceOf(ctx echo.Context) message.Voice {
	if ctx.Get(PageKey) == nil {
		return message.English{}
	}
	p, _ := ctx.Get("principal").(db.Principal) // nobody, while signing in failed
	location, err := time.LoadLocation(p.Reads.TimeZone)
	if err != nil {
		location = time.UTC
	}
	return locale.NewVoice(LanguageOf(ctx), p.Reads.Units, location)
}

// secretOf is the token that a request brings.
func secretOf(r *http.Request) string {
	if scheme, rest, ok := strings.Cut(r.Header.Get("Authorization"), " "); ok && strings.EqualFold(scheme, "bearer") {
		return strings.TrimSpace(rest)
	}
	_, password, _ := r.BasicAuth()
	return password
}

// Principal returns who asks, whom Limit has found out.
func Principal(ctx echo.Context) db.Principal { return ctx.Get("principal").(db.Principal) }
