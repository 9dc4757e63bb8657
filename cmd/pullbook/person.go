package main

import (
	"context"
	"fmt"

	"github.com/google/uuid"

	"pullbook/db"
)

type personCommands struct {
	Add   personAddCommand   `cmd:"" help:"Add a person to an outfit."`
	List  personListCommand  `cmd:"" help:"List the people of an outfit."`
	Leave personLeaveCommand `cmd:"" help:"Mark a person as gone, which ends that person's tokens at once."`
}

type personAddCommand struct {
	Name string `arg:"" help:"What the person is called; the book writes it beside each entry."`
	Role string `name:"role" enum:"crew,manager,reader" default:"crew" help:"What the person may do: reader reads; crew also records; manager also sets up, corrects, withdraws and dispatches."`
	outfitSettings
	operatorSettings
}

func (c *personAddCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB) error {
		o, err := c.find(ctx, d)
		if err != nil {
			return err
		}
		if err := d.CreatePerson(ctx, o.ID, db.Person{ID: uuid.New(), Name: c.Name, Role: db.Role(c.Role)}); err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "%s is %s at %s now.\n", c.Name, c.Role, o.Name)
		return nil
	})
}

type personListCommand struct {
	outfitSettings
	operatorSettings
}

func (c *personListCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB) error {
		o, err := c.find(ctx, d)
		if err != nil {
			return err
		}
		people, err := d.People(ctx, o.ID)
		if err != nil {
			return err
		}
		rows := [][]string{{"name", "role", "left"}}
		for _, p := range people {
			rows = append(rows, []string{p.Name, string(p.Role), day(p.Left)})
		}
		return term.table(rows)
	})
}

type personLeaveCommand struct {
	Name string `arg:"" help:"Who leaves. What the person recorded stays in the book."`
	outfitSettings
	operatorSettings
}

func (c *personLeaveCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB) error {
		o, err := c.find(ctx, d)
		if err != nil {
			return err
		}
		name, err := d.PersonLeaves(ctx, o.ID, c.Name)
		if err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "%s has left %s; tokens in that name are good for nothing now.\n", name, o.Name)
		return nil
	})
}
