package work_test

import (
	"testing"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/domain/ledger"
)

// Whoever looks for one drum among many types its number, and comes back to all of them: by keys
// alone, and without scripts.
func TestADrumIsSearchedForByKeysWithoutScripts(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	h.RecordMore(t, apitest.EntryAt(9, &ledger.Yard{Name: "Fern Hollow"}))
	d := browsertest.Start(t).Device(t, "en-GB")
	d.WithoutScripts()
	d.Resize(320, 640)
	d.SignIn(h.House)
	d.Open(d.At(h.House) + "/journal")
	if browsertest.Evaluated[int](d, `performance.getEntriesByType('resource').filter(e => e.name.endsWith('.js') && e.responseStatus === 200).length`) != 0 {
		t.Error("the page runs scripts")
	}
	d.Skip()
	d.Write("Search for", "fern")
	d.Follow("Show")
	d.Reads("Fern Hollow", "1 of ")
	d.Skip()
	d.Follow("Show all again")
	d.Reads("D-1", "D-2")
}
