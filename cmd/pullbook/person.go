package main

import (
	"context"
	"fmt"

	"github.com/google/uuid"

	"pullbook/db"
)

type personCommands struct {
	Add      personAddCommand      `cmd:"" help:"Add a person to an outfit."`
	List     personListCommand     `cmd:"" help:"List the people of an outfit."`
	Password personPasswordCommand `cmd:"" help:"Give a person a new password for the pages and print it, once."`
	Leave    personLeaveCommand    `cmd:"" help:"Mark a person as gone, which ends that person's tokens and sessions at once."`
}

type personAddCommand struct {
	Name string `arg:"" help:"What the person is called; the book writes it beside each entry."`
	Role string `name:"role" enum:"crew,manager,reader" default:"crew" help:"What the person may do: reader reads; crew also records; manager also sets up, corrects, withdraws and dispatches."`
	outfitCommand
}

func (c *personAddCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		p := db.Person{ID: uuid.New(), Name: c.Name, Role: db.Role(c.Role)}
		password := db.NewPassword()
		if err := d.CreatePersonWithPassword(ctx, o.ID, p, password); err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "%s is %s at %s now.\n", c.Name, c.Role, o.Name)
		showPassword(term, o, p, password)
		return nil
	})
}

// showPassword prints a person's new password for the page.
func showPassword(term *terminal, o db.Outfit, p db.Person, password string) {
	fmt.Fprintf(term.Out, "The page lets %s in by the outfit %q, the name and this password, which is shown only now:\n%s\n", p.Name, o.Name, password)
}

type personPasswordCommand struct {
	Name string `arg:"" help:"The person who gets a new password. That signs the person out everywhere."`
	outfitCommand
}

func (c *personPasswordCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		p, err := d.PersonCalled(ctx, o.ID, c.Name)
		if err != nil {
			return err
		}
		password := db.NewPassword()
		if err := d.SetPassword(ctx, o.ID, p.ID, password); err != nil {
			return err
		}
		showPassword(term, o, p, password)
		return nil
	})
}

type personListCommand struct{ outfitCommand }

func (c *personListCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
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
	Name string `arg:"" help:"The person who leaves. What the person recorded stays in the book."`
	outfitCommand
}

func (c *personLeaveCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		p, err := d.PersonCalled(ctx, o.ID, c.Name)
		if err != nil {
			return err
		}
		if err := d.PersonLeaves(ctx, o.ID, p.ID); err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "%s has left %s; tokens and passwords in that name are good for nothing now.\n", p.Name, o.Name)
		return nil
	})
}
