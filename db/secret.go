package db

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"strings"

	"github.com/google/uuid"
)

// newSecret returns a secret's text: a prefix for its purpose, the outfit's id and 192
// random bits. With the id, no query has to look across outfits.
func newSecret(prefix string, outfit uuid.UUID) string {
	secret := make([]byte, 16+24)
	copy(secret, outfit[:])
	rand.Read(secret[16:])
	return prefix + base64.RawURLEncoding.EncodeToString(secret)
}

// outfitIn returns the outfit that a secret names; false where the text is no secret with
// this prefix.
func outfitIn(prefix, secret string) (uuid.UUID, bool) {
	text, ok := strings.CutPrefix(secret, prefix)
	raw, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil || len(raw) != 16+24 || !ok {
		return uuid.UUID{}, false
	}
	return uuid.UUID(raw[:16]), true
}

func hashOf(secret string) [sha256.Size]byte { return sha256.Sum256([]byte(secret)) }
