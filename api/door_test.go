package api_test

import (
	"net/http"
	"strings"
	"testing"
)

// story is what was recorded at one shed before somebody wants to send honey to somebody. Days
// count from the first of February, when the lot's three drums were filled.
type story struct {
	*outfit
	t                       *testing.T
	lot, store, buyer, rule string
	drums                   map[string]string
	hold, fill              string
	keg                     M // what was told of D-9
}

// day is so many days after the drums were filled, at an hour of the day.
func day(n int, clock string) string { return at(n-180, clock) }

func newStory(t *testing.T, h *honeyHouse, name string) *story {
	s := &story{outfit: h.newOutfit(t, name), t: t, drums: map[string]string{}}
	setUp := func(path string, body M) string {
		body["id"], body["occurred_at"] = id(), day(-10, "8:00")
		return s.book(t, path, body).ID
	}
	setUp("seasons", M{"name": "2026", "first": "2026-01-01", "last": "2026-12-31"})
	kind := setUp("container-kinds", M{"name": "drum", "volume_l": 208, "usual_tare_kg": 20, "usual_net_kg": 275})
	tank := setUp("tanks", M{"name": "large tank", "use": "settling", "capacity_kg": 4500})
	s.store = setUp("rooms", M{"name": "store", "use": "store", "usual_temperature_c": 20})
	s.buyer = setUp("buyers", M{"name": "Northgate"})
	s.lot = s.book(t, "lots", M{"id": id(), "occurred_at": day(0, "8:00"), "code": "26-001", "store_id": s.store}).ID
	for _, number := range []string{"D-1", "D-2", "D-3"} {
		s.drums[number] = s.book(t, "fills", M{"id": id(), "occurred_at": day(0, "9:00"), "lot_id": s.lot, "tank_id": tank, "container_kind_id": kind,
			"container": number, "tare_kg": 20, "gross_kg": 290}).ID
	}
	s.fill = tank
	return s
}

func (s *story) put(n int, path string, pairs ...any) string {
	s.t.Helper()
	return s.book(s.t, path, with(M{"id": id(), "occurred_at": day(n, "12:00")}, pairs...)).ID
}

// read is a reading of moisture on a drum.
func (s *story) read(n int, drum string, pct float64) string {
	return s.put(n, "readings", "on", M{"kind": "container", "id": s.drums[drum]}, "laboratory", "Fern Valley", "moisture_pct", pct)
}

// readAll reads all three drums alike.
func (s *story) readAll(n int, pct float64) {
	for _, drum := range []string{"D-1", "D-2", "D-3"} {
		s.read(n, drum, pct)
	}
}

func (s *story) hmf(n int, value float64) string {
	return s.put(n, "readings", "on", M{"kind": "lot", "id": s.lot}, "laboratory", "Fern Valley", "containers_sampled", 3,
		"measured", []M{{"quantity": "hmf_mg_per_kg", "value": value, "std_uncertainty": 0.5, "method": "HPLC"}})
}

func (s *story) seen(n int, drum, word string) string {
	return s.put(n, "readings", "on", M{"kind": "container", "id": s.drums[drum]}, "observed", []M{{"what": "fermentation", "word": word}})
}

// limits are rules of the outfit's own; a buyer's where buyer is named.
func (s *story) limits(name, buyer string, lines []M, pairs ...any) string {
	body := with(M{"name": name, "citation": "own", "form": "limits", "limits": lines}, pairs...)
	if buyer != "" {
		body["buyer_id"] = buyer
	}
	return s.put(-5, "rule-sets", "name", name, "citation", "own", "form", "limits", "limits", lines, "buyer_id", body["buyer_id"], "measured_within_days", body["measured_within_days"])
}

func water(most string, pairs ...any) M {
	return with(M{"parameter": "moisture", "unit": "%", "comparator": "<=", "limit": most, "clause": "1"}, pairs...)
}

func hmfUpTo(most string) M {
	return M{"parameter": "hmf", "unit": "mg/kg", "comparator": "<=", "limit": most, "clause": "2"}
}

func (s *story) check(n int, rule string) string {
	return s.put(n, "checks", "lot_id", s.lot, "on", day(n, "12:00")[:10], "rule_sets", []M{{"rule_set_id": rule}})
}

