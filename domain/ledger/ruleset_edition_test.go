package ledger_test

import (
	"errors"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/standard"
)

func TestAnEditionNotInForceIsRefusedAndTheRightOneNamed(t *testing.T) {
	t.Parallel()
	b, err := ledgertest.NewOutfit().Open()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		id   string
		on   standard.Date
		want string
	}{
		{"eu-2024-1438-labelling", "2026-06-13", "rule set eu-2024-1438-labelling is not yet in force on 2026-06-13; it starts on 2026-06-14"},
		{"eu-2001-110", "2002-01-01", "rule set eu-2001-110 is not yet in force on 2002-01-01; it starts on 2003-08-01; on that day use eu-74-409"},
		{"eu-74-409", "2020-01-01", "rule set eu-74-409 was no longer in force on 2020-01-01; it ended on 2003-07-31; on that day use eu-2001-110"},
	} {
		_, err := b.RuleSet(ledger.RuleSetRef{Standard: tt.id}, tt.on)
		var refused standard.NotInForceError
		if !errors.As(err, &refused) || err.Error() != tt.want {
			t.Errorf("got %v, want %s", err, tt.want)
		}
	}
}
