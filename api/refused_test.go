package api_test

import (
	"encoding/json"
	"net/http"
	"reflect"
	"strings"
	"testing"
)

// shed is an outfit that is set up, with a season of its own in the book: a pull
// in a run, honey in a tank, a drum filled from it.
type shed struct {
	*outfit
	season, alder, birch, deep, drum, tote, room string
	large, small, blue, abbe, brix, buyer        string
	pull, run, lot, drum1                        string
}

func (h *honeyHouse) newShed(t *testing.T, name string) *shed {
	t.Helper()
	s := &shed{outfit: h.newOutfit(t, name)}
	setUp := func(path string, body M) string {
		body["id"], body["occurred_at"] = id(), at(1, "8:00")
		return s.book(t, path, body).ID
	}
	s.season = setUp("seasons", M{"name": "2026", "first": "2026-01-01", "last": "2026-12-31"})
	s.alder = setUp("yards", M{"name": "Alder Bend"})
	s.birch = setUp("yards", M{"name": "Birch Hollow"})
	s.deep = setUp("super-kinds", M{"name": "deep", "tare_kg": 13, "usual_net_kg": 27, "fullest_net_kg": 36})
	s.drum = setUp("container-kinds", M{"name": "drum", "volume_l": 208, "usual_tare_kg": 20, "usual_net_kg": 275})
	s.tote = setUp("container-kinds", M{"name": "tote", "volume_l": 1000, "usual_tare_kg": 60, "usual_net_kg": 600})
	s.room = setUp("rooms", M{"name": "hot room", "use": "hot_room"})
	s.large = setUp("tanks", M{"name": "large tank", "use": "settling", "capacity_kg": 4500})
	s.small = setUp("tanks", M{"name": "small tank", "use": "heated", "capacity_kg": 600})
	s.blue = setUp("instruments", M{"name": "blue refractometer", "scale": "moisture", "compensates_temperature": true})
	s.abbe = setUp("instruments", M{"name": "Abbe", "scale": "refractive_index", "compensates_temperature": false})
	s.brix = setUp("instruments", M{"name": "Brix stick", "scale": "brix", "compensates_temperature": true})
	s.buyer = setUp("buyers", M{"name": "Northgate Packing"})
	s.pull = s.book(t, "pulls", s.aPull("supers", []M{{"super_kind_id": s.deep, "supers": 40}})).ID
	s.run = s.book(t, "runs", s.aRun()).ID
	s.book(t, "run-supers", s.someSupers("supers", 40))
	s.book(t, "movements", s.aMovement("mass_kg", 1000))
	s.lot = s.book(t, "lots", s.aLot()).ID
	s.drum1 = s.book(t, "fills", s.aFill("container", "D-1")).ID
	return s
}

// The entries as a crew would type them; pairs set some members otherwise.

func (s *shed) aPull(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(20, "10:00"), "yard_id": s.alder,
		"supers": []M{{"super_kind_id": s.deep, "supers": 10}}}, pairs...)
}

func (s *shed) aRun(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(21, "8:00"), "name": "a run"}, pairs...)
}

func (s *shed) someSupers(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(21, "8:10"), "run_id": s.run, "pull_id": s.pull, "super_kind_id": s.deep, "supers": 10}, pairs...)
}

func (s *shed) aLoad(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(21, "8:30"), "run_id": s.run, "load": 1, "frames_left": 29, "frames_right": 29}, pairs...)
}

func (s *shed) aMovement(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(21, "12:00"), "from": M{"kind": "run", "id": s.run}, "to": M{"kind": "tank", "id": s.large}, "mass_kg": 100}, pairs...)
}

func (s *shed) aLot(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(21, "13:00"), "code": "L26-001"}, pairs...)
}

func (s *shed) aFill(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(21, "14:00"), "lot_id": s.lot, "tank_id": s.large, "container_kind_id": s.drum,
		"container": "D-2", "tare_kg": 20, "gross_kg": 290}, pairs...)
}

func (s *shed) aReading(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(21, "15:00"), "on": M{"kind": "tank", "id": s.large}, "instrument_id": s.blue, "moisture_pct": 17.4}, pairs...)
}

func (s *shed) aDispatch(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(22, "9:00"), "buyer_id": s.buyer, "containers": []string{s.drum1}}, pairs...)
}

