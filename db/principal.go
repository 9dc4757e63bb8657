package db

import (
	"context"
	"crypto/sha256"

	"github.com/google/uuid"
)

// Principal is the person for whom a request speaks, and what that person may do.
type Principal struct {
	Outfit uuid.UUID
	Person uuid.UUID
	// Name is what the book writes down as having recorded an entry.
	Name string
	Role Role
	// Access is the outfit's access count when the principal was looked up. Once the
	// count has moved on, the principal has to be looked up again.
	Access int64
	// Reads is how the outfit's pages show figures. Only a page's session has it.
	Reads struct{ Units, TimeZone string }
	// By is what the principal signed in with.
	By Credential
}

// Credential is what somebody signed in with: a token, a feed key or a page's session.
type Credential interface {
	// Key tells the credential from all others.
	Key() [sha256.Size]byte
	// Principal looks up for whom the credential speaks.
	Principal(context.Context, *DB) (Principal, error)
}
