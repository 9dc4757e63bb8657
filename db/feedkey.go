package db

import (
	"context"
	"crypto/sha256"
	"errors"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db/away"
	"pullbook/domain/fault"
)

// FeedKey is a secret that stands in the address of a feed: it reads feeds and
// nothing else.
type FeedKey struct {
	ID   uuid.UUID
	Name string
	// Feed is the one feed that it reads; empty where it reads all.
	Feed      string
	MadeBy    string
	CreatedAt time.Time
	RevokedAt *time.Time
}

const feedKeyPrefix = "pullbookfeed_"

// IsFeedKey reports whether a secret has the form of a feed key, valid or not.
func IsFeedKey(secret string) bool { return strings.HasPrefix(secret, feedKeyPrefix) }

// FeedKeyOutfit returns the outfit that a feed key names; false where the text is no feed
// key.
func FeedKeyOutfit(secret string) (uuid.UUID, bool) { return outfitIn(feedKeyPrefix, secret) }

const sqlInsertFeedKey = `
INSERT INTO feed_key (outfit_id, feed_key_id, name, feed, made_by, hash)
VALUES ($1, $2, $3, nullif($4, ''), $5, $6)
RETURNING ` + feedKeyState

// CreateFeedKey makes a key for one feed, or for all where feed is empty. It returns the
// key's text, which is stored nowhere and shown only now.
func (d *DB) CreateFeedKey(ctx context.Context, outfit uuid.UUID, name, feed, madeBy string) (k FeedKey, secret string, err error) {
	defer fault.Wrap(&err, "create feed key %q", name)
	if strings.TrimSpace(name) == "" {
		return k, "", fault.New(fault.Invalid, "A feed key needs a name, so that people can tell it from others later.")
	}
	k = FeedKey{ID: uuid.New(), Name: name, Feed: feed, MadeBy: madeBy}
	secret = newSecret(feedKeyPrefix, outfit)
	hash := hashOf(secret)
	err = d.add(ctx, outfit, func(c *changes) error {
		now, err := c.one(feedKeyTold, sqlInsertFeedKey, outfit, k.ID, name, feed, madeBy, hash[:])
		if err == nil {
			k.CreatedAt = now.FeedKey.MadeAt
		}
		return err
	})
	return k, secret, err
}

const sqlFeedKeys = `
SELECT feed_key_id, name, coalesce(feed, ''), made_by, created_at, revoked_at
  FROM feed_key
 WHERE outfit_id = $1
 ORDER BY created_at, feed_key_id`

// FeedKeys lists an outfit's feed keys, the revoked ones too.
func (d *DB) FeedKeys(ctx context.Context, outfit uuid.UUID) (_ []FeedKey, err error) {
	defer fault.Wrap(&err, "list feed keys")
	return list(ctx, d, outfit, pgx.RowToStructByPos[FeedKey], sqlFeedKeys)
}

const sqlRevokeFeedKey = `
UPDATE feed_key
   SET revoked_at = now()
 WHERE outfit_id = $1
   AND feed_key_id = $2
   AND revoked_at IS NULL
RETURNING ` + feedKeyState

// RevokeFeedKey ends a feed key at once.
func (d *DB) RevokeFeedKey(ctx context.Context, outfit, key uuid.UUID) (k FeedKey, err error) {
	defer fault.Wrap(&err, "revoke feed key %s", key)
	err = d.change(ctx, outfit, func(c *changes) error {
		now, err := c.one(feedKeyTold, sqlRevokeFeedKey, outfit, key)
		if err == nil {
			is := now.FeedKey
			k = FeedKey{ID: is.ID, Name: is.Name, Feed: is.Feed, MadeBy: is.MadeBy, CreatedAt: is.MadeAt, RevokedAt: is.RevokedAt}
		}
		return err
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return k, fault.New(fault.NotFound, "The outfit has no valid feed key %s.", key)
	}
	return k, err
}

const sqlFeedPrincipal = `
SELECT k.name, coalesce(k.feed, ''), b.access
  FROM feed_key k
  JOIN book b USING (outfit_id)
 WHERE k.outfit_id = $1
   AND k.hash = $2
   AND k.revoked_at IS NULL`

// FeedPrincipal returns the principal of a feed key, and the feed that it reads; empty for
// all. It asks the database each time, so that a revoked key ends at once. While the
// database is away, a reader gets its last answer.
func (d *DB) FeedPrincipal(ctx context.Context, secret string) (p Principal, feed string, err error) {
	defer fault.Wrap(&err, "look up a feed key")
	outfit, ok := FeedKeyOutfit(secret)
	if !ok {
		return p, "", errBadFeedKey
	}
	hash := hashOf(secret)
	reads, err := away.AskOrRecall(ctx, d.feedKeys, outfit, hash, d.Now(), func(ctx context.Context) (r feedReads, err error) {
		err = d.row(ctx, outfit, []any{&r.name, &r.feed, &r.access}, sqlFeedPrincipal, hash[:])
		return r, err
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return p, "", errBadFeedKey
	}
	return Principal{Outfit: outfit, Role: Reader, Name: reads.name, Access: reads.access, By: feedKey(secret)}, reads.feed, err
}

// feedReads is what a feed key reads, and under which name.
type feedReads struct {
	name, feed string
	access     int64
}

// feedKey is a feed key's text.
type feedKey string

func (k feedKey) Key() [sha256.Size]byte { return hashOf(string(k)) }

func (k feedKey) Principal(ctx context.Context, d *DB) (Principal, error) {
	p, _, err := d.FeedPrincipal(ctx, string(k))
	return p, err
}

var errBadFeedKey = fault.New(fault.SignIn, "This feed key is not valid: it was copied wrong or revoked. A manager can make a new one.")