func (s *shed) rework(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(22, "8:00"), "from": M{"kind": "container", "id": s.drum1}, "to": M{"kind": "tank", "id": s.large}}, pairs...)
}

// never is an id that is in no book.
const never = "0198b1a0-ffff-7000-8000-00000000ffff"

func TestWhatCannotBeIsRefusedAndNothingIsStored(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	other := house.newShed(t, "Two Rivers Honey")
	yard := M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Cedar Flat"}
	s.book(t, "yards", yard)
	reading := s.aReading()
	s.book(t, "readings", reading)
	corrected := s.book(t, "readings", s.aReading("replaces", reading["id"], "reason", "misread")).ID
	gone := s.book(t, "fills", s.aFill("container", "D-9")).ID
	s.release(t, s.lot, at(22, "8:30"))
	s.book(t, "dispatches", s.aDispatch("containers", []string{gone}))
	unreleased := s.book(t, "fills", s.aFill("container", "D-11", "lot_id", s.book(t, "lots", s.aLot("code", "L26-011")).ID)).ID
	held := s.book(t, "lots", s.aLot("code", "L26-012")).ID
	heldDrum := s.book(t, "fills", s.aFill("container", "D-12", "lot_id", held)).ID
	s.book(t, "lot-statuses", M{"id": id(), "occurred_at": at(22, "8:00"), "lot_id": held, "status": "held", "why": "fermentation_risk"})
	withdrawn := s.book(t, "yards", with(yard, "id", id(), "name", "Dogwood")).ID
	s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(2, "8:00"), "replaces": withdrawn, "reason": "entered twice"})

	const invalid, conflict, malformed = "/problems/invalid", "/problems/conflict", "/problems/malformed"
	for _, row := range []struct {
		what     string
		path     string
		body     any
		status   int
		sort     string
		pointer  string
		sent     any
		says     string
		didYouMe any
	}{
		{"an unknown yard", "pulls", s.aPull("yard_id", never), 422, invalid, "/yard_id", never, "no yard with this id", nil},
		{"an unknown tank", "movements", s.aMovement("to", M{"kind": "tank", "id": never}), 422, invalid, "/to/id", never, "no tank with this id", nil},
		{"an unknown pull", "run-supers", s.someSupers("pull_id", never), 422, invalid, "/pull_id", never, "no pull with this id", nil},
		{"an unknown instrument", "readings", s.aReading("instrument_id", never), 422, invalid, "/instrument_id", never, "no instrument with this id", nil},
		{"an unknown lot", "fills", s.aFill("lot_id", never), 422, invalid, "/lot_id", never, "no lot with this id", nil},
		{"an unknown container", "dispatches", s.aDispatch("containers", []string{s.drum1, never}), 422, invalid, "/containers/1", never, "no fill with this id", nil},
		{"another outfit's yard", "pulls", s.aPull("yard_id", other.alder), 422, invalid, "/yard_id", other.alder, "no yard with this id", nil},
		{"another outfit's tank", "movements", s.aMovement("to", M{"kind": "tank", "id": other.large}), 422, invalid, "/to/id", other.large, "no tank with this id", nil},
		{"another outfit's pull", "run-supers", s.someSupers("pull_id", other.pull), 422, invalid, "/pull_id", other.pull, "no pull with this id", nil},
		{"another outfit's instrument", "readings", s.aReading("instrument_id", other.blue), 422, invalid, "/instrument_id", other.blue, "no instrument with this id", nil},
		{"another outfit's entry to correct", "readings", s.aReading("replaces", other.pull, "reason", "misread"), 422, invalid, "/replaces", other.pull, "name the entry", nil},
		{"a tank where a yard is asked for", "pulls", s.aPull("yard_id", s.large), 422, invalid, "/yard_id", s.large, "the id of a yard is needed", nil},
		{"a date outside every season", "pulls", s.aPull("occurred_at", "2025-08-20T10:00:00-05:00"), 422, invalid, "/occurred_at", "2025-08-20T15:00:00Z", "2026 (2026-01-01 to 2026-12-31)", nil},
		{"a net that the drum cannot hold", "fills", s.aFill("gross_kg", 340), 422, invalid, "/gross_kg", 340.0, "holds at most 301.6 kg", nil},
		{"a drum weighed in pounds", "fills", s.aFill("tare_kg", 44, "gross_kg", 650), 422, invalid, "/gross_kg", 650.0, "Was it weighed in pounds?", 294.8},
		{"a gross that is not above the tare", "fills", s.aFill("gross_kg", 20), 422, invalid, "/gross_kg", 20.0, "above the tare of 20 kg", nil},
		{"a moisture without its point", "readings", s.aReading("moisture_pct", 178), 422, invalid, "/moisture_pct", 178.0, "did you mean 17.8?", 17.8},
		{"a moisture with its point too far left", "readings", s.aReading("moisture_pct", 1.78), 422, invalid, "/moisture_pct", 1.78, "did you mean 17.8?", 17.8},
		{"Brix of 73 sent as moisture", "readings", s.aReading("moisture_pct", 73), 422, invalid, "/moisture_pct", 73.0, "record it as Brix", nil},
		{"Brix of 86 sent as moisture", "readings", s.aReading("moisture_pct", 86), 422, invalid, "/moisture_pct", 86.0, "record it as Brix", nil},
		{"a refractive index sent as moisture", "readings", s.aReading("moisture_pct", 1.4915), 422, invalid, "/moisture_pct", 1.4915, "record it in refractive_index", nil},
		{"a refractive index of 14.9", "readings", s.aReading("instrument_id", s.abbe, "moisture_pct", nil, "refractive_index", 14.9), 422, invalid, "/refractive_index", 14.9, "did you mean 1.49?", 1.49},
		{"Brix of 8.2", "readings", s.aReading("instrument_id", s.brix, "moisture_pct", nil, "brix_deg", 8.2), 422, invalid, "/brix_deg", 8.2, "did you mean 82?", 82.0},
		{"a time more than a day ahead", "pulls", s.aPull("occurred_at", at(23, "14:00")), 422, invalid, "/occurred_at", "2026-08-23T19:00:00Z", "more than a day ahead", nil},
		{"a yard set up more than a day ahead", "yards", with(yard, "id", id(), "name", "Elm", "occurred_at", "2062-08-20T10:00:00Z"), 422, invalid, "/occurred_at", "2062-08-20T10:00:00Z", "more than a day ahead", nil},
		{"a year before bees were kept in boxes", "yards", with(yard, "id", id(), "name", "Elm", "occurred_at", "0026-08-20T10:00:00Z"), 422, invalid, "/occurred_at", "0026-08-20T10:00:00Z", "before 1900", nil},
		{"a container number in use", "fills", s.aFill("container", "D-1"), 409, conflict, "/container", "D-1", "270 kg of lot L26-001", nil},
		{"a container number in use, in small letters", "fills", s.aFill("container", "d-1"), 409, conflict, "/container", "d-1", "in use", nil},
		{"a lot code in use", "lots", s.aLot(), 409, conflict, "/code", "l26-001", "already", nil},
		{"a yard's name in use", "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": " alder bend"}, 409, conflict, "/name", "alder bend", "already", nil},
		{"the name of a yard that was withdrawn", "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Dogwood"}, 409, conflict, "/name", "dogwood", "to use that one again", nil},
		{"a season over days that have one", "seasons", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "late", "first": "2026-12-31", "last": "2027-06-30"}, 409, conflict, "/first", "2026-12-31", "a day belongs to one season", nil},
		{"a season that ends before it begins", "seasons", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "odd", "first": "2027-06-30", "last": "2027-01-01"}, 422, invalid, "/last", "2027-01-01", "cannot end before it begins", nil},
		{"a drum shipped that is gone", "dispatches", s.aDispatch("containers", []string{gone}), 409, conflict, "/containers/0", gone, "gone already", nil},
		{"a drum shipped whose lot was not released", "dispatches", s.aDispatch("containers", []string{unreleased}), 409, conflict, "/containers/0", unreleased, "has not been released", nil},
		{"a drum shipped whose lot is held", "dispatches", s.aDispatch("containers", []string{heldDrum}), 409, conflict, "/containers/0", heldDrum, "it is held (fermentation risk", nil},
		{"an entry without its id", "pulls", s.aPull("id", nil), 422, invalid, "/id", nil, "This is missing: a UUID", nil},
		{"an id of nothing but zeros", "pulls", s.aPull("id", "00000000-0000-0000-0000-000000000000"), 422, invalid, "/id", "00000000-0000-0000-0000-000000000000", "a UUID", nil},
		{"an id that is none", "pulls", s.aPull("id", "pull 7"), 422, invalid, "/id", "pull 7", "a UUID", nil},
		{"the same id with other content", "yards", with(yard, "name", "Cedar Flats"), 409, conflict, "/id", yard["id"], "with other content", nil},
		{"the same id as an entry of another kind", "pulls", s.aPull("id", yard["id"]), 409, conflict, "/id", yard["id"], "with other content", nil},
		{"the correction of an entry already replaced", "readings", s.aReading("replaces", reading["id"], "reason", "misread"), 409, conflict, "/replaces", reading["id"], corrected, nil},
		{"a correction without a reason", "readings", s.aReading("replaces", corrected), 422, invalid, "/reason", "", "needs a reason", nil},
		{"a correction with an empty reason", "readings", s.aReading("replaces", corrected, "reason", "  "), 422, invalid, "/reason", "  ", "needs a reason", nil},
		{"a correction by another kind of entry", "pulls", s.aPull("replaces", corrected, "reason", "misread"), 422, invalid, "/replaces", corrected, "cannot replace a reading", nil},
		{"the acceptance of what is not odd", "acceptances", M{"id": id(), "occurred_at": at(22, "9:00"), "reason": "so it is", "entry_id": corrected, "flag": "moisture_unusual"}, 422, invalid, "/flag", "moisture_unusual", "has no such finding that is still open", nil},
		{"JSON that ends in the middle", "pulls", `{"id": "` + id(), 400, malformed, "", nil, "not JSON", nil},
		{"no body", "pulls", "", 400, malformed, "", nil, "empty", nil},
		{"a list for an object", "pulls", "[]", 422, invalid, "", "a list of 0", "an object", nil},
		{"two objects for one", "pulls", "{} {}", 400, malformed, "", nil, "not JSON", nil},
		{"a number with a comma", "readings", `{"id": "` + id() + `", "moisture_pct": 17,4}`, 400, malformed, "", nil, "write 17.4", nil},
		{"a number with a comma, as text", "readings", s.aReading("moisture_pct", "17,4"), 422, invalid, "/moisture_pct", "17,4", "with a point: 17.4", 17.4},
		{"a number as text", "fills", s.aFill("gross_kg", "290"), 422, invalid, "/gross_kg", "290", "without quotes", 290.0},
		{"an unknown field, with a slip", "readings", s.aReading("moisture_pc", 17.4), 422, invalid, "/moisture_pc", nil, "Was moisture_pct meant?", "moisture_pct"},
		{"an unknown field, like nothing", "readings", s.aReading("weather", "rain"), 422, invalid, "/weather", nil, "no such field", nil},
		{"an unknown field inside another", "movements", s.aMovement("from", M{"kind": "run", "id": s.run, "tank": "x"}), 422, invalid, "/from/tank", nil, "no such field", nil},
		{"half a super", "run-supers", s.someSupers("supers", 5.8), 422, invalid, "/supers", 5.8, "a whole number from 1", nil},
		{"a pull of no supers", "pulls", s.aPull("supers", []M{}), 422, invalid, "/supers", "a list of 0", "with 1 to 20 entries", nil},
		{"a kind of super listed twice", "pulls", s.aPull("supers", []M{{"super_kind_id": s.deep, "supers": 4}, {"super_kind_id": s.deep, "supers": 3}}), 422, invalid, "/supers/1/super_kind_id", s.deep, "listed twice", nil},
		{"a negative mass", "movements", s.aMovement("mass_kg", -5), 422, invalid, "/mass_kg", -5.0, "from 0.001 to 1000000", nil},
		{"a movement without its mass", "movements", s.aMovement("mass_kg", nil), 422, invalid, "/mass_kg", nil, "How much moved?", nil},
		{"honey that goes nowhere", "movements", s.aMovement("from", M{"kind": "tank", "id": s.large}), 422, invalid, "/to/id", s.large, "to itself", nil},
		{"honey to a tank that is not named", "movements", s.aMovement("to", M{"kind": "tank"}), 422, invalid, "/to/id", nil, "the id of a tank", nil},
		{"waste with an id", "movements", s.aMovement("from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "waste", "id": s.small}), 422, invalid, "/to/id", s.small, "Waste has no id", nil},
		{"a run poured straight into a drum", "movements", s.aMovement("to", M{"kind": "container", "id": s.drum1}), 422, invalid, "/to/kind", "container", "into a tank first", nil},
		{"a 30 February", "pulls", s.aPull("occurred_at", "2026-02-30T10:00:00Z"), 422, invalid, "/occurred_at", "2026-02-30T10:00:00Z", "a time with its offset", nil},
		{"a time without its offset", "pulls", s.aPull("occurred_at", "2026-08-20T10:00:00"), 422, invalid, "/occurred_at", "2026-08-20T10:00:00", "a time with its offset", nil},
		{"a load of no frames", "loads", s.aLoad("frames_left", 0, "frames_right", 0), 422, invalid, "/frames_left", 0.0, "at least one frame", nil},
		{"more frames than the extractor takes", "loads", s.aLoad("frames_left", 31), 422, invalid, "/frames_left", 31.0, "takes 30 frames a side", nil},
		{"a moisture and a Brix at once", "readings", s.aReading("brix_deg", 81.0), 422, invalid, "/moisture_pct", nil, "Only one of", nil},
		{"a reading of nothing", "readings", s.aReading("moisture_pct", nil), 422, invalid, "/measured", nil, "Nothing was measured", nil},
		{"HMF without its method", "readings", s.aReading("moisture_pct", nil, "measured", []M{{"quantity": "hmf_mg_per_kg", "value": 12}}), 422, invalid, "/measured/0/method", nil, "HPLC", nil},
		{"a diastase of 900", "readings", s.aReading("measured", []M{{"quantity": "diastase_gothe", "value": 900}}), 422, invalid, "/measured/0/value", 900.0, "from 0 to 200 can be recorded", 9.0},
		{"a certificate of no laboratory", "readings", s.aReading("certificate_number", "26-1207"), 422, invalid, "/certificate_number", nil, "Name the laboratory", nil},
		{"less than the laboratory can measure", "readings", s.aReading("moisture_pct", nil, "instrument_id", nil, "laboratory", "Fern Valley", "measured", []M{{"quantity": "diastase_gothe", "value": 0.5, "limit_of_quantification": 1}}), 422, invalid, "/measured/0/limit_of_quantification", 1.0, "Record it as less than 1", nil},
		{"an analysis after its result", "readings", s.aReading("laboratory", "Fern Valley", "analysed_on", "2026-09-21"), 422, invalid, "/analysed_on", "2026-09-21", "after the result itself", nil},
		{"the same quantity twice", "readings", s.aReading("measured", []M{{"quantity": "diastase_gothe", "value": 19}, {"quantity": "diastase_gothe", "value": 20}}), 422, invalid, "/measured/1/quantity", "diastase_gothe", "stands in this reading already", nil},
		{"more sugars and water than honey", "readings", s.aReading("measured", []M{{"quantity": "reducing_sugars_g_per_100g", "value": 79}, {"quantity": "sucrose_g_per_100g", "value": 9}}), 422, invalid, "/measured/0/value", 79.0, "come to 105.4 g in 100 g", nil},
		{"a moisture of 41", "readings", s.aReading("moisture_pct", 41), 422, invalid, "/moisture_pct", 41.0, "No honey has a moisture of 41", nil},
		{"a sample at 77 degrees Fahrenheit", "readings", s.aReading("sample_temperature_c", 77), 422, invalid, "/sample_temperature_c", 77.0, "77 °F is 25 °C", 25.0},
		{"a log at 113 degrees Fahrenheit", "temperature-logs", M{"id": id(), "occurred_at": at(21, "20:00"), "on": M{"kind": "tank", "id": s.large},
			"points": []M{{"at": at(21, "20:00"), "temperature_c": 113}}}, 422, invalid, "/points/0/temperature_c", 113.0, "113 °F is 45 °C", 45.0},
		{"a temperature log that runs backwards", "temperature-logs", M{"id": id(), "occurred_at": at(21, "20:00"), "on": M{"kind": "tank", "id": s.large},
			"points": []M{{"at": at(21, "20:00"), "temperature_c": 38}, {"at": at(21, "19:00"), "temperature_c": 36}}}, 422, invalid, "/points/1/at", "2026-08-22T00:00:00Z", "later than the one before", nil},
		{"a name of nothing but a no-break space", "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "\u00a0"}, 422, invalid, "/name", "", "This is empty", nil},
		{"a character that no database keeps", "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Alder\x00Bend"}, 422, invalid, "/name", "Alder\x00Bend", "U+0000", nil},
	} {
		t.Run(row.what, func(t *testing.T) {
			before := s.head(t)
			raw, isText := row.body.(string)
			if !isText {
				text, err := json.Marshal(row.body)
				if err != nil {
					t.Fatal(err)
				}
				raw = string(text)
			}
			r := s.send(t, http.MethodPost, "/v1/"+row.path, s.manager, []byte(raw))
			p := as[problem](t, r)
			if r.status != row.status || p.Type != row.sort {
				t.Fatalf("%d %s, want %d %s: %s", r.status, p.Type, row.status, row.sort, r.raw)
			}
			if row.pointer == "" && row.sort == malformed {
				if !strings.Contains(p.Detail, row.says) {
					t.Errorf("it says %q, want %q", p.Detail, row.says)
				}
			} else if c := at0(p.Errors, row.pointer); c == nil {
				t.Errorf("nothing points at %q: %s", row.pointer, r.raw)
			} else if !strings.Contains(c.Detail, row.says) || !reflect.DeepEqual(c.Sent, row.sent) || !reflect.DeepEqual(c.DidYouMean, row.didYouMe) {
				t.Errorf("sent %v, did you mean %v, %q; want %v, %v, %q", c.Sent, c.DidYouMean, c.Detail, row.sent, row.didYouMe, row.says)
			}
			if after := s.head(t); after != before {
				t.Errorf("something was stored: entry %d before, %d after", before.LastEntry, after.LastEntry)
			}
		})
	}
}

