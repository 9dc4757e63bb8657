package main

import (
	"context"
	"fmt"
	"path/filepath"
	"time"

	"pullbook/db/local"
	"pullbook/domain/demo"
)

type demoCommand struct {
	Data string `name:"data" type:"path" env:"PULLBOOK_DEMO_DATA" placeholder:"FOLDER" help:"Folder of the demo's own private PostgreSQL. Without one: pullbook-demo beside the folder that serve would use."`
	postgresSettings
	serviceSettings
	logSettings `set:"log_level=warn"`
}

func (c *demoCommand) Help() string {
	return `Makes an invented outfit in a folder of its own, apart from any real book. The outfit has some thirty yards, last year's season in outline, and this year's up to today: a run is open, boxes wait, tanks are part full. Out of season the year is moved so that the shed is at work all the same, and the program says so. The demo records all of it through the HTTP interface that everybody uses, prints the season, the tanks and the lots, and serves them until it is stopped. A second start adds nothing.`
}

// demoTimeZone is where the invented outfit is.
const demoTimeZone = "America/Winnipeg"

func (c *demoCommand) Run(ctx context.Context, term *terminal) error {
	log, err := c.logger(term.Err)
	if err != nil {
		return err
	}
	dir, err := c.folder()
	if err != nil {
		return err
	}
	if err := c.folderIn(dir); err != nil {
		return err
	}
	location, err := time.LoadLocation(demoTimeZone)
	if err != nil {
		return err
	}
	return serve(ctx, c.serviceSettings, log, func() (*store, error) {
		return startPrivate(ctx, dir, c.postgresSettings, term, log)
	}, func(ctx context.Context, s *service) error {
		fmt.Fprintf(term.Out, "pullbook serves on %s; the invented outfit is being loaded.\n", s.base)
		return show(ctx, term, s, demo.ExampleAt(time.Now(), location))
	})
}

func (c *demoCommand) folder() (string, error) {
	if c.Data != "" {
		return filepath.Abs(c.Data)
	}
	dir, err := local.DefaultDataDir()
	return dir + "-demo", err
}

// show makes the invented outfit, loads what its book lacks, and prints what it
// comes to.
func show(ctx context.Context, term *terminal, s *service, book *demo.Book) error {
	keys, err := demoTokens(ctx, s.store, book)
	if err != nil {
		return err
	}
	if err := loadDemo(ctx, term, s.base, keys, book); err != nil {
		return fmt.Errorf("the demo could not be loaded: %w", err)
	}
	if err := printSeason(ctx, term, newClient(s.base, keys.Tokens[demoReader])); err != nil {
		return err
	}
	sayWhen(term, book, time.Now())
	if err := farewell(term, s.base, book.Name, keys); err != nil {
		return err
	}
	return s.tellDevices(term)
}

// sayWhen says which season it is in the invented outfit.
func sayWhen(term *terminal, book *demo.Book, now time.Time) {
	if demo.OutOfSeason(now.In(book.Location)) {
		fmt.Fprintf(term.Out, "\nWhere the outfit is, honey comes in from late June to the middle of September. Its invented year is moved by %d days, so that the shed is in the middle of its work on the day on which it was loaded.\n", book.MovedDays)
	}
}

// farewell says where things are and how to get in.
func farewell(term *terminal, base string, outfit string, keys demoKeys) error {
	fmt.Fprintf(term.Out, "\nThe page is at %s/ and the contract at %s/docs. To sign in to the outfit %q on the page:\n", base, base, outfit)
	rows := [][]string{{"  role", "name", "password", "token for programs"}}
	for _, who := range [][2]string{{"manager", demoManager}, {"crew", demoCrew}, {"reader", demoReader}} {
		rows = append(rows, []string{"  " + who[0], who[1], keys.Passwords[who[1]], keys.Tokens[who[1]]})
	}
	if err := term.table(rows); err != nil {
		return err
	}
	fmt.Fprintf(term.Out, "For instance: curl -H 'Authorization: Bearer %s' %s/v1/reports/season\nStop with Ctrl-C.\n", keys.Tokens[demoReader], base)
	return nil
}
