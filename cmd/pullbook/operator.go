package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"
	"time"

	"pullbook/db"
)

// operatorSettings are what the operator's own commands need. They work beside
// a pullbook that serves the same books.
type operatorSettings struct {
	databaseSettings
	logSettings `set:"log_level=warn"`
}

// act runs f as the operator.
func (s operatorSettings) act(ctx context.Context, term *terminal, f func(*db.DB) error) (err error) {
	log, err := s.logger(term.Err)
	if err != nil {
		return err
	}
	books, err := s.openBeside(ctx, term, log)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, books.close()) }()
	if err := books.ready(ctx); err != nil {
		return err
	}
	d, err := books.operator(ctx)
	if err != nil {
		return err
	}
	defer d.Close()
	return f(d)
}

// outfitSettings say which outfit a command is about.
type outfitSettings struct {
	Outfit string `name:"outfit" env:"PULLBOOK_OUTFIT" placeholder:"NAME" help:"Name or id of the outfit. Needed if there are several."`
}

// outfitCommand is what every command about one outfit needs.
type outfitCommand struct {
	outfitSettings
	operatorSettings
}

// act runs f as the operator on the outfit that is meant.
func (c outfitCommand) act(ctx context.Context, term *terminal, f func(*db.DB, db.Outfit) error) error {
	return c.operatorSettings.act(ctx, term, func(d *db.DB) error {
		o, err := c.find(ctx, d)
		if err != nil {
			return err
		}
		return f(d, o)
	})
}

// find returns the outfit that is meant.
func (s outfitSettings) find(ctx context.Context, d *db.DB) (db.Outfit, error) {
	all, err := d.Outfits(ctx)
	if err != nil {
		return db.Outfit{}, err
	}
	if len(all) == 0 {
		return db.Outfit{}, errors.New("there is no outfit yet: make one with `pullbook outfit add`")
	}
	if s.Outfit == "" {
		if len(all) > 1 {
			return db.Outfit{}, fmt.Errorf("there are %d outfits: say which one with --outfit (%s)", len(all), names(all))
		}
		return all[0], nil
	}
	var meant []db.Outfit
	for _, o := range all {
		if strings.EqualFold(o.Name, s.Outfit) || o.ID.String() == strings.ToLower(s.Outfit) {
			meant = append(meant, o)
		}
	}
	switch len(meant) {
	case 1:
		return meant[0], nil
	case 0:
		return db.Outfit{}, fmt.Errorf("there is no outfit %q, only %s", s.Outfit, names(all))
	}
	return db.Outfit{}, fmt.Errorf("%d outfits are called %q: give the id instead, as `pullbook outfit list` shows it", len(meant), s.Outfit)
}

func names(outfits []db.Outfit) string {
	list := make([]string, len(outfits))
	for i, o := range outfits {
		list[i] = fmt.Sprintf("%q", o.Name)
	}
	return strings.Join(list, ", ")
}

// table writes aligned columns.
func (t *terminal) table(rows [][]string) error {
	w := tabwriter.NewWriter(t.Out, 0, 0, 2, ' ', 0)
	for _, row := range rows {
		fmt.Fprintln(w, strings.TrimRight(strings.Join(row, "\t"), "\t"))
	}
	return w.Flush()
}

func day(t *time.Time) string {
	if t == nil {
		return ""
	}
	return t.UTC().Format(time.DateOnly)
}
