package request

import (
	"net/http"
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/db"
)

// deviceCookie keeps the secrets of the people who signed in on a device, the last
// ones last. It lets nobody in: by it a person's own device is told from a stranger's.
const deviceCookie = "pullbook_device"

// mostOnDevice is how many people a device is known for.
const mostOnDevice = 5

func deviceSecrets(ctx echo.Context) []string {
	cookie, err := ctx.Cookie(deviceCookie)
	if err != nil {
		return nil
	}
	secrets := strings.Split(cookie.Value, ".")
	return secrets[:min(len(secrets), mostOnDevice)]
}

// KnownDevice is the secret by which a device is known for a person; empty where it
// is not.
func (s *Service) KnownDevice(ctx echo.Context, who db.Session) (secret string, err error) {
	for _, secret := range deviceSecrets(ctx) {
		if outfit, _ := db.DeviceOutfit(secret); outfit != who.Outfit {
			continue
		}
		if person, err := s.DB.DevicePerson(ctx.Request().Context(), secret); err != nil || person == who.Person {
			return secret, err
		}
	}
	return "", nil
}

// ofDevice is for whom a device is known, the last who signed in on it.
func (s *Service) ofDevice(ctx echo.Context) (outfit, person uuid.UUID) {
	for _, secret := range slices.Backward(deviceSecrets(ctx)) {
		person, err := s.DB.DevicePerson(ctx.Request().Context(), secret)
		if err == nil && person != uuid.Nil {
			outfit, _ = db.DeviceOutfit(secret)
			return outfit, person
		}
	}
	return outfit, person
}

// RememberDevice makes a device known for who signed in on it.
func (s *Service) RememberDevice(ctx echo.Context, who db.Session) error {
	had, err := s.KnownDevice(ctx, who)
	if err != nil {
		return err
	}
	secret := had
	if had == "" {
		if secret, err = s.DB.KnowDevice(ctx.Request().Context(), who.Outfit, who.Person); err != nil {
			return err
		}
	}
	kept := slices.DeleteFunc(deviceSecrets(ctx), func(old string) bool { return old == had || old == "" })
	kept = append(kept, secret)
	ctx.SetCookie(&http.Cookie{
		Name: deviceCookie, Value: strings.Join(kept[max(0, len(kept)-mostOnDevice):], "."), Path: "/", MaxAge: int(TabletSession.Seconds()),
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: ctx.Scheme() == "https",
	})
	return nil
}
