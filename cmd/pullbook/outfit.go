package main

import (
	"cmp"
	"context"
	"fmt"

	"github.com/google/uuid"

	"pullbook/db"
)

type outfitCommands struct {
	Add    outfitAddCommand    `cmd:"" help:"Make an outfit with an empty book."`
	Change outfitChangeCommand `cmd:"" help:"Give an outfit another name, time zone, units or decimal mark."`
	List   outfitListCommand   `cmd:"" help:"List the outfits."`
}

type outfitAddCommand struct {
	Name     string `arg:"" help:"What the business is called."`
	TimeZone string `name:"time-zone" required:"" placeholder:"ZONE" help:"Time zone of the outfit's days, such as Europe/Madrid or America/Winnipeg."`
	Units    string `name:"units" enum:"metric,us" default:"metric" help:"Units that the pages show: metric or us. The book keeps grams."`
	Mark     string `name:"decimal-mark" enum:"point,comma,reader" default:"reader" help:"What stands before the decimals in the outfit's spreadsheets: point (1134.4), comma (1134,4), or reader, the mark of the region of whoever copies an address. The page's addresses of tables write it."`
	operatorSettings
}

func (c *outfitAddCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB) error {
		mark, err := db.DecimalMarkOf(c.Mark)
		if err != nil {
			return err
		}
		o := db.Outfit{ID: uuid.New(), Name: c.Name, TimeZone: c.TimeZone, Units: c.Units, DecimalMark: mark}
		if err := d.CreateOutfit(ctx, o); err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "%s has a book now. Its id is %s. %s\n", o.Name, o.ID, sayDecimals(o))
		return nil
	})
}

type outfitChangeCommand struct {
	Name     string `arg:"" optional:"" help:"What the business is called from now on; people sign in with it."`
	TimeZone string `name:"time-zone" placeholder:"ZONE" help:"Time zone of the outfit's days, such as Europe/Madrid or America/Winnipeg."`
	Units    string `name:"units" placeholder:"UNITS" help:"Units that the pages show: metric or us. The book keeps grams."`
	Mark     string `name:"decimal-mark" placeholder:"MARK" help:"What stands before the decimals in the outfit's spreadsheets: point (1134.4), comma (1134,4), or reader, the mark of the region of whoever copies an address. The page's addresses of tables write it."`
	outfitCommand
}

func (c *outfitChangeCommand) Help() string {
	return `What you leave out stays as it is. A pullbook that is serving the books takes up the change at once. Each change is an entry of the outfit's book. With another time zone all days of the book are days of that zone, earlier ones too: an entry from around midnight may move to the day before or after. The book as known at an earlier entry keeps the days it had. A spreadsheet that only asks for what is new has to load everything once.`
}

func (c *outfitChangeCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB, o db.Outfit) error {
		was := o
		o.Name, o.TimeZone, o.Units = cmp.Or(c.Name, o.Name), cmp.Or(c.TimeZone, o.TimeZone), cmp.Or(c.Units, o.Units)
		if c.Mark != "" {
			mark, err := db.DecimalMarkOf(c.Mark)
			if err != nil {
				return err
			}
			o.DecimalMark = mark
		}
		if o == was {
			fmt.Fprintf(term.Out, "Nothing to change: %s has the time zone %s and %s units. %s\n", o.Name, o.TimeZone, o.Units, sayDecimals(o))
			return nil
		}
		if err := d.ChangeOutfit(ctx, o); err != nil {
			return err
		}
		fmt.Fprintf(term.Out, "%s has the time zone %s and %s units now. %s\n", o.Name, o.TimeZone, o.Units, sayDecimals(o))
		return nil
	})
}

// sayDecimals says what an outfit's spreadsheets write, and how to change it.
func sayDecimals(o db.Outfit) string {
	if o.DecimalMark == "" {
		return "Its spreadsheets' decimal mark is not said: addresses of tables go by the region of whoever copies them. `pullbook outfit change --decimal-mark comma`, or point, says it."
	}
	return fmt.Sprintf("Its spreadsheets write decimals behind a %s.", o.DecimalMark)
}

type outfitListCommand struct{ operatorSettings }

func (c *outfitListCommand) Run(ctx context.Context, term *terminal) error {
	return c.act(ctx, term, func(d *db.DB) error {
		outfits, err := d.Outfits(ctx)
		if err != nil {
			return err
		}
		rows := [][]string{{"name", "time zone", "units", "decimal mark", "entries", "id"}}
		for _, o := range outfits {
			head, err := d.Head(ctx, o.ID)
			if err != nil {
				return err
			}
			rows = append(rows, []string{o.Name, o.TimeZone, o.Units, cmp.Or(o.DecimalMark, db.ReadersMark), fmt.Sprint(head.Number), o.ID.String()})
		}
		return term.table(rows)
	})
}
