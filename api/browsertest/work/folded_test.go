package work_test

import (
	"testing"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// inSight reports whether somebody sees the row of the container D-2.
const inSight = `document.querySelector('main tr:target')?.checkVisibility() && document.querySelector('main tr:target').innerText.includes('D-2')`

// The code on a drum's label leads to the drum's row on its lot's page. The row is folded away until
// then, and is unfolded for whoever comes by the code, also where a browser runs no scripts.
func TestALabelsCodeUnfoldsItsDrum(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	d := browsertest.Start(t).Device(t, "en-GB")
	d.WithoutScripts()
	d.SignIn(h.House)
	d.Open(d.At(h.House) + h.Path())
	const drums = `[...document.querySelectorAll('tr[id^="c"] th')].filter(e => e.checkVisibility()).length`
	if folded := browsertest.Evaluated[int](d, drums); folded != 0 {
		t.Errorf("%d drums are in sight before anybody asked for them", folded)
	}
	d.Open(d.At(h.House) + "/account")
	d.Open(d.At(h.House) + h.Path() + "#c" + h.Fills[1].String()[:8])
	d.Until(inSight)
	if top := browsertest.Evaluated[float64](d, `document.querySelector('main tr:target').getBoundingClientRect().top / innerHeight`); top < 0 || top > 1 {
		t.Errorf("the drum is unfolded at %.1f of the window's height", top)
	}
}
