package deliver

import (
	"fmt"
	"net/http"

	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/openapi"
)

// Handler answers the operations of the contract that are this room's.
type Handler struct{ *request.Service }

// ListDeliveries lists where the evening's page goes by itself.
func (s Handler) ListDeliveries(ctx echo.Context) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	all, err := s.DB.Deliveries(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return err
	}
	return ctx.JSON(http.StatusOK, wire.Each(all, deliveryOut))
}

// CreateDelivery sets a delivery up, and shows what signs a web hook, once.
func (s Handler) CreateDelivery(ctx echo.Context) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	var in openapi.NewDelivery
	if err := s.Contract.Bind(&in, ctx); err != nil {
		return err
	}
	x, err := SetUp(ctx, s.Service, p, Wish{
		Way: string(in.Way), Name: in.Name, Address: in.Address, Server: wire.OrZero(in.Server), Sender: wire.OrZero(in.Sender), Account: wire.OrZero(in.Account),
		Password: wire.OrZero(in.Password), At: in.At, Language: string(wire.OrDefault(in.Language, openapi.NewDeliveryLanguageEn)),
	})
	if err != nil {
		return err
	}
	ctx.Response().Header().Set("Cache-Control", "no-store")
	out := openapi.CreatedDelivery{Delivery: deliveryOut(x.Delivery)}
	if x.Way == db.ByHook {
		out.Secret = &x.Secret
	}
	return ctx.JSON(http.StatusCreated, out)
}

// SetUp stores what a manager wishes.
func SetUp(ctx echo.Context, s *request.Service, p db.Principal, w Wish) (x db.Outgoing, err error) {
	o, err := s.DB.Outfit(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return x, err
	}
	loc, err := o.Location()
	if err != nil {
		return x, err
	}
	if x, err = w.New(&s.Config, p.Name, loc); err != nil {
		return x, err
	}
	x.CreatedAt = s.Now()
	return x, s.DB.As(p).CreateDelivery(ctx.Request().Context(), p.Outfit, x)
}

// EndDelivery ends a delivery at once.
func (s Handler) EndDelivery(ctx echo.Context, id openapi_types.UUID) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	if err := s.DB.As(p).EndDelivery(ctx.Request().Context(), p.Outfit, id); err != nil {
		return err
	}
	return s.one(ctx, p, id)
}

// SendDelivery sends the page within a quarter of a minute.
func (s Handler) SendDelivery(ctx echo.Context, id openapi_types.UUID) error {
	p, err := s.Current(ctx)
	if err != nil {
		return err
	}
	if err := s.DB.SendNow(ctx.Request().Context(), p.Outfit, id); err != nil {
		return err
	}
	return s.one(ctx, p, id)
}

// ThisBookSends has all go on that was held since the book was restored, from the next evening on: a
// manager says that this is the book that sends now.
func ThisBookSends(ctx echo.Context, s *request.Service, p db.Principal) error {
	o, err := s.DB.Outfit(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return err
	}
	loc, err := o.Location()
	if err != nil {
		return err
	}
	all, err := s.DB.Deliveries(ctx.Request().Context(), p.Outfit)
	for _, x := range all {
		if err == nil && x.Held() {
			err = s.DB.ReleaseDelivery(ctx.Request().Context(), p.Outfit, x.ID, NextEvening(s.Now(), x.AtMinute, loc))
		}
	}
	return err
}

func (s Handler) one(ctx echo.Context, p db.Principal, id openapi_types.UUID) error {
	all, err := s.DB.Deliveries(ctx.Request().Context(), p.Outfit)
	if err != nil {
		return err
	}
	for _, x := range all {
		if x.ID == id {
			return ctx.JSON(http.StatusOK, deliveryOut(x))
		}
	}
	return fault.New(fault.NotFound, "The outfit has no delivery %s that goes on.", id)
}

// Clock is a minute of the day as 19:00.
func Clock(minute int) string { return fmt.Sprintf("%02d:%02d", minute/60, minute%60) }

func deliveryOut(x db.Delivery) openapi.Delivery {
	out := openapi.Delivery{
		ID: x.ID, Way: openapi.DeliveryWay(x.Way), Name: x.Name, Address: x.Shown(), Server: wire.OrNil(x.Server), Sender: wire.OrNil(x.Sender), Account: wire.OrNil(x.Account),
		At: Clock(x.AtMinute), Language: openapi.DeliveryLanguage(x.Language), MadeBy: x.MadeBy, CreatedAt: x.CreatedAt, EndedAt: x.EndedAt, SentAt: x.SentAt,
		Failed: wire.OrNil(SayWhy(x.Failed).String()),
	}
	if x.EndedAt == nil && !x.Held() {
		out.NextAt = &x.NextAt
	}
	return out
}
