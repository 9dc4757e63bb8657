package main

import (
	"context"
	"fmt"
	"strings"
	"time"

	"pullbook/api/entries"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// loadDemo records what the outfit's book lacks of the invented one, each entry
// in the name of who recorded it, in order: an entry names earlier ones.
func loadDemo(ctx context.Context, term *terminal, base string, keys demoKeys, book *demo.Book) error {
	clients := map[string]*client{}
	for person, token := range keys.Tokens {
		clients[person] = newClient(base, token)
	}
	there, err := recorded(ctx, clients[demoReader])
	if err != nil {
		return err
	}
	missing := make([]*ledger.Entry, 0, len(book.Entries))
	for _, e := range book.Entries {
		if !there[e.ID] {
			missing = append(missing, e)
		}
	}
	if len(missing) == 0 {
		fmt.Fprintf(term.Out, "All %d entries are in the book.\n", len(book.Entries))
		return nil
	}
	began, told := time.Now(), 0
	for n, e := range missing {
		if err := record(ctx, clients, e); err != nil {
			return err
		}
		if share := 10 * (n + 1) / len(missing); share > told {
			told = share
			fmt.Fprintf(term.Out, "loaded %d of %d entries\n", n+1, len(missing))
		}
	}
	fmt.Fprintf(term.Out, "Loaded %d entries in %.1f s.\n", len(missing), time.Since(began).Seconds())
	return nil
}

// recorded lists the entries that are in the book.
func recorded(ctx context.Context, c *client) (map[ledger.ID]bool, error) {
	there := map[ledger.ID]bool{}
	return there, eachEntry(ctx, c, func(e openapi.Entry) { there[e.ID] = true })
}

// eachEntry gives the entries of the journal in order.
func eachEntry(ctx context.Context, c *client, f func(openapi.Entry)) error {
	const most = 1000
	for after := int64(0); ; {
		var page []openapi.Entry
		if err := c.get(ctx, fmt.Sprintf("entries?after=%d&limit=%d", after, most), &page); err != nil {
			return err
		}
		for _, e := range page {
			f(e)
			after = e.Number
		}
		if len(page) < most {
			return nil
		}
	}
}

// record sends an entry in the name of who recorded it, or the manager's where
// that is not for crew to do.
func record(ctx context.Context, clients map[string]*client, e *ledger.Entry) error {
	content, err := entries.Request(e)
	if err != nil {
		return err
	}
	by := e.RecordedBy
	if request.LeastRole(e) == db.Manager {
		by = demoManager
	}
	if _, err := clients[by].record(ctx, content); err != nil {
		return fmt.Errorf("the %s %s of %s: %w", strings.ReplaceAll(string(e.Kind), "_", " "), e.ID, e.OccurredAt.Format(time.RFC3339), err)
	}
	return nil
}
