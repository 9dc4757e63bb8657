package api_test

import (
	"strings"
	"testing"

	"pullbook/db"
	"pullbook/db/books"
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
