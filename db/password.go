package db

import (
	"context"
	"crypto/rand"
	"runtime"
	"strings"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"

	"pullbook/domain/fault"
)

// hashing follows the first choice for argon2id of the OWASP Password Storage
// Cheat Sheet: 19 MiB, two passes, one lane.
var hashing = &argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

// hashers bounds the memory that hashing takes at once.
var hashers = make(chan struct{}, max(1, runtime.GOMAXPROCS(0)))

func hashSecret(ctx context.Context, secret string) (string, error) {
	if err := takeHasher(ctx); err != nil {
		return "", err
	}
	defer func() { <-hashers }()
	return argon2id.CreateHash(secret, hashing)
}

// takeHasher waits for a turn to hash, for as long as somebody waits for the answer.
func takeHasher(ctx context.Context) error {
	select {
	case hashers <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// matches reports whether hash is of secret. Where there is no hash, it takes as long.
func matches(ctx context.Context, secret, hash string) (bool, error) {
	if err := takeHasher(ctx); err != nil {
		return false, err
	}
	defer func() { <-hashers }()
	if hash == "" {
		_, err := argon2id.CreateHash(secret, hashing)
		return false, err
	}
	return argon2id.ComparePasswordAndHash(secret, hash)
}

// Lengths of what people sign in with, in characters.
const (
	shortestPassword = 10
	LongestPassword  = 200
	shortestUnlock   = 4
	longestUnlock    = 8
)

func checkPassword(password string) error {
	n := utf8.RuneCountInString(password)
	if n < shortestPassword || n > LongestPassword {
		return fault.New(fault.Invalid, "The password has %s characters; %s to %s will do. Three or four words that mean something only to you are easy to keep.", n, shortestPassword, LongestPassword)
	}
	return nil
}

func checkUnlock(code string) error {
	if n := len(code); n < shortestUnlock || n > longestUnlock || strings.Trim(code, "0123456789") != "" {
		return fault.New(fault.Invalid, "The unlock code has to be %s to %s digits.", shortestUnlock, longestUnlock)
	}
	if common(code) {
		return fault.New(fault.Invalid, "The unlock code %s is among the first that anybody tries; please choose another.", code)
	}
	return nil
}

// NewPassword returns a password to hand to somebody: twelve letters and digits of
// which none looks like another, in threes; 60 random bits.
func NewPassword() string {
	text := strings.ToLower(rand.Text()[:12])
	return strings.Join([]string{text[:3], text[3:6], text[6:9], text[9:]}, "-")
}
