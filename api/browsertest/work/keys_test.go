package work_test

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/chromedp/kb"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/domain/ledger"
)

// TestTheBooksWholeWorkByKeys does what a manager does of an evening, by keys alone:
// nothing is focused, clicked or touched by a script. Each origin has a browser of its
// own: the line around what has the focus is drawn in one window at a time.
func TestTheBooksWholeWorkByKeys(t *testing.T) {
	t.Parallel()
	for _, o := range browsertest.Origins() {
		t.Run(o.Name, func(t *testing.T) {
			t.Parallel()
			wholeWorkByKeys(t, browsertest.Start(t).By(o))
		})
	}
}

func wholeWorkByKeys(t *testing.T, b *browsertest.Browser) {
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	small := apitest.EntryAt(0, &ledger.Tank{Name: "small tank", Use: ledger.Settling, CapacityG: 900_000})
	h.RecordMore(t, small, apitest.EntryAt(2.3, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceTank, ID: small.ID}, To: ledger.Place{Kind: ledger.PlaceWaste}, MassG: 40_000}))
	d := b.Device(t, "en-GB")
	d.CutOff = false
	d.Resize(1280, 800)
	for _, job := range []struct {
		name string
		do   func(*testing.T, *browsertest.Browser, *apitest.LotHouse)
	}{
		{"signing in", keysSignIn},
		{"from the season to a yard", keysToAYard},
		{"a new yard", keysNewYard},
		{"a reading is corrected", keysCorrect},
		{"an entry is withdrawn", keysWithdraw},
		{"a finding is settled", keysSettle},
		{"a lot is checked and released", keysRelease},
		{"a container is sent off", keysDispatch},
		{"a buyer's limits", keysLimits},
		{"somebody new", keysPerson},
		{"a sheet is brought in", keysImport},
		{"another language", keysLanguage},
		{"a calculator", keysCalculator},
		{"printing, and signing out", keysPrint},
	} {
		if !t.Run(job.name, func(t *testing.T) {
			d.T = t
			d.Patience()
			job.do(t, d, h)
		}) {
			return // the next goes on where this ended
		}
	}
}

func keysSignIn(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Open(d.At(h) + "/")
	d.Write("Outfit", h.Name)
	d.Write("Your name", "Tamsin")
	d.Write("Password", h.Password)
	d.Follow("Open the book")
	d.Reads("Needs attention")
}

func keysToAYard(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Follow("Season")
	d.Skip()
	d.Press(kb.Tab)
	if first := d.Here(); !browsertest.Evaluated[bool](d, `Boolean(document.activeElement.closest('main'))`) {
		t.Errorf("after the head of the page was skipped, Tab comes to %s", first.What)
	}
	d.Follow("Alder Bend")
	d.Reads("By season", "Pulls")
}

func keysNewYard(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Menu("Settings")
	d.Skip()
	d.Follow("Add one : Yards")
	d.Skip()
	d.Write("name needed", "Fern Hollow")
	d.Write("registration", "MB-77")
	d.Follow("Put it in the book")
	d.Reads("Fern Hollow", "MB-77")
	if yards := h.Ask(t, "yards"); len(yards) != 2 {
		t.Errorf("the book has %d yards", len(yards))
	}
}

func keysCorrect(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Menu("Journal")
	d.Skip()
	d.Pick("Kind", "reading")
	d.Follow("Show")
	d.Skip()
	d.TabTo("Journal") // the table, which arrows move
	first := func() string {
		return browsertest.Evaluated[string](d, `document.querySelector('.journal tbody tr:nth-child(2) a').textContent`)
	}
	d.Follow(first())
	d.Follow("Correct")
	d.Skip()
	d.Write("moisture, %", "17.9")
	d.Write("Why it is corrected needed", "read off the wrong line")
	d.Follow("Correct it")
	d.Reads("17.9", "as it stood before", "read off the wrong line")
	if !slices.ContainsFunc(h.Ask(t, "readings"), func(r apitest.M) bool { return r["moisture_pct"] == 17.9 }) {
		t.Error("the book does not have the reading as it was corrected")
	}
}

func keysWithdraw(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Skip()
	d.TabTo("Withdraw")
	d.Press(kb.Enter)
	d.Write("Why it is withdrawn", "it was of another drum")
	d.Follow("Withdraw all of it")
	d.Reads("it was of another drum")
}

func keysSettle(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Follow("Findings")
	d.Skip()
	d.TabTo("It is so: accept")
	d.Press(" ")
	d.Write("Why it is so", "a bucket that nobody weighed")
	d.Follow("Accept")
	d.Reads("a bucket that nobody weighed", "Settled")
}