// at0 is the first complaint about what a pointer names.
func at0(all []complaint, pointer string) *complaint {
	for i := range all {
		if all[i].Pointer == pointer {
			return &all[i]
		}
	}
	return nil
}

func TestABodyOf20MegabytesIsRefused(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	before := s.head(t)
	body := `{"id": "` + id() + `", "note": "` + strings.Repeat("honey ", 20<<20/6) + `"}`
	r := s.send(t, http.MethodPost, "/v1/pulls", s.manager, []byte(body))
	if p := as[problem](t, r); r.status != http.StatusRequestEntityTooLarge || p.Type != "/problems/too-large" || !strings.Contains(p.Detail, "64 kB at most") {
		t.Errorf("20 MB: %d %s", r.status, r.raw)
	}
	if s.head(t) != before {
		t.Error("something of it was stored")
	}
}

func TestWhatIsRefusedIsExplainedWhole(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	r := s.post(t, "fills", s.aFill("tare_kg", "20", "gross_kg", nil, "sael", "41"))
	p := as[problem](t, r)
	for _, pointer := range []string{"/tare_kg", "/gross_kg", "/sael"} {
		if at0(p.Errors, pointer) == nil {
			t.Errorf("nothing is said about %s: %s", pointer, r.raw)
		}
	}
}

