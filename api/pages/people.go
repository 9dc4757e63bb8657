package pages

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

const (
	peoplePath  = "/settings/people"
	accountPath = "/account"
)

func (p *pages) routePeople(e *echo.Echo, m ...echo.MiddlewareFunc) {
	e.GET(peoplePath, p.people, m...)
	e.POST(peoplePath, p.addPerson)
	e.POST(peoplePath+"/:id", p.changePerson)
	e.POST("/settings/tokens", p.addToken)
	e.POST("/settings/tokens/:id/revoke", p.revokeToken)
	e.POST("/settings/tablets", p.makeTablet)
	e.POST("/settings/tablets/:id/revoke", p.revokeTablet)
	e.GET(accountPath, p.account, m...)
	e.POST(accountPath, p.changeAccount)
}

// peopleView is who works for the outfit, with what signs in in their names.
type peopleView struct {
	People  []personRow
	Tokens  []tokenRow
	Tablets []tabletRow
	// Secret is shown once, after it was made, with what it is and whose.
	Secret, SecretOf string
	SecretIsToken    bool
	// Trusted is where devices have to be told to trust this machine.
	Trusted bool
}

type personRow struct {
	ID, Name, Left         string
	Role                   db.Role
	You                    bool
	HasPassword, HasUnlock bool
	// Wrong says how many wrong codes in a row were typed for the person at tablets;
	// empty where none were.
	Wrong string
}

type tokenRow struct{ ID, Name, Person, Made, Revoked string }

type tabletRow struct{ ID, Name, Made, Revoked string }

// people lists people, tokens and tablets.
func (p *pages) people(ctx echo.Context) error {
	return p.showPeople(ctx, &peopleView{})
}

func (p *pages) showPeople(ctx echo.Context, v *peopleView) error {
	who, f, err := p.managingIn(ctx)
	if err != nil {
		return err
	}
	if err := p.fillPeople(ctx, f, who, v); err != nil {
		return err
	}
	v.Trusted = p.Own != nil
	return p.page(ctx, http.StatusOK, "people.html", v)
}

func (p *pages) fillPeople(ctx echo.Context, f locale.Voice, who db.Principal, v *peopleView) error {
	c := ctx.Request().Context()
	people, err := p.DB.People(c, who.Outfit)
	if err != nil {
		return err
	}
	wrong, err := p.DB.WrongCodes(c, who.Outfit)
	if err != nil {
		return err
	}
	for _, x := range people {
		row := personRow{ID: x.ID.String(), Name: x.Name, Role: x.Role, You: x.ID == who.Person, HasPassword: x.HasPassword, HasUnlock: x.HasUnlock}
		if x.Left != nil {
			row.Left = f.Day(*x.Left)
		}
		if n := wrong[x.ID]; n > 0 {
			row.Wrong = f.Say("%s", message.Plural{N: float64(n), One: "%s wrong code in a row", Other: "%s wrong codes in a row"})
		}
		v.People = append(v.People, row)
	}
	tokens, err := p.DB.Tokens(c, who.Outfit)
	if err != nil {
		return err
	}
	for _, x := range tokens {
		row := tokenRow{ID: x.ID.String(), Name: x.Name, Person: x.Person, Made: f.Day(x.CreatedAt)}
		if x.RevokedAt != nil {
			row.Revoked = f.Day(*x.RevokedAt)
		}
		v.Tokens = append(v.Tokens, row)
	}
	tablets, err := p.DB.Tablets(c, who.Outfit)
	for _, x := range tablets {
		row := tabletRow{ID: x.ID.String(), Name: x.Name, Made: f.Day(x.CreatedAt)}
		if x.RevokedAt != nil {
			row.Revoked = f.Day(*x.RevokedAt)
		}
		v.Tablets = append(v.Tablets, row)
	}
	return err
}

// managing is a form that a manager sent.
func (p *pages) managing(ctx echo.Context) (db.Principal, error) {
	who, _, err := p.managingIn(ctx)
	return who, err
}