func keysRelease(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Follow("Lots")
	d.Skip()
	d.Follow("L-1")
	d.Skip()
	d.TabTo("Check it and keep the answer")
	d.Press(kb.Enter)
	d.TabTo("Canadian Grade Compendium Volume 6: Honey (grades), Compendium Vol. 6, 2019")
	d.Press(" ")
	d.Follow("Record the check")
	d.Reads("Checks recorded", "meets, grade No. 3")
	d.Skip()
	d.TabTo("By which check")
	d.Follow("Release it")
	d.Reads("What was decided", "released")
	if state := h.State(t, h.House); state != "released" {
		t.Errorf("the lot is %s", state)
	}
}

func keysDispatch(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Follow("Dispatches")
	d.Skip()
	d.Follow("Send containers off")
	d.Skip()
	d.Pick("Buyer", "Northgate Packing")
	d.Write("Waybill or order number", "W-17")
	d.TabTo("One by one , Lot L-1")
	d.Press(kb.Enter)
	d.TabTo("D-2, drum, 290.0 kg")
	d.Press(" ")
	d.Follow("Book that it left")
	d.Reads("Northgate Packing", "W-17", "D-2")
}

func keysLimits(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Menu("Settings")
	d.Skip()
	d.Follow("Add one : Buyers' limits and own rules")
	d.Skip()
	d.Pick("Buyer", "Northgate Packing")
	d.Write("What you call these limits needed", "Northgate drums")
	d.Follow("Put it in the book")
	d.Reads("This is missing", "Write at least one limit")
	d.Skip()
	d.Write("The contract, order or letter that says so needed", "NP-3")
	d.Write("Moisture at most, %", "18.5")
	d.Write("Price, for each kg", "3.90")
	d.Write("Currency, by its three letters", "CAD")
	d.Write("above, 1", "17.8")
	d.Write("costs, for each kg, 1", "0.10")
	d.Follow("Work it out")
	d.Reads("17.9 % costs 0.10 CAD a kilogram: 300 kg bring 1,140.00 CAD.")
	d.Skip()
	d.Follow("Put it in the book")
	d.Reads("Verdict by Northgate drums, NP-3, version 1.")
	if sets := h.Ask(t, "rule-sets"); len(sets) != 1 {
		t.Errorf("the book has %d limits of buyers", len(sets))
	}
	d.Skip()
	d.Follow("L-1")
	d.Reads("Northgate drums, NP-3, version 1: ✓ meets")
	d.Skip()
	d.TabTo("Northgate drums, NP-3, version 1: meets")
	d.Press(kb.Enter)
	d.Reads("at most 18.5 %")
}

func keysPerson(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Menu("Settings")
	d.Skip()
	d.Follow("People, tokens and tablets")
	d.Skip()
	d.Write("Name", "Linnet")
	d.Pick("Role", "crew")
	d.Follow("Add")
	d.Reads("The password of Linnet is:")
}

func keysImport(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	file := filepath.Join(t.TempDir(), "old pulls.csv")
	if err := os.WriteFile(file, []byte(apitest.OldPulls), 0o600); err != nil {
		t.Fatal(err)
	}
	d.Menu("Settings")
	d.Skip()
	d.Follow("Bring old sheets in")
	d.Skip()
	d.Pick("Each row is", "pulls")
	d.TabTo("File")
	d.ChooseFile(file)
	d.TabTo("Look at it")
	d.Answers(kb.Enter)
	d.Pick("What is Alder Bnd?", "Alder Bend, spelt otherwise")
	d.Pick("What is Mill Race?", "a new one: set it up")
	d.TabTo("Leave out rows of totals")
	d.Press(" ")
	d.TabTo("Look again")
	d.Answers(kb.Enter)
	d.TabTo("Bring it in")
	d.Answers(kb.Enter)
	d.Reads("It is in the book")
	d.Follow("Look at it or take it back")
	if pulls, yards := h.Ask(t, "pulls"), h.Ask(t, "yards"); len(pulls) != 4 || len(yards) != 3 {
		t.Errorf("the book has %d pulls and %d yards, not 4 and 3", len(pulls), len(yards))
	}
}

func keysLanguage(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Follow("Español")
	d.Reads("Temporada")
	d.Follow("English")
}

func keysCalculator(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Menu("Calculators")
	d.Skip()
	d.Pick("The instrument shows", "refractive index")
	d.Write("Reading", "1.4935")
	d.Goes(kb.Enter)
	d.Reads("17.20 %")
}

func keysPrint(t *testing.T, d *browsertest.Browser, h *apitest.LotHouse) {
	d.Menu("Printing")
	d.Skip()
	d.Follow("labels L-1")
	d.Reads("D-1")
	d.Follow("Sign out")
	d.Reads("Password")
}
