package main

import (
	"context"
	"fmt"

	"github.com/google/uuid"

	"pullbook/db"
)

type tokenCommands struct {
	Add    tokenAddCommand    `cmd:"" help:"Make a token in a person's name and print it, once."`
	List   tokenListCommand   `cmd:"" help:"List the tokens of an outfit, without their secrets."`
	Revoke tokenRevokeCommand `cmd:"" help:"End a token at once."`
}

type tokenAddCommand struct {
	Person string `arg:"" help:"The person in whose name the token signs in."`
	Name   string `name:"name" default:"made by the operator" help:"What the token is for, so that people can tell it from others later."`
	outfitCommand
}

func (c *tokenAddCommand) Help() string {
	return `The command writes the token alone to standard output, so that a script can keep it. The database keeps only its hash: if you lose a token, make another.`
}

func (c *tokenAddCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		secret, err := d.CreateToken(ctx, o.ID, c.Person, c.Name)
		if err != nil {
			return err
		}
		fmt.Fprintf(term.Err, "A token for %s at %s. It is shown only now:\n", c.Person, o.Name)
		fmt.Fprintln(term.Out, secret)
		return nil
	})
}

type tokenListCommand struct{ outfitCommand }

func (c *tokenListCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		tokens, err := d.Tokens(ctx, o.ID)
		if err != nil {
			return err
		}
		rows := [][]string{{"id", "person", "role", "for", "made", "revoked"}}
		for _, t := range tokens {
			rows = append(rows, []string{t.ID.String(), t.Person, string(t.Role), t.Name, day(&t.CreatedAt), day(t.RevokedAt)})
		}
		return term.table(rows)
	})
}

type tokenRevokeCommand struct {
	ID uuid.UUID `arg:"" help:"The id of the token, as token list shows it."`
	outfitCommand
}

func (c *tokenRevokeCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		name, err := d.RevokeToken(ctx, o.ID, c.ID)
		if err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "The token %q is good for nothing now.\n", name)
		return nil
	})
}