// managingIn is managing, with the voice that the page speaks in.
func (p *pages) managingIn(ctx echo.Context) (who db.Principal, f locale.Voice, err error) {
	err = p.manage(ctx, func(m db.Principal, o db.Outfit, b *ledger.Book) error {
		who, f = m, request.VoiceFor(ctx, o, b)
		return nil
	})
	return who, f, err
}

// addPerson adds somebody, with a first password that is shown once.
func (p *pages) addPerson(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	role, err := roleNamed(ctx.FormValue("role"))
	if err != nil {
		return err
	}
	name := strings.TrimSpace(ctx.FormValue("name"))
	if name == "" {
		return fault.New(fault.Invalid, "A person needs a name: the book writes it beside each entry.")
	}
	new := db.Person{ID: uuid.New(), Name: name, Role: role}
	password := db.NewPassword()
	if err := p.DB.As(who).CreatePersonWithPassword(ctx.Request().Context(), who.Outfit, new, password); err != nil {
		return err
	}
	return p.showPeople(ctx, &peopleView{Secret: password, SecretOf: name})
}

func roleNamed(text string) (db.Role, error) {
	switch role := db.Role(text); role {
	case db.Reader, db.Crew, db.Manager:
		return role, nil
	}
	return "", fault.New(fault.Invalid, "A role is reader, crew or manager.")
}

// changePerson does what a manager asked for one person.
func (p *pages) changePerson(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	id, err := idParam(ctx)
	if err != nil {
		return err
	}
	c, do := ctx.Request().Context(), ctx.FormValue("do")
	if id == who.Person && (do == "role" || do == "leave") {
		return fault.New(fault.Invalid, "Another manager has to do this for you, so that the outfit is never without one.")
	}
	switch do {
	case "password":
		password := db.NewPassword()
		if err := p.DB.As(who).SetPassword(c, who.Outfit, id, password); err != nil {
			return err
		}
		if id == who.Person {
			return ctx.Redirect(http.StatusSeeOther, accountPath)
		}
		return p.showPeople(ctx, &peopleView{Secret: password, SecretOf: ctx.FormValue("name")})
	case "code":
		err = p.DB.As(who).SetUnlock(c, who.Outfit, id, ctx.FormValue("code"))
	case "let-try":
		err = p.DB.ForgetWrongCodes(c, who.Outfit, id)
	case "role":
		var role db.Role
		if role, err = roleNamed(ctx.FormValue("role")); err == nil {
			err = p.DB.As(who).SetRole(c, who.Outfit, id, role)
		}
	case "sign-out":
		err = p.DB.As(who).SignOutEverywhere(c, who.Outfit, id)
	case "leave":
		err = p.DB.As(who).PersonLeaves(c, who.Outfit, id)
	default:
		err = echo.ErrNotFound
	}
	if err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, peoplePath)
}

func idParam(ctx echo.Context) (uuid.UUID, error) {
	id, err := uuid.Parse(ctx.Param("id"))
	if err != nil {
		return id, echo.ErrNotFound
	}
	return id, nil
}

// addToken makes a token, which is shown once.
func (p *pages) addToken(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	name, person := strings.TrimSpace(ctx.FormValue("name")), ctx.FormValue("person")
	if name == "" {
		return fault.New(fault.Invalid, "A token needs a name, such as the program that will use it.")
	}
	secret, err := p.DB.As(who).CreateToken(ctx.Request().Context(), who.Outfit, person, name)
	if err != nil {
		return err
	}
	return p.showPeople(ctx, &peopleView{Secret: secret, SecretOf: name, SecretIsToken: true})
}

func (p *pages) revokeToken(ctx echo.Context) error {
	return p.revoke(ctx, func(who db.Principal, id uuid.UUID) error {
		_, err := p.DB.As(who).RevokeToken(ctx.Request().Context(), who.Outfit, id)
		return err
	})
}

func (p *pages) revokeTablet(ctx echo.Context) error {
	return p.revoke(ctx, func(who db.Principal, id uuid.UUID) error {
		return p.DB.As(who).RevokeTablet(ctx.Request().Context(), who.Outfit, id)
	})
}

