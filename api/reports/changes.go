package reports

import (
	"pullbook/domain/ledger"
	"pullbook/domain/trace"
	"pullbook/openapi"
)

// SupersededBy says of dispatches and checks by their entries what changed of what
// they rest on.
func SupersededBy(b *ledger.Book, entries map[ledger.ID]bool) (map[ledger.ID]*openapi.Superseded, error) {
	if len(entries) == 0 {
		return nil, nil
	}
	found, err := trace.SupersededBy(b, entries)
	if err != nil {
		return nil, err
	}
	out := map[ledger.ID]*openapi.Superseded{}
	for _, x := range found {
		out[x.By.ID] = new(SupersededOut(x))
	}
	return out, nil
}
