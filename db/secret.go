package db

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"strings"

	"github.com/google/uuid"
)

// newSecret makes a secret's text: what it is for, the outfit's id, so that the service need not
// look across outfits to find whose it is, and 192 random bits.
func newSecret(prefix string, outfit uuid.UUID) string {
	secret := make([]byte, 16+24)
	copy(secret, outfit[:])
	rand.Read(secret[16:])
	return prefix + base64.RawURLEncoding.EncodeToString(secret)
}

// outfitIn reads whose a secret is; false where it can be none with this prefix.
func outfitIn(prefix, secret string) (uuid.UUID, bool) {
	text, ok := strings.CutPrefix(secret, prefix)
	raw, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil || len(raw) != 16+24 || !ok {
		return uuid.UUID{}, false
	}
	return uuid.UUID(raw[:16]), true
}

func hashOf(secret string) [sha256.Size]byte { return sha256.Sum256([]byte(secret)) }
