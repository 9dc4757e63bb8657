package importing_test

import (
	"fmt"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// A column that says of each row what was done, and is not read, makes supers that were put on a
// pull, and a load that nobody fetched a sale: such rows are asked about.
func TestARowOfWhichAColumnSaysThatItWasNotDoneIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		of         importing.Kind
		says, text string
		want       string
	}{
		{importing.Pulls, "supers put on", "Date,Yard,Action,Supers,Kind\n2026-07-14,Mill,added,12,deep\n2026-07-15,Ridge,Pulled,8,deep\n", "[2 row_taken_out]"},
		{importing.Pulls, "no tick", "Date,Yard,Supers,Kind,Done?\n2026-07-14,Mill,12,deep,x\n2026-07-15,Ridge,8,deep,\n2026-07-16,Mill,7,deep,no\n2026-07-17,Mill,6,deep,✓\n", "[3 row_taken_out 4 row_taken_out]"},
		{importing.Pulls, "a column of ticks that nobody used", "Date,Yard,Supers,Kind,Done?\n2026-07-14,Mill,12,deep,\n2026-07-15,Ridge,8,deep,\n", "[]"},
		{importing.Transfers, "not pumped", "Date,From,To,kg,Status\n2026-07-14,sump,large tank,200,done\n2026-07-15,sump,large tank,150,open\n", "[3 row_taken_out]"},
		{importing.Containers, "void", "Drum,Date,Lot,Tank,Kind,Gross kg,Void\n1,2026-07-14,L1,large tank,drum,307,\n2,2026-07-14,L1,large tank,drum,307,X\n", "[3 row_taken_out]"},
		{importing.Transfers, "pumped back", "Date,From,To,kg,Reversed\n2026-07-14,sump,large tank,200,no\n2026-07-15,sump,large tank,100,yes\n", "[3 row_taken_out]"},
		{importing.Readings, "not valid", "Date,Tank,Moisture,Valid\n2026-07-14,sump,17.5,Y\n2026-07-15,sump,19.5,N\n", "[3 row_taken_out]"},
		{importing.Transfers, "who did it", "Date,From,To,kg,Who\n2026-07-14,sump,large tank,200,Ada\n2026-07-15,sump,large tank,150,Ben\n", "[]"},
	} {
		h := newHouse()
		h.SetUp(&ledger.Lot{Code: "L1"})
		if got := fmt.Sprint(problems(h.check(t, c.text, h.guess(t, c.of, c.text)))); got != c.want {
			t.Errorf("%s: %s is asked, and %s should be", c.says, got, c.want)
		}
	}
}