func (p *pages) revoke(ctx echo.Context, end func(db.Principal, uuid.UUID) error) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	id, err := idParam(ctx)
	if err != nil {
		return err
	}
	if err := end(who, id); err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, peoplePath)
}

// makeTablet turns the device at hand into a shed's tablet: the manager is signed
// out of it, and whoever stands at it unlocks it.
func (p *pages) makeTablet(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	tablet, err := p.DB.As(who).CreateTablet(ctx.Request().Context(), who.Outfit, strings.TrimSpace(ctx.FormValue("name")))
	if err != nil {
		return err
	}
	if err := p.begin(ctx, tablet, request.TabletSession, request.TabletSession); err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, "/")
}

// accountView is what a person sees of her own way in.
type accountView struct {
	Name, Outfit string
	Role         db.Role
	// Done says what was done just now.
	Done string
}

func (p *pages) account(ctx echo.Context) error { return p.showAccount(ctx, "") }

func (p *pages) showAccount(ctx echo.Context, done string) error {
	var v accountView
	var f locale.Voice
	err := p.look(ctx, func(who db.Principal, o db.Outfit, b *ledger.Book) error {
		v, f = accountView{Name: who.Name, Outfit: o.Name, Role: who.Role}, request.VoiceFor(ctx, o, b)
		return nil
	})
	if err != nil {
		return err
	}
	if done != "" {
		v.Done = f.Say(done)
	}
	return p.page(ctx, http.StatusOK, "account.html", v)
}

// changeAccount changes a person's own password or code, or signs the person out
// of every device. Each asks for the password: the device may lie about.
func (p *pages) changeAccount(ctx echo.Context) error {
	var who db.Principal
	var outfit string
	err := p.look(ctx, func(me db.Principal, o db.Outfit, _ *ledger.Book) error {
		who, outfit = me, o.Name
		return nil
	})
	if err != nil {
		return err
	}
	if err := p.ownPassword(ctx, who, outfit); err != nil {
		return err
	}
	c := ctx.Request().Context()
	switch ctx.FormValue("do") {
	case "password":
		if err := p.DB.As(who).SetPassword(c, who.Outfit, who.Person, ctx.FormValue("new")); err != nil {
			return err
		}
		return ctx.Redirect(http.StatusSeeOther, "/")
	case "code":
		if err := p.DB.As(who).SetUnlock(c, who.Outfit, who.Person, ctx.FormValue("code")); err != nil {
			return err
		}
		return p.showAccount(ctx, "Your code for the shed's tablets is changed.")
	case "sign-out":
		if err := p.DB.As(who).SignOutEverywhere(c, who.Outfit, who.Person); err != nil {
			return err
		}
		return ctx.Redirect(http.StatusSeeOther, "/")
	}
	return echo.ErrNotFound
}

// ownPassword asks for the password of who is signed in. Its tries are the session's
// own: whoever guesses from outside does not use them up.
func (p *pages) ownPassword(ctx echo.Context, who db.Principal, outfit string) error {
	tries := request.CountBy(passwordOnDevice, "password of who is signed in", who.Outfit.String(), who.Person.String())
	if wait := p.Guesses.Take(tries); wait > 0 {
		return request.TooOften(ctx, wait)
	}
	c := ctx.Request().Context()
	named, err := p.DB.Named(c, outfit, who.Name)
	if err != nil {
		return err
	}
	named = slices.DeleteFunc(named, func(n db.Named) bool { return n.Outfit != who.Outfit || n.Person != who.Person })
	_, err = p.DB.SignInByPassword(c, named, ctx.FormValue("password"))
	if fault.CodeOf(err) == fault.SignIn {
		return fault.New(fault.Invalid, "This is not your password as it is now.")
	}
	p.Guesses.GiveBack(tries)
	return err
}

// escaped is text as a cookie may hold it.
func escaped(text string) string { return url.QueryEscape(text) }

// unescaped is what escaped was made from; nothing where it was not.
func unescaped(text string) string {
	out, err := url.QueryUnescape(text)
	if err != nil {
		return ""
	}
	return out
}
