package main

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"

	"pullbook/api/feeds"
	"pullbook/db"
)

type feedKeyCommands struct {
	Add    feedKeyAddCommand    `cmd:"" help:"Make a feed key and print it, once."`
	List   feedKeyListCommand   `cmd:"" help:"List the feed keys of an outfit, without their secrets."`
	Revoke feedKeyRevokeCommand `cmd:"" help:"End a feed key at once."`
}

type feedKeyAddCommand struct {
	Name string `arg:"" help:"What the key is for, so that people can tell it from others later."`
	Feed string `name:"feed" placeholder:"FEED" help:"The one feed that the key reads, such as readings. Without it: all of them."`
	outfitCommand
}

func (c *feedKeyAddCommand) Help() string {
	return `A feed key stands in the address of a feed, http://.../feeds/lots.csv?key=..., for spreadsheet programs that can send nothing else. It reads feeds and nothing more. The command writes the key alone to standard output. The database keeps only its hash: if you lose a key, make another.`
}

func (c *feedKeyAddCommand) Run(ctx context.Context, term *terminal) error {
	if c.Feed != "" && !slices.Contains(feeds.Feeds(), c.Feed) {
		return fmt.Errorf("there is no feed %q, only %s", c.Feed, strings.Join(feeds.Feeds(), ", "))
	}
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		_, secret, err := d.CreateFeedKey(ctx, o.ID, c.Name, c.Feed, db.TheOperator)
		if err != nil {
			return err
		}
		fmt.Fprintf(term.Err, "A feed key for %s at %s. It is shown only now:\n", allOr(c.Feed), o.Name)
		fmt.Fprintln(term.Out, secret)
		return nil
	})
}

func allOr(feed string) string {
	if feed == "" {
		return "all feeds"
	}
	return feed
}

type feedKeyListCommand struct{ outfitCommand }

func (c *feedKeyListCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		keys, err := d.FeedKeys(ctx, o.ID)
		if err != nil {
			return err
		}
		rows := [][]string{{"id", "reads", "for", "made by", "made", "revoked"}}
		for _, k := range keys {
			rows = append(rows, []string{k.ID.String(), allOr(k.Feed), k.Name, k.MadeBy, day(&k.CreatedAt), day(k.RevokedAt)})
		}
		return term.table(rows)
	})
}

type feedKeyRevokeCommand struct {
	ID uuid.UUID `arg:"" help:"The id of the key, as feed-key list shows it."`
	outfitCommand
}

func (c *feedKeyRevokeCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		key, err := d.RevokeFeedKey(ctx, o.ID, c.ID)
		if err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "The feed key %q is good for nothing now.\n", key.Name)
		return nil
	})
}
