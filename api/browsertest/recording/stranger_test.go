package recording_test

import (
	"testing"
	"time"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// TestAStrangerRecordsOnEachScreen does each screen as a person who never saw it: touches
// what is in sight by its words, and types what the instrument shows. It logs touches and
// seconds (go test -v).
func TestAStrangerRecordsOnEachScreen(t *testing.T) {
	t.Parallel()
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := browsertest.Start(t).Device(t, "en-CA")
	p := d.Stranger(h)
	began := time.Now()
	d.SignInAs(l, h, "Tam", h.CrewMember(t, "Tam"))
	is := func(path string, want apitest.M) {
		t.Helper()
		got := h.Booked(t, path)
		if len(got) == 0 {
			t.Fatalf("no %s came into the book", path)
		}
		for name, v := range want {
			if last := got[len(got)-1]; last[name] != v {
				t.Errorf("%s: %s is %v, want %v", path, name, last[name], v)
			}
		}
	}

	p.Begins()
	p.Sees("Moisture")
	p.Sees("tank 2")
	p.Types("192")
	p.Saves("the first reading", 1)
	t.Logf("from the page to sign in to the first reading in the book: %.1f s", time.Since(began).Seconds())
	is("readings", apitest.M{"moisture_pct": 19.2})

	p.Begins()
	p.Sees("Fill drums")
	p.Types("308")
	p.Reads("290 kg net")
	p.Saves("a drum", 1)
	p.Begins()
	p.Types("307.5")
	p.Saves("the next drum", 1)
	is("fills", apitest.M{"container": "D-011", "gross_kg": 307.5})
	p.Sees("Back")

	p.Begins()
	p.Sees("Transfer")
	p.SeesUnder("From", "large tank")
	p.SeesUnder("To", "tank 2")
	p.Types("150")
	p.Saves("a transfer", 1)
	is("movements", apitest.M{"mass_kg": 150.0})

	p.Begins()
	p.Sees("Pull")
	p.Sees("Mill Race")
	p.Types("20")
	p.Saves("a pull", 1)

	p.Begins()
	p.Sees("Run")
	p.Sees("Supers in")
	p.Sees("Mill Race")
	p.Types("20")
	p.Saves("supers into the run", 1)
	is("run-supers", apitest.M{"supers": 20.0})
	p.Begins()
	p.Sees("Run")
	p.Sees("Load")
	p.Saves("a load of the extractor", 1)
	p.Begins()
	p.Sees("Run")
	p.Sees("Honey out")
	p.SeesUnder("To", "tank 2")
	p.Types("100")
	p.Saves("honey out of the run", 1)
	p.Begins()
	p.Sees("Run")
	p.Sees("End the run")
	p.Saves("the end of the run", 1)
	p.Begins()
	p.Sees("Run")
	p.Saves("the start of the next", 1)

	p.Begins()
	p.Sees("Temperature")
	p.Sees("hot room")
	p.Types("34.5")
	p.Saves("a temperature", 1)

	p.Begins()
	p.Sees("Stocktake by dip")
	p.Sees("large tank")
	p.Types("63")
	p.Sees("Temperature of the honey")
	p.Types("30")
	p.Saves("a dip", 1)
	is("stocktakes", apitest.M{"depth_cm": 63.0, "temperature_c": 30.0})

	p.Begins()
	p.Sees("Signs of fermenting")
	p.Sees("tank 2")
	p.Sees("looked, and nothing of it")
	p.Saves("a look at a tank", 1)

	p.Begins()
	p.Sees("Wash a tank")
	p.Sees("tank 2")
	p.Saves("a wash", 1)
	is("washes", apitest.M{"tank_id": s.Two.String()})

	p.Begins()
	p.Sees("Count hives")
	p.Sees("Alder Bend")
	p.Types("24")
	p.Saves("hives of a yard", 1)
	is("hive-counts", apitest.M{"hives": 24.0})

	p.Begins()
	p.Sees("Check an instrument")
	p.Sees("Checked against")
	p.Writes("test liquid")
	p.Sees("It should show")
	p.Types("17.5")
	p.Sees("The instrument shows")
	p.Types("176")
	p.Sees("Still good if off by")
	p.Types("0.2")
	p.Reads("blue refractometer is right: off by 0.1")
	p.Saves("the first check of an instrument", 1)
	is("calibrations", apitest.M{"expected": 17.5, "as_found": 17.6, "as_left": 17.6, "reference": "test liquid"})
	p.Begins()
	p.Sees("Check an instrument") // what it was checked against is known by now
	p.Types("175")
	p.Saves("the next check", 1)
}