func (s *story) decide(n int, pairs ...any) string {
	return s.put(n, "lot-statuses", append([]any{"lot_id", s.lot}, pairs...)...)
}

// released is a release by a check by rules for 20 % of water and 40 mg/kg of HMF.
func (s *story) released(n int) {
	if s.rule == "" {
		s.rule = s.limits("the shop", "", []M{water("20"), hmfUpTo("40")})
	}
	s.decide(n, "status", "released", "check_id", s.check(n, s.rule))
}

func (s *story) word(n int) {
	s.decide(n, "status", "released", "override", true, "note", "agreed with the buyer")
}

func (s *story) held(n int, why string) {
	s.hold = s.decide(n, "status", "held", "why", why, "note", "as told")
}

// tried is an entry that the book must refuse, for it to be seen that nothing came of it.
func (s *story) tried(n int, path string, pairs ...any) {
	s.t.Helper()
	if r := s.post(s.t, path, with(M{"id": id(), "occurred_at": day(n, "12:00")}, pairs...)); r.status < 400 {
		s.t.Errorf("%s was taken: %s", path, r.raw)
	}
}

// good is a lot read and analysed on the second day, well inside everything, and released.
func (s *story) good() {
	s.readAll(2, 17.0)
	s.hmf(2, 8)
	s.released(3)
}

// doorStory is what was told before somebody wishes to send honey, and what a refusal says;
// empty goes.
type doorStory struct {
	what  string
	told  func(s *story)
	wants wish
	stays string
}

// wish is who wants to send what on which day.
type wish struct {
	day    int
	drums  string
	market string
	word   string
	before bool // it is said to have left before the book began, as word knows
}

// A figure that was measured and has aged is not the same as none: what to do differs.
func TestWhatIsTooOldToSayIsAskedToBeMeasuredAgain(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	const again = "What was measured of HMF is too old to say how it is now: have the lot measured again"
	for _, tt := range []struct {
		what    string
		prepare func(s *story)
		day     int
		says    bool
	}{
		{"HMF of 37 half a year ago", func(s *story) { s.readAll(2, 17); s.hmf(2, 37); s.released(3) }, 200, true},
		{"never measured", func(s *story) { s.word(3); s.limits("asks", s.buyer, []M{hmfUpTo("20")}) }, 5, false},
		{"measured, and over the limit by now", func(s *story) { s.hot(35); s.readAll(2, 17); s.hmf(2, 8); s.released(3) }, 200, false},
	} {
		s := newStory(t, h, "again: "+tt.what)
		tt.prepare(s)
		r := s.post(t, "dispatches", M{"id": id(), "occurred_at": day(tt.day, "12:00"), "buyer_id": s.buyer, "containers": []string{s.drums["D-1"]}})
		if r.status != http.StatusConflict || strings.Contains(string(r.raw), again) != tt.says {
			t.Errorf("%s: %d %s", tt.what, r.status, r.raw)
		}
	}
}

