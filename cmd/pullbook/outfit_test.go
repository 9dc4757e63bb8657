package main

import (
	"strings"
	"testing"

	"pullbook/openapi"
)

func TestAnOutfitIsChangedBesideAService(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	p := start(t, "serve", dir)
	client := reach(t, p.base, token)
	before := outfitOf(t, client)
	change := func(args ...string) string {
		return must(t, append([]string{"outfit", "change", "--data", dir}, args...)...)
	}
	if said := change("Sedge Hollow Honey", "--time-zone", "Europe/Madrid"); !strings.Contains(said, "Sedge Hollow Honey has the time zone Europe/Madrid and metric units now.") {
		t.Errorf("changing it says %q", said)
	}
	is := outfitOf(t, client)
	if is.Name != "Sedge Hollow Honey" || is.TimeZone != "Europe/Madrid" || is.Units != openapi.OutfitUnitsMetric || is.LastEntry != before.LastEntry+1 {
		t.Errorf("the service has %+v after %+v", is, before)
	}
	change("--units", "us")
	if said := change("--units", "us"); !strings.Contains(said, "Nothing to change") {
		t.Errorf("changing it again says %q", said)
	}
	if is := outfitOf(t, client); is.Units != openapi.OutfitUnitsUs || is.TimeZone != "Europe/Madrid" || is.LastEntry != before.LastEntry+2 {
		t.Errorf("the service has %+v", is)
	}
	if is := outfitOf(t, client); is.DecimalMark != nil {
		t.Errorf("nobody said what its spreadsheets write, and the service says %s", *is.DecimalMark)
	}
	if said := change("--decimal-mark", "comma"); !strings.Contains(said, "Its spreadsheets write decimals behind a comma.") {
		t.Errorf("the decimal mark says %q", said)
	}
	if is := outfitOf(t, client); is.DecimalMark == nil || *is.DecimalMark != openapi.OutfitDecimalMarkComma || is.Units != openapi.OutfitUnitsUs || is.LastEntry != before.LastEntry+3 {
		t.Errorf("the service has %+v", is)
	}
	if list := must(t, "outfit", "list", "--data", dir); !strings.Contains(list, "Sedge Hollow Honey  Europe/Madrid  us     comma") {
		t.Errorf("the list of outfits:\n%s", list)
	}
	if said := change("--decimal-mark", "reader"); !strings.Contains(said, "Its spreadsheets' decimal mark is not said") {
		t.Errorf("no decimal mark any more says %q", said)
	}
	refused(t, exitFailed, []string{"The decimal mark is point, comma, or reader", `dot`}, "outfit", "change", "--decimal-mark", "dot", "--data", dir)
	refused(t, exitMisused, []string{"--decimal-mark", "point", "comma", "dot"}, "outfit", "add", "Marsh Honey", "--time-zone", "UTC", "--decimal-mark", "dot", "--data", dir)
	refused(t, exitFailed, []string{"Nowhere", "is not a time zone"}, "outfit", "change", "--time-zone", "Nowhere", "--data", dir)
	refused(t, exitFailed, []string{"Units are metric or us"}, "outfit", "change", "--units", "stone", "--data", dir)
	if list := must(t, "outfit", "list", "--data", dir); !strings.Contains(list, "Sedge Hollow Honey  Europe/Madrid  us") {
		t.Errorf("the list of outfits:\n%s", list)
	}
	must(t, "audit", "--data", dir)
}
