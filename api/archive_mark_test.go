package api_test

import (
	"reflect"
	"strings"
	"testing"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
)

// What the outfit's spreadsheets write goes along in an archive. One where nobody said has nothing of it, as all archives
// have from before there was such a setting, and comes in.
func TestAnArchiveCarriesTheDecimalMark(t *testing.T) {
	t.Parallel()
	here := openHouse(t)
	o := here.newOutfit(t, "Fern Gully Honey")
	for _, mark := range []string{"", "comma", "point", ""} {
		if err := here.operator.SetDecimalMark(t.Context(), o.id, mark); err != nil {
			t.Fatal(err)
		}
		data := here.archived(t, o.id)
		if says := strings.Contains(part(t, data, "manifest.json"), "decimal_mark"); says != (mark != "") {
			t.Errorf("with the mark %q, the manifest says %s", mark, part(t, data, "manifest.json"))
		}
		there := openHouse(t)
		r, err := there.restore(t, data)
		if err != nil || r.Outfit.DecimalMark != mark {
			t.Fatalf("%+v, %v", r, err)
		}
		is, err := there.operator.Outfit(t.Context(), o.id)
		if err != nil || is != r.Outfit || is != (db.Outfit{ID: o.id, Name: "Fern Gully Honey", TimeZone: "America/Winnipeg", Units: "metric", DecimalMark: mark}) {
			t.Errorf("with the mark %q there is %+v, %v", mark, is, err)
		}
		if _, err := books.Audit(t.Context(), there.operator, is); err != nil {
			t.Errorf("with the mark %q: %v", mark, err)
		}
	}
}

// What an outfit counts against blends goes along in an archive too: a book that is restored plans as this one does.
func TestAnArchiveCarriesTheWeightsOfBlends(t *testing.T) {
	t.Parallel()
	here := openHouse(t)
	o := here.newOutfit(t, "Fern Gully Honey")
	for _, w := range []*ledger.BlendWeights{{SourceKg: 25, MoistureGiven: 1, YearKg: 0.005}, nil} {
		if err := here.operator.SetBlendWeights(t.Context(), o.id, w); err != nil {
			t.Fatal(err)
		}
		there := openHouse(t)
		if _, err := there.restore(t, here.archived(t, o.id)); err != nil {
			t.Fatal(err)
		}
		is, err := there.operator.Outfit(t.Context(), o.id)
		if err != nil || !reflect.DeepEqual(is.BlendWeights, w) {
			t.Errorf("%+v there, %v; want %+v", is.BlendWeights, err, w)
		}
		if _, err := books.Audit(t.Context(), there.operator, is); err != nil {
			t.Error(err)
		}
	}
}