// Little stories of the door, written from its rules: what was recorded, what somebody
// wants to send, and what must happen. stays is what the refusal says; empty goes.
func TestTheStoriesOfTheDoor(t *testing.T) {
	t.Parallel()
	stories := []doorStory{
		{"read, analysed, checked and released", (*story).good, wish{day: 5, drums: all}, ""},
		{"one drum of it", (*story).good, wish{day: 5, drums: "D-2"}, ""},
		{"nobody decided anything", func(s *story) { s.readAll(2, 17) }, wish{day: 5, drums: "D-1"}, "not been released"},
		{"dated before the release", (*story).good, wish{day: 2, drums: "D-1"}, "not been released"},
		{"on a manager's word, nothing known and nothing asked", func(s *story) { s.word(3) }, wish{day: 5, drums: all}, ""},

		// Measured figures age.
		{"HMF of 38 measured three days ago", func(s *story) { s.readAll(2, 17); s.hmf(2, 37); s.released(3) }, wish{day: 5, drums: "D-1"}, ""},
		{"HMF of 37 measured over six months ago", func(s *story) { s.readAll(2, 17); s.hmf(2, 37); s.released(3) }, wish{day: 200, drums: "D-1"}, "HMF not measured"},
		{"HMF of 5 measured five months ago", func(s *story) { s.readAll(2, 17); s.hmf(2, 5); s.released(3) }, wish{day: 150, drums: "D-1"}, ""},
		{"HMF of 37 measured again", func(s *story) { s.readAll(2, 17); s.hmf(2, 30); s.released(3); s.hmf(198, 36) }, wish{day: 200, drums: "D-1"}, ""},
		{"measured again, and over", func(s *story) { s.readAll(2, 17); s.hmf(2, 30); s.released(3); s.hmf(198, 44) }, wish{day: 200, drums: "D-1"}, "HMF fails"},
		{"a hot store", func(s *story) { s.hot(35); s.readAll(2, 17); s.hmf(2, 8); s.released(3) }, wish{day: 200, drums: "D-1"}, "HMF fails"},
		{"a cold store", func(s *story) { s.hot(4); s.readAll(2, 17); s.hmf(2, 30); s.released(3) }, wish{day: 200, drums: "D-1"}, ""},
		{"a lot without a store", func(s *story) { s.nowhere(); s.readAll(2, 17); s.hmf(2, 20); s.released(3) }, wish{day: 200, drums: "D-1"}, "HMF not measured"},
		{"a buyer who takes figures of 30 days only", func(s *story) {
			s.good()
			s.limits("fresh", s.buyer, []M{water("20")}, "measured_within_days", 30)
		}, wish{day: 60, drums: "D-1"}, "moisture not measured"},
		{"the same, within 30 days", func(s *story) {
			s.good()
			s.limits("fresh", s.buyer, []M{water("20")}, "measured_within_days", 30)
		}, wish{day: 20, drums: "D-1"}, ""},

		// The worst container counts.
		{"a fair mean with one drum of 22 %", func(s *story) { s.good(); s.read(4, "D-3", 27) }, wish{day: 5, drums: all}, "moisture fails (D-3)"},
		{"that drum alone", func(s *story) { s.good(); s.read(4, "D-3", 27) }, wish{day: 5, drums: "D-3"}, "moisture fails"},
		{"the others without it", func(s *story) { s.good(); s.read(4, "D-3", 27) }, wish{day: 5, drums: "D-1 D-2"}, ""},
		{"a drum exactly on the limit", func(s *story) { s.readAll(2, 20); s.hmf(2, 8); s.released(3) }, wish{day: 5, drums: all}, ""},
		{"a drum a tenth over, that a buyer takes by the mean", func(s *story) {
			s.good()
			s.limits("by the mean", s.buyer, []M{water("17.5", "by_mean", true)})
			s.read(4, "D-3", 18.2)
		}, wish{day: 5, drums: all}, ""},
		{"the same drum, where each counts", func(s *story) {
			s.good()
			s.limits("each", s.buyer, []M{water("17.5")})
			s.read(4, "D-3", 18.2)
		}, wish{day: 5, drums: all}, "moisture fails (D-3)"},

		// Not known is its own answer.
		{"a buyer who asks for HMF that nobody measured", func(s *story) {
			s.word(3)
			s.limits("asks", s.buyer, []M{hmfUpTo("20")})
		}, wish{day: 5, drums: "D-1"}, "HMF not measured"},
		{"a drum that nobody read, where each has to be", func(s *story) {
			s.read(2, "D-1", 17)
			s.word(3)
			s.limits("each", s.buyer, []M{water("18", "every_container", true)})
		}, wish{day: 5, drums: "D-2"}, "moisture not measured"},
		{"the one that was read", func(s *story) {
			s.read(2, "D-1", 17)
			s.word(3)
			s.limits("each", s.buyer, []M{water("18", "every_container", true)})
		}, wish{day: 5, drums: "D-1"}, ""},
		{"an unread drum beside read ones, where the lot counts", func(s *story) {
			s.read(2, "D-1", 17)
			s.word(3)
			s.limits("lot", s.buyer, []M{water("18")})
		}, wish{day: 5, drums: "D-2"}, ""},
		{"an unread drum beside a wet one, where the lot counts", func(s *story) {
			s.read(2, "D-1", 19)
			s.word(3)
			s.limits("lot", s.buyer, []M{water("18")})
		}, wish{day: 5, drums: "D-2"}, "moisture fails"},

		// For this buyer, and for where it goes.
		{"too wet for this buyer", func(s *story) { s.good(); s.limits("dry", s.buyer, []M{water("16.5")}) }, wish{day: 5, drums: "D-1"}, "moisture fails"},
		{"limits of another buyer", func(s *story) { s.good(); s.limits("dry", s.other(""), []M{water("16.5")}) }, wish{day: 5, drums: "D-1"}, ""},
		{"limits of this buyer that begin later", func(s *story) {
			s.good()
			s.put(-5, "rule-sets", "name", "later", "citation", "own", "form", "limits", "buyer_id", s.buyer, "limits", []M{water("16.5")}, "in_force_from", day(100, "12:00")[:10])
		}, wish{day: 5, drums: "D-1"}, ""},
		{"those limits, once they hold", func(s *story) {
			s.good()
			s.put(-5, "rule-sets", "name", "later", "citation", "own", "form", "limits", "buyer_id", s.buyer, "limits", []M{water("16.5")}, "in_force_from", day(100, "12:00")[:10])
		}, wish{day: 110, drums: "D-1"}, "moisture fails"},
		{"a manager's reason for this buyer", func(s *story) { s.good(); s.limits("dry", s.buyer, []M{water("16.5")}) }, wish{day: 5, drums: "D-1", word: "he dries it himself"}, ""},
		{"an override without a reason", func(s *story) { s.good(); s.limits("dry", s.buyer, []M{water("16.5")}) }, wish{day: 5, drums: "D-1", word: " "}, "needs its reason"},
		{"to a market whose rules it fails", func(s *story) { s.readAll(2, 20.8); s.word(3) }, wish{day: 5, drums: "D-1", market: "eu-honey"}, "moisture fails"},
		{"to a market of whose figures most are missing", (*story).good, wish{day: 5, drums: "D-1", market: "eu-honey"}, "not measured"},
		{"to a market that there is not", (*story).good, wish{day: 5, drums: "D-1", market: "atlantis"}, "No published rule set"},
		{"to a buyer in a market", func(s *story) { s.readAll(2, 20.8); s.word(3); s.buyer = s.other("eu-honey") }, wish{day: 5, drums: "D-1"}, "moisture fails"},
		{"to a market on a manager's word", func(s *story) { s.readAll(2, 20.8); s.word(3) }, wish{day: 5, drums: "D-1", market: "eu-honey", word: "for baking"}, ""},

		// A hold is lifted on purpose.
		{"held", func(s *story) { s.good(); s.held(4, "fails_a_limit") }, wish{day: 5, drums: "D-1"}, "it is held"},
		{"held, and sent on a word", func(s *story) { s.good(); s.held(4, "fails_a_limit") }, wish{day: 5, drums: "D-1", word: "he wants it"}, "it is held"},
		{"held, dated before the hold", func(s *story) { s.good(); s.held(6, "recall") }, wish{day: 5, drums: "D-1"}, "it is held"},
		{"the same, on a manager's word", func(s *story) { s.good(); s.held(6, "recall") }, wish{day: 5, drums: "D-1", word: "left on Tuesday, the slip was in the truck"}, ""},
		{"held, and opened with a reason", func(s *story) {
			s.good()
			s.held(4, "finding_unresolved")
			s.decide(5, "status", "open", "note", "the weight was a slip")
		}, wish{day: 6, drums: "D-1"}, "not been released"},
		{"held, opened, released again", func(s *story) {
			s.good()
			s.held(4, "finding_unresolved")
			s.decide(5, "status", "open", "note", "the weight was a slip")
			s.released(6)
		}, wish{day: 7, drums: "D-1"}, ""},
		{"a hold lifted without a word", func(s *story) {
			s.good()
			s.held(4, "finding_unresolved")
			s.tried(5, "lot-statuses", "lot_id", s.lot, "status", "open")
		}, wish{day: 6, drums: "D-1"}, "it is held"},
		{"a recall lifted with a word alone", func(s *story) {
			s.good()
			s.held(4, "recall")
			s.tried(5, "lot-statuses", "lot_id", s.lot, "status", "open", "note", "all is well")
			s.tried(5, "lot-statuses", "lot_id", s.lot, "status", "released", "override", true, "note", "all is well")
		}, wish{day: 6, drums: "D-1"}, "it is held"},
		{"a recall lifted by the check before it", func(s *story) {
			s.good()
			check := s.check(3, s.rule)
			s.held(4, "recall")
			s.tried(5, "lot-statuses", "lot_id", s.lot, "status", "released", "check_id", check, "note", "all is well")
		}, wish{day: 6, drums: "D-1"}, "it is held"},
		{"a recall lifted by a check after it", func(s *story) {
			s.good()
			s.held(4, "recall")
			s.decide(6, "status", "released", "check_id", s.check(5, s.rule), "note", "it was the neighbour's lot")
		}, wish{day: 7, drums: "D-1"}, ""},
		{"a recall hidden behind a lesser hold", func(s *story) {
			s.good()
			s.held(4, "recall")
			s.held(5, "finding_unresolved")
			s.tried(6, "lot-statuses", "lot_id", s.lot, "status", "open", "note", "the weight was a slip")
		}, wish{day: 7, drums: "D-1"}, "it is held"},
		{"a hold taken back as mistaken", func(s *story) { s.good(); s.held(4, "recall"); s.withdraw(s.hold) }, wish{day: 5, drums: "D-1"}, "came after its release"},
		{"a hold taken back, and released again", func(s *story) { s.good(); s.held(4, "recall"); s.withdraw(s.hold); s.released(6) }, wish{day: 7, drums: "D-1"}, ""},
		{"a release dated before the hold", func(s *story) {
			s.good()
			s.held(6, "finding_unresolved")
			s.tried(5, "lot-statuses", "lot_id", s.lot, "status", "released", "override", true, "note", "settled")
		}, wish{day: 7, drums: "D-1"}, "it is held"},
		{"a hold told late", func(s *story) { s.good(); s.released2(8); s.held(7, "finding_unresolved") }, wish{day: 9, drums: "D-1"}, "it is held"},

		// What somebody saw holds the lot.
		{"one drum seen fermenting", func(s *story) { s.good(); s.seen(4, "D-2", "present") }, wish{day: 5, drums: "D-1"}, "it is held"},
		{"seen fermenting after the day that it is dated", func(s *story) { s.good(); s.seen(6, "D-2", "present") }, wish{day: 5, drums: "D-1"}, "it is held"},
		{"seen fermenting, and released on a word", func(s *story) {
			s.good()
			s.seen(4, "D-2", "present")
			s.tried(5, "lot-statuses", "lot_id", s.lot, "status", "released", "override", true, "note", "it is only foam")
		}, wish{day: 6, drums: "D-1"}, "it is held"},
		{"looked at again, quiet, and released by a check", func(s *story) {
			s.good()
			s.seen(4, "D-2", "present")
			s.seen(5, "D-2", "absent")
			s.decide(6, "status", "released", "check_id", s.check(5, s.rule), "note", "it was foam")
		}, wish{day: 7, drums: "D-1"}, ""},
		{"looked at, and nothing seen", func(s *story) { s.good(); s.seen(4, "D-2", "absent") }, wish{day: 5, drums: "D-1"}, ""},

		// What was learned later.
		{"a word, and then a wet reading", func(s *story) { s.word(3); s.read(4, "D-1", 22) }, wish{day: 5, drums: "D-2"}, "came after its release"},
		{"a word, and then a reading told late", func(s *story) { s.word(3); s.read(2, "D-1", 17) }, wish{day: 5, drums: "D-2"}, "came after its release"},
		{"a word given again after the reading", func(s *story) { s.word(3); s.read(4, "D-1", 22); s.word(5) }, wish{day: 6, drums: "D-2"}, ""},
		{"a word, and a drum filled after it", func(s *story) { s.word(3); s.another(4) }, wish{day: 5, drums: "D-1"}, "came after its release"},
		{"a check, and then a bad reading", func(s *story) { s.good(); s.read(4, "D-1", 25) }, wish{day: 5, drums: "D-1"}, "moisture fails"},
		{"a check, and then a good reading", func(s *story) { s.good(); s.read(4, "D-1", 17.2) }, wish{day: 5, drums: "D-1"}, ""},
		{"a bad reading that was taken back", func(s *story) { s.good(); s.withdraw(s.read(4, "D-1", 25)) }, wish{day: 5, drums: "D-1"}, ""},
		{"a bad reading after the day that it is dated", func(s *story) { s.good(); s.read(8, "D-1", 25) }, wish{day: 5, drums: "D-1"}, "moisture fails"},
		{"the check withdrawn", func(s *story) {
			s.readAll(2, 17)
			s.hmf(2, 8)
			s.rule = s.limits("the shop", "", []M{water("20"), hmfUpTo("40")})
			check := s.check(3, s.rule)
			s.decide(3, "status", "released", "check_id", check)
			s.withdraw(check)
		}, wish{day: 5, drums: "D-1"}, "withdrawn since"},

		// What left before the book began, in 2025.
		{"a lot of last year that nobody judged", (*story).lastYear, wish{day: -100, drums: "O-1"}, "not been released"},
		{"it left before the book began", (*story).lastYear, wish{day: -100, drums: "O-1 O-2", before: true, word: "the invoice of October"}, ""},
		{"so somebody says, and not how it is known", (*story).lastYear, wish{day: -100, drums: "O-1", before: true}, "say in a few words how it is known"},
		{"so somebody says with a blank", (*story).lastYear, wish{day: -100, drums: "O-1", before: true, word: " "}, "say in a few words how it is known"},
		{"this year's honey before the book began", (*story).good, wish{day: 5, drums: "D-1", before: true, word: "I say so"}, "did not leave before the book began"},
		{"last year's honey this year", (*story).lastYear, wish{day: 5, drums: "O-1", before: true, word: "I say so"}, "did not leave before the book began"},
		{"held when it is said to have left", func(s *story) { s.lastYear(); s.held(-110, "recall") }, wish{day: -100, drums: "O-1", before: true, word: "the invoice of October"}, "it is held"},
		{"seen to ferment when it is said to have left", func(s *story) { s.lastYear(); s.seen(-110, "O-2", "present") }, wish{day: -100, drums: "O-1", before: true, word: "the invoice of October"}, "it is held"},
		{"held since, and somebody says how it is known", func(s *story) { s.lastYear(); s.held(4, "recall") }, wish{day: -100, drums: "O-1", before: true, word: "the invoice of October"}, ""},
	}
	stories = append(stories, pouredStories...)
	if len(stories) < 80 {
		t.Errorf("only %d stories", len(stories))
	}
	h := openHouse(t)
	for _, x := range stories {
		t.Run(x.what, func(t *testing.T) {
			t.Parallel()
			s := newStory(t, h, x.what)
			x.told(s)
			before := s.head(t)
			r := s.asks(x.wants)
			switch {
			case x.stays == "" && r.status != http.StatusCreated:
				t.Errorf("it stays: %d %s", r.status, r.raw)
			case x.stays != "" && (r.status < 400 || !strings.Contains(string(r.raw), x.stays)):
				t.Errorf("want that it stays for %q: %d %s", x.stays, r.status, r.raw)
			case x.stays != "" && s.head(t) != before:
				t.Error("it was refused, and something of it was stored")
			}
		})
	}
}

