package pages

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"pullbook/api/deliver"
	"pullbook/api/request"
	"pullbook/db"
)

const deliveriesPath = "/settings/deliveries"

func (p *pages) routeDeliveries(e *echo.Echo, m ...echo.MiddlewareFunc) {
	e.GET(deliveriesPath, p.deliveriesPage, m...)
	e.POST(deliveriesPath, p.addDelivery)
	e.POST(deliveriesPath+"/:id", p.changeDelivery)
}

// deliveriesView is where the evening's page goes by itself.
type deliveriesView struct {
	Deliveries []deliveryRow
	Ended      []deliveryRow
	// Secret is what signs a web hook that was set up just now, and SecretOf its name.
	Secret, SecretOf string
	// Evening is the time of day that a form begins with.
	Evening string
	// Held: the book was restored, and sends nothing yet.
	Held bool
}

type deliveryRow struct {
	ID, Name, Address, Server, At, MadeBy, Ended string
	Mail, Held                                   bool
	// Sent is when one last arrived, Next when one goes next or is tried again, and
	// Failed why the last try failed; empty where there is nothing to say.
	Sent, Next, Failed string
}

// usualEvening is when the day's work is mostly done; common practice.
const usualEvening = "19:00"

func (p *pages) deliveriesPage(ctx echo.Context) error {
	return p.showDeliveries(ctx, &deliveriesView{})
}

func (p *pages) showDeliveries(ctx echo.Context, v *deliveriesView) error {
	who, f, err := p.managingIn(ctx)
	if err != nil {
		return err
	}
	all, err := p.DB.Deliveries(ctx.Request().Context(), who.Outfit)
	if err != nil {
		return err
	}
	v.Evening = usualEvening
	for _, x := range all {
		row := deliveryRow{
			ID: x.ID.String(), Name: x.Name, Address: x.Shown(), Server: x.Server, At: deliver.Clock(x.AtMinute), MadeBy: x.MadeBy, Mail: x.Way == db.ByMail, Held: x.Held(),
			Next: f.Minute(x.NextAt), Failed: deliver.SayWhy(x.Failed).In(f),
		}
		v.Held = v.Held || x.Held()
		if x.SentAt != nil {
			row.Sent = f.Minute(*x.SentAt)
		}
		if x.EndedAt != nil {
			row.Ended = f.Day(*x.EndedAt)
			v.Ended = append(v.Ended, row)
			continue
		}
		v.Deliveries = append(v.Deliveries, row)
	}
	return p.page(ctx, http.StatusOK, "deliveries.html", v)
}

// addDelivery sets one up. What signs a web hook is shown once. Of a restored book it lets go on what
// there is.
func (p *pages) addDelivery(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	if ctx.FormValue("do") == "this-book" {
		if err := deliver.ThisBookSends(ctx, p.Service, who); err != nil {
			return err
		}
		return ctx.Redirect(http.StatusSeeOther, deliveriesPath)
	}
	x, err := deliver.SetUp(ctx, p.Service, who, deliver.Wish{
		Way: ctx.FormValue("way"), Name: ctx.FormValue("name"), Address: ctx.FormValue("address"), Server: ctx.FormValue("server"), Sender: ctx.FormValue("sender"),
		Account: ctx.FormValue("account"), Password: ctx.FormValue("password"), At: ctx.FormValue("at"), Language: request.LanguageOf(ctx).Lang,
	})
	if err != nil {
		return err
	}
	if x.Way == db.ByHook {
		return p.showDeliveries(ctx, &deliveriesView{Secret: x.Secret, SecretOf: x.Name})
	}
	return ctx.Redirect(http.StatusSeeOther, deliveriesPath)
}

// changeDelivery ends one, or sends it now.
func (p *pages) changeDelivery(ctx echo.Context) error {
	who, err := p.managing(ctx)
	if err != nil {
		return err
	}
	id, err := idParam(ctx)
	if err != nil {
		return err
	}
	switch c := ctx.Request().Context(); ctx.FormValue("do") {
	case "end":
		err = p.DB.As(who).EndDelivery(c, who.Outfit, id)
	case "now":
		err = p.DB.SendNow(c, who.Outfit, id)
	default:
		err = echo.ErrNotFound
	}
	if err != nil {
		return err
	}
	return ctx.Redirect(http.StatusSeeOther, deliveriesPath)
}
