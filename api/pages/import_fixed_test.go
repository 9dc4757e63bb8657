package pages

import (
	"net/url"
	"reflect"
	"testing"
	"time"

	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/domain/importing"
)

// A value for all rows is shown as it was typed, in any language and with any units; what was
// meant does not change on the way.
func TestAValueForAllRowsComesBackAsItWasTyped(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		language, mass, typed, want, back string
		sort                              importing.Sort
	}{
		{"en", "kg", "290.5", "290.5 kg", "290.5", importing.SortMass},
		{"en", "lb", "290.5", "290.5 lb", "290.5", importing.SortMass},
		{"es", "kg", "290,5", "290.5 kg", "290,5", importing.SortMass},
		{"es", "lb", "640", "640 lb", "640", importing.SortMass},
		{"es", "lb", "290,5 kg", "290.5 kg", "290,5 kg", importing.SortMass},
		{"en", "lb", "12 us_gal", "12 us_gal", "12 us_gal", importing.SortMass},
		{"en", "lb", "72", "72 F", "72", importing.SortTemperature},
		{"en", "kg", "22", "22 C", "22", importing.SortTemperature},
		{"es", "kg", "17,4", "17.4", "17,4", importing.SortFigure},
		{"en", "kg", "3 hives", "3 hives", "3 hives", importing.SortCount},
		{"en", "kg", "", "", "", importing.SortMass},
		{"en", "kg", "from the barn", "from the barn", "from the barn", importing.SortWord},
	} {
		f := voice(c.language, c.mass)
		got, err := fixedTyped(f, c.sort, c.typed, "")
		if err != nil || got != c.want {
			t.Errorf("%s, %s: %q is %q, not %q: %v", c.language, c.mass, c.typed, got, c.want, err)
		}
		if back := fixedShown(f, c.sort, got); back != c.back {
			t.Errorf("%s, %s: %q comes back as %q", c.language, c.mass, c.typed, back)
		}
	}
	for _, typed := range []string{"much", "1.290", "<5", "1/2", "28,5,1", "12 - 14"} {
		if got, err := fixedTyped(voice("es", "kg"), importing.SortMass, typed, ""); err == nil {
			t.Errorf("%q is taken for %q", typed, got)
		}
	}
}

// voice is a reader's, with the units of an outfit that weighs in kilograms or pounds.
func voice(language, mass string) locale.Voice {
	region := map[string]string{"en": "en-US", "es": "es-ES"}[language]
	units := map[string]string{"kg": "metric", "lb": "us"}[mass]
	return locale.NewVoice(locale.LanguageFor(region), units, time.UTC)
}

// A row is left out by a tick, and brought in after all by taking it away; of rows that the page
// did not list the mapping's own stand.
func TestRowsAreLeftOutByTicks(t *testing.T) {
	t.Parallel()
	m := &importing.Mapping{LeaveOutRows: []int{3, 5, 900}}
	chooseLeftOut(m, url.Values{"left-out 3": {"listed"}, "left-out 5": {"listed"}, "leave-out 5": {"yes"}, "leave-out 7": {"yes"}, "leave-out 0": {"yes"}, "leave-out x": {"yes"}})
	if want := []int{5, 7, 900}; !reflect.DeepEqual(m.LeaveOutRows, want) {
		t.Errorf("%v, not %v", m.LeaveOutRows, want)
	}
}

// A field that the page did not ask about keeps the mapping's value for all rows.
func TestAValueForAllRowsThatWasNotAskedAboutStays(t *testing.T) {
	t.Parallel()
	m := &importing.Mapping{Of: importing.Readings, Fixed: map[importing.Field]string{"hmf_method": "HPLC", "tank": "sump"}}
	chooseFixed(m, importing.Readings, url.Values{"fixed tank": {""}}, form.NewMaker(voice("en", "kg"), form.Things{}))
	if want := (map[importing.Field]string{"hmf_method": "HPLC"}); !reflect.DeepEqual(m.Fixed, want) {
		t.Errorf("%v", m.Fixed)
	}
}
