package main

import (
	"context"
	"fmt"

	"github.com/google/uuid"

	"pullbook/db"
)

type outfitCommands struct {
	Add  outfitAddCommand  `cmd:"" help:"Make an outfit with an empty book."`
	List outfitListCommand `cmd:"" help:"List the outfits."`
}

type outfitAddCommand struct {
	Name     string `arg:"" help:"What the business is called."`
	TimeZone string `name:"time-zone" required:"" placeholder:"ZONE" help:"Where its days begin and end, as Europe/Madrid or America/Winnipeg."`
	Units    string `name:"units" enum:"metric,us" default:"metric" help:"What the page shows: metric or us. The book keeps grams."`
	operatorSettings
}

func (c *outfitAddCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB) error {
		o := db.Outfit{ID: uuid.New(), Name: c.Name, TimeZone: c.TimeZone, Units: c.Units}
		if err := d.CreateOutfit(ctx, o); err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "%s has a book now. Its id is %s.\n", o.Name, o.ID)
		return nil
	})
}

type outfitListCommand struct{ operatorSettings }

func (c *outfitListCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB) error {
		outfits, err := d.Outfits(ctx)
		if err != nil {
			return err
		}
		rows := [][]string{{"name", "time zone", "units", "entries", "id"}}
		for _, o := range outfits {
			head, err := d.Head(ctx, o.ID)
			if err != nil {
				return err
			}
			rows = append(rows, []string{o.Name, o.TimeZone, o.Units, fmt.Sprint(head.Number), o.ID.String()})
		}
		return term.table(rows)
	})
}
