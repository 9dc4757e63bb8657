package books

import (
	"context"

	"pullbook/db"
	"pullbook/domain/fault"
)

// SignIn returns the principal of a token. Books remembers it; Read and Append check it
// against the outfit's access count.
func (b *Books) SignIn(ctx context.Context, secret string) (db.Principal, error) {
	return b.signIn(ctx, db.TokenSecret(secret))
}

// Resume returns the principal of a page's session, as SignIn does that of a token.
func (b *Books) Resume(ctx context.Context, s db.Session) (db.Principal, error) {
	return b.signIn(ctx, s)
}

func (b *Books) signIn(ctx context.Context, by db.Credential) (db.Principal, error) {
	key := by.Key()
	if p, ok := b.principals.Load(key); ok {
		return p.(db.Principal), nil
	}
	p, err := by.Principal(ctx, b.db)
	if err != nil {
		return p, err
	}
	p.By = by
	b.principals.Store(key, p)
	return p, nil
}

// renew looks a principal up again after its outfit's people or tokens changed. It
// refuses one whose role is another now.
func (b *Books) renew(ctx context.Context, p db.Principal) (db.Principal, error) {
	b.principals.Delete(p.By.Key())
	now, err := b.signIn(ctx, p.By)
	if err == nil && now.Role != p.Role {
		err = fault.New(fault.NotYours, "Your role has changed to %s since: please try again.", now.Role)
	}
	return now, err
}

// CheckAccess refuses a principal whose token or session has ended since it was looked up.
func (b *Books) CheckAccess(ctx context.Context, p db.Principal) error {
	head, err := b.db.Head(ctx, p.Outfit)
	if err == nil && head.Access != p.Access {
		_, err = b.renew(ctx, p)
	}
	return err
}