func TestAContainerNumberIsFreeAgainAfterRework(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	if r := s.post(t, "fills", s.aFill("container", "D-1")); r.status != http.StatusConflict {
		t.Fatalf("D-1 is full and was filled again: %d %s", r.status, r.raw)
	}
	s.book(t, "movements", s.rework())
	s.book(t, "fills", s.aFill("container", "D-1", "occurred_at", at(22, "9:00")))
	if r := s.post(t, "fills", s.aFill("container", "D-1", "occurred_at", at(22, "10:00"))); r.status != http.StatusConflict {
		t.Errorf("D-1 is full for the second time and was filled again: %d %s", r.status, r.raw)
	}
	// What was in the drum the first time can still be set right.
	if r := s.post(t, "fills", s.aFill("id", id(), "container", "D-1", "gross_kg", 288, "replaces", s.drum1, "reason", "misread")); r.status != http.StatusCreated {
		t.Errorf("the first filling of D-1 cannot be corrected: %d %s", r.status, r.raw)
	}
}

func TestAContainerNumberIsFreeAgainAfterACorrection(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "fills", s.aFill("container", "D-7", "replaces", s.drum1, "reason", "the stencil said D-7"))
	s.book(t, "fills", s.aFill("container", "D-1", "occurred_at", at(21, "14:30")))
	if r := s.post(t, "fills", s.aFill("container", "D-7")); r.status != http.StatusConflict {
		t.Errorf("D-7 is full and was filled again: %d %s", r.status, r.raw)
	}
}
