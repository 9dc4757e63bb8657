package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"pullbook/api"
	"pullbook/domain/invented"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// loadDemo records what the outfit's book lacks of the invented one, each entry
// in the name of who recorded it, in order: an entry names earlier ones.
func loadDemo(ctx context.Context, term *terminal, base string, keys demoKeys, book *invented.Book) error {
	clients := map[string]*openapi.ClientWithResponses{}
	for person, token := range keys.Tokens {
		client, err := signedIn(base, token)
		if err != nil {
			return err
		}
		clients[person] = client
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
func recorded(ctx context.Context, client *openapi.ClientWithResponses) (map[ledger.ID]bool, error) {
	there, most := map[ledger.ID]bool{}, 1000
	for after := int64(0); ; {
		page, err := client.ListEntriesWithResponse(ctx, &openapi.ListEntriesParams{After: &after, Limit: &most})
		if err != nil {
			return nil, err
		}
		if page.JSON200 == nil {
			return nil, refusal(page.StatusCode(), page.Body)
		}
		for _, e := range *page.JSON200 {
			there[e.ID] = true
			after = e.Number
		}
		if len(*page.JSON200) < most {
			return there, nil
		}
	}
}

// record sends an entry in the name of who recorded it, or the manager's where
// that is not for crew to do.
func record(ctx context.Context, clients map[string]*openapi.ClientWithResponses, e *ledger.Entry) error {
	request, err := api.Request(e)
	if err != nil {
		return err
	}
	by := e.RecordedBy
	if e.Kind.SetUp() || e.Replaces != (ledger.ID{}) || e.Kind == ledger.KindAcceptance || e.Kind == ledger.KindDispatch {
		by = demoManager
	}
	response, err := send(ctx, clients[by], request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		return err
	}
	if response.StatusCode != http.StatusCreated && response.StatusCode != http.StatusOK {
		return fmt.Errorf("the %s %s of %s: %w", strings.ReplaceAll(string(e.Kind), "_", " "), e.ID, e.OccurredAt.Format(time.RFC3339), refusal(response.StatusCode, body))
	}
	return nil
}

// refusal is what the service said against a request.
func refusal(status int, body []byte) error {
	var problem openapi.Problem
	if err := json.Unmarshal(body, &problem); err != nil || problem.Detail == nil {
		return fmt.Errorf("refused with %d: %.300s", status, body)
	}
	said := *problem.Detail
	if problem.Errors != nil && len(*problem.Errors) > 0 {
		first := (*problem.Errors)[0]
		said = fmt.Sprintf("%s (%s: %s)", said, first.Pointer, first.Detail)
	}
	return fmt.Errorf("refused with %d: %s", status, said)
}

func bearer(token string) openapi.RequestEditorFn {
	return func(_ context.Context, r *http.Request) error {
		r.Header.Set("Authorization", "Bearer "+token)
		return nil
	}
}