func (s *story) asks(w wish) reply {
	s.t.Helper()
	body := M{"id": id(), "occurred_at": day(w.day, "15:00"), "buyer_id": s.buyer}
	var containers []string
	for _, number := range strings.Fields(w.drums) {
		containers = append(containers, s.drums[number])
	}
	body["containers"] = containers
	if w.market != "" {
		body["market"] = w.market
	}
	if w.before {
		body["before_book"] = true
	}
	if w.word != "" {
		body["override"] = !w.before
		if note := strings.TrimSpace(w.word); note != "" {
			body["note"] = note
		}
	}
	return s.post(s.t, "dispatches", body)
}

// lastYear is a lot of two drums filled in September 2025, of which nobody said more.
func (s *story) lastYear() {
	s.put(-5, "seasons", "name", "2025", "first", "2025-01-01", "last", "2025-12-31")
	kind := s.put(-5, "container-kinds", "name", "old drum", "volume_l", 208, "usual_tare_kg", 20, "usual_net_kg", 275)
	s.lot = s.put(-150, "lots", "code", "25-001")
	for _, number := range []string{"O-1", "O-2"} {
		s.drums[number] = s.put(-150, "fills", "lot_id", s.lot, "tank_id", s.fill, "container_kind_id", kind, "container", number, "tare_kg", 20, "gross_kg", 290)
	}
}

// hot sets how warm the store usually is.
func (s *story) hot(celsius float64) {
	s.put(-10, "rooms", "replaces", s.store, "reason", "measured", "name", "store", "use", "store", "usual_temperature_c", celsius)
}

// nowhere takes the store from the lot.
func (s *story) nowhere() {
	s.put(0, "lots", "replaces", s.lot, "reason", "it stands elsewhere", "code", "26-001")
}

func (s *story) other(market string) string {
	body := []any{"name", "Overseas"}
	if market != "" {
		body = append(body, "market", market)
	}
	return s.put(-5, "buyers", body...)
}

func (s *story) withdraw(entry string) {
	s.put(7, "withdrawals", "replaces", entry, "reason", "mistaken")
}

// released2 releases the lot once more by a newer check.
func (s *story) released2(n int) { s.decide(n, "status", "released", "check_id", s.check(n, s.rule)) }

// another fills one more drum into the lot.
func (s *story) another(n int) {
	kind := s.book(s.t, "container-kinds", M{"id": id(), "occurred_at": day(-9, "8:00"), "name": "pail", "volume_l": 20, "usual_tare_kg": 1, "usual_net_kg": 25}).ID
	s.drums["P-1"] = s.put(n, "fills", "lot_id", s.lot, "tank_id", s.fill, "container_kind_id", kind, "container", "P-1", "tare_kg", 1, "gross_kg", 26)
}

// A truck whose answer was lost is sent again: it left once, whatever the book has learned since.
func TestADispatchSentAgainLeftOnce(t *testing.T) {
	t.Parallel()
	s := newStory(t, openHouse(t), "sent again")
	s.good()
	truck := M{"id": id(), "occurred_at": day(5, "15:00"), "buyer_id": s.buyer, "containers": []string{s.drums["D-1"]}}
	first := s.book(t, "dispatches", truck)
	s.read(6, "D-1", 25)
	s.held(7, "recall")
	release := M{"id": id(), "occurred_at": day(9, "12:00"), "lot_id": s.lot, "status": "released", "check_id": s.check(8, s.rule), "note": "settled"}
	r := s.post(t, "dispatches", truck)
	if again := as[recorded](t, r); r.status != http.StatusOK || again.Number != first.Number {
		t.Errorf("sent again it answers %d %s", r.status, r.raw)
	}
	if r := s.post(t, "lot-statuses", release); r.status < 400 {
		t.Errorf("a wet drum's lot was released: %s", r.raw)
	}
	truck["reference"] = "another"
	if r := s.post(t, "dispatches", truck); r.status != http.StatusConflict {
		t.Errorf("the same id with another reference answers %d %s", r.status, r.raw)
	}
}

// A list that calls a lot released whose figures would not let it go misleads whoever loads
// by it: the list says so too, and names the lot whose recall holds another.
func TestTheListOfLotsSaysWhichReleasesLetNothingGo(t *testing.T) {
	t.Parallel()
	s := newStory(t, openHouse(t), "outdated")
	s.good()
	first := s.lot
	outdated := func() string {
		t.Helper()
		for _, l := range read[[]struct {
			LotID            string `json:"lot_id"`
			Status, Outdated string
		}](t, s.outfit, "reports/lots") {
			if l.LotID == first {
				return l.Status + ": " + l.Outdated
			}
		}
		return "not listed"
	}
	if got := outdated(); got != "released: " {
		t.Errorf("a lot as it was checked is %q", got)
	}
	s.read(4, "D-1", 25)
	if got := outdated(); !strings.HasPrefix(got, "released: ") || !strings.Contains(got, "readings were added or changed since") {
		t.Errorf("with a wet drum it is %q", got)
	}
	if _, page := fetch(t, s.browsing(t), s.url+"/lots"); !strings.Contains(page, "released, by a check that is outdated") {
		t.Error("the page of lots does not say so")
	}
	s.held(5, "recall")
	s.intoAnotherLot(6)
	lot := read[struct {
		Decision struct {
			Status  string
			Because string `json:"because_of_lot_id"`
		}
	}](t, s.outfit, "reports/lots/26-002")
	if lot.Decision.Status != "held" || lot.Decision.Because != first {
		t.Errorf("the lot with recalled honey is %+v", lot.Decision)
	}
}
