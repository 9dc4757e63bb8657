package api_test

// pouredStories are stories of the door about honey that came into drums later, or came from
// where something was known of it.
var pouredStories = []doorStory{
	{"a drum topped up after the release", func(s *story) { s.good(); s.pour(4, "D-2") }, wish{day: 5, drums: "D-2"}, "came after its release"},
	{"another drum of that lot", func(s *story) { s.good(); s.pour(4, "D-2") }, wish{day: 5, drums: "D-1"}, "came after its release"},
	{"one that left before it was topped up", func(s *story) { s.good(); s.pour(6, "D-2") }, wish{day: 5, drums: "D-1"}, ""},
	{"topped up, and released again by the old figures", func(s *story) {
		s.good()
		s.pour(4, "D-2")
		s.tried(5, "lot-statuses", "lot_id", s.lot, "status", "released", "check_id", s.check(5, s.rule))
	}, wish{day: 6, drums: "D-1"}, "came after its release"},
	{"topped up, the others released on their own figures", func(s *story) {
		s.good()
		s.pour(4, "D-2")
		s.word(5)
		s.limits("each", s.buyer, []M{water("18")})
	}, wish{day: 6, drums: "D-1"}, ""},
	{"topped up, and that drum on a word for the lot", func(s *story) {
		s.good()
		s.pour(4, "D-2")
		s.word(5)
		s.limits("each", s.buyer, []M{water("18")})
	}, wish{day: 6, drums: "D-2"}, "moisture not measured (D-2)"},
	{"topped up, read and analysed again", func(s *story) {
		s.good()
		s.pour(4, "D-2")
		s.read(5, "D-2", 17.4)
		s.hmf(5, 9)
		s.decide(6, "status", "released", "check_id", s.check(6, s.rule))
	}, wish{day: 7, drums: all}, ""},
	{"topped up, and wet now", func(s *story) {
		s.good()
		s.pour(4, "D-2")
		s.read(5, "D-2", 21)
		s.hmf(5, 9)
		s.tried(6, "lot-statuses", "lot_id", s.lot, "status", "released", "check_id", s.check(6, s.rule))
	}, wish{day: 7, drums: all}, "came after its release"},
	{"topped up by a movement that was told late", func(s *story) { s.good(); s.pour(2, "D-2") }, wish{day: 5, drums: "D-2"}, "came after its release"},

	{"a drum filled after the sample, under the old figures", func(s *story) {
		s.good()
		s.another(4)
		s.tried(5, "lot-statuses", "lot_id", s.lot, "status", "released", "check_id", s.check(5, s.rule))
	}, wish{day: 6, drums: "D-1"}, "came after its release"},
	{"that drum, on a word for the lot", func(s *story) {
		s.good()
		s.another(4)
		s.word(5)
		s.limits("each", s.buyer, []M{water("18")})
	}, wish{day: 6, drums: "P-1"}, "moisture not measured (P-1)"},
	{"that drum, sampled since", func(s *story) {
		s.good()
		s.another(4)
		s.read(5, "P-1", 17.1)
		s.hmf(5, 8)
		s.decide(6, "status", "released", "check_id", s.check(6, s.rule))
	}, wish{day: 7, drums: "P-1"}, ""},
	{"a drum out of a tank that read 23, beside a fair sample of the lot", func(s *story) {
		s.put(1, "stocktakes", "tank_id", s.fill, "method", "scale", "mass_kg", 400)
		s.put(1, "readings", "on", M{"kind": "tank", "id": s.fill}, "laboratory", "Fern Valley", "moisture_pct", 23, "point", "mixed")
		s.another(2)
		s.sample(3, 17.2)
		s.hmf(3, 8)
		s.word(4)
		s.limits("each", s.buyer, []M{water("18")})
	}, wish{day: 6, drums: "P-1"}, "moisture not measured (P-1)"},

	{"honey of a recalled lot, in another lot's drum", func(s *story) {
		s.good()
		s.held(4, "recall")
		s.intoAnotherLot(5)
		s.tried(8, "lot-statuses", "lot_id", s.lot, "status", "released", "check_id", s.check(8, s.rule), "note", "all is well")
	}, wish{day: 9, drums: "D-9"}, "honey of lot 26-001 is in it, which is held (recall"},
	{"honey of a lot that was recalled after it was poured over", func(s *story) {
		s.good()
		first := s.lot
		s.intoAnotherLot(5)
		s.decide(7, "status", "released", "check_id", s.check(7, s.rule))
		s.put(8, "lot-statuses", "lot_id", first, "status", "held", "why", "recall", "note", "glass in D-1")
	}, wish{day: 9, drums: "D-9"}, "honey of lot 26-001 is in it, which is held (recall"},
	{"the same, once the recall is lifted", func(s *story) {
		s.good()
		first, rule := s.lot, s.rule
		s.held(4, "recall")
		s.intoAnotherLot(5)
		second := s.lot
		s.lot = first
		s.decide(8, "status", "released", "check_id", s.check(7, rule), "note", "it was another's glass")
		s.lot = second
		s.decide(9, "status", "released", "check_id", s.check(9, rule))
	}, wish{day: 10, drums: "D-9"}, ""},
	{"out of the recalled lot's tank after it was washed", func(s *story) {
		s.good()
		s.held(4, "recall")
		tank := s.put(4, "tanks", "name", "pouring tank", "use", "settling", "capacity_kg", 900)
		s.put(5, "movements", "from", M{"kind": "container", "id": s.drums["D-3"]}, "to", M{"kind": "tank", "id": tank})
		s.put(6, "washes", "tank_id", tank)
		s.put(6, "movements", "from", M{"kind": "tank", "id": s.fill}, "to", M{"kind": "tank", "id": tank}, "mass_kg", 300)
		s.inLot(7, tank, "26-002")
		s.released(8)
	}, wish{day: 9, drums: "D-9"}, ""},
	{"a drum that a correction puts into a released lot", func(s *story) {
		s.good()
		first := s.lot
		s.intoAnotherLot(5)
		s.lot = first
		s.keg["lot_id"] = first
		s.drums["D-9"] = s.correct("fills", s.drums["D-9"], s.keg)
	}, wish{day: 9, drums: "D-9"}, "came after its release"},
	{"a drum of a recalled lot that a correction puts into another", func(s *story) {
		s.good()
		first, rule := s.lot, s.rule
		s.intoAnotherLot(5)
		s.held(8, "recall")
		s.lot = first
		s.keg["lot_id"] = first
		s.drums["D-9"] = s.correct("fills", s.drums["D-9"], s.keg)
		s.tried(9, "lot-statuses", "lot_id", s.lot, "status", "released", "check_id", s.check(9, rule), "note", "all is well")
	}, wish{day: 9, drums: "D-9"}, "honey of lot 26-002 is in it, which is held (recall"},
	{"honey of a drum that failed, poured over and analysed", func(s *story) {
		s.good()
		s.held(4, "fails_a_limit")
		s.intoAnotherLot(5)
		s.released(8)
	}, wish{day: 9, drums: "D-9"}, ""},

	{"seen fermenting in the tank, then filled", func(s *story) {
		s.foams(1, "present")
		s.another(2)
		s.sample(3, 17)
		s.hmf(3, 8)
		s.tried(4, "lot-statuses", "lot_id", s.lot, "status", "released", "override", true, "note", "it is only foam")
	}, wish{day: 5, drums: "P-1"}, "it is held (fermentation"},
	{"the tank was looked at again before", func(s *story) {
		s.foams(1, "present")
		s.foams(2, "absent")
		s.another(3)
		s.sample(4, 17)
		s.hmf(4, 8)
		s.released(5)
	}, wish{day: 6, drums: "P-1"}, ""},
	{"seen fermenting in the tank, checked without a look", func(s *story) {
		s.foams(1, "present")
		s.another(2)
		s.sample(3, 17)
		s.hmf(3, 8)
		s.rule = s.limits("the shop", "", []M{water("20"), hmfUpTo("40")})
		s.tried(4, "lot-statuses", "lot_id", s.lot, "status", "released", "check_id", s.check(4, s.rule), "note", "it is only foam")
	}, wish{day: 5, drums: "P-1"}, "it is held (fermentation"},
	{"seen in the tank, quiet in the drum, checked", func(s *story) {
		s.foams(1, "present")
		s.another(2)
		s.sample(3, 17)
		s.hmf(3, 8)
		s.seen(3, "P-1", "absent")
		s.rule = s.limits("the shop", "", []M{water("20"), hmfUpTo("40")})
		s.decide(5, "status", "released", "check_id", s.check(4, s.rule), "note", "it was only foam")
	}, wish{day: 6, drums: "P-1"}, ""},
	{"one drum seen fermenting, and checked without another look", func(s *story) {
		s.good()
		s.seen(4, "D-2", "present")
		s.tried(6, "lot-statuses", "lot_id", s.lot, "status", "released", "check_id", s.check(5, s.rule), "note", "smells well")
	}, wish{day: 7, drums: "D-1"}, "it is held (fermentation"},
	{"a fermenting drum poured over into another lot", func(s *story) {
		s.good()
		s.seen(4, "D-3", "present")
		s.intoAnotherLot(5)
		s.tried(8, "lot-statuses", "lot_id", s.lot, "status", "released", "check_id", s.check(8, s.rule), "note", "all is well")
	}, wish{day: 9, drums: "D-9"}, "it is held (fermentation"},
}

// all are the three drums of a story.
const all = "D-1 D-2 D-3"

// pour tops a drum up out of the tank.
func (s *story) pour(n int, drum string) string {
	return s.put(n, "movements", "from", M{"kind": "tank", "id": s.fill}, "to", M{"kind": "container", "id": s.drums[drum]}, "mass_kg", 20)
}

// foams says what was seen in the tank.
func (s *story) foams(n int, word string) {
	s.put(n, "readings", "on", M{"kind": "tank", "id": s.fill}, "observed", []M{{"what": "fermentation", "word": word}})
}

// sample is a reading of the whole lot.
func (s *story) sample(n int, pct float64) {
	s.put(n, "readings", "on", M{"kind": "lot", "id": s.lot}, "laboratory", "Fern Valley", "moisture_pct", pct, "containers_sampled", 3)
}

// intoAnotherLot pours D-3 into a tank and fills it into D-9 of a lot of its own, which is
// read and analysed. The story goes on with that lot.
func (s *story) intoAnotherLot(n int) {
	tank := s.put(n, "tanks", "name", "pouring tank", "use", "settling", "capacity_kg", 900)
	s.put(n, "movements", "from", M{"kind": "container", "id": s.drums["D-3"]}, "to", M{"kind": "tank", "id": tank})
	s.inLot(n+1, tank, "26-002")
}

// inLot fills D-9 out of a tank, as a lot of its own that is read and analysed.
func (s *story) inLot(n int, tank, code string) {
	kind := s.put(n, "container-kinds", "name", "keg", "volume_l", 120, "usual_tare_kg", 10, "usual_net_kg", 150)
	s.lot = s.put(n, "lots", "code", code, "store_id", s.store)
	s.keg = M{"occurred_at": day(n, "12:00"), "lot_id": s.lot, "tank_id": tank, "container_kind_id": kind, "container": "D-9", "tare_kg": 10, "gross_kg": 160}
	s.drums["D-9"] = s.book(s.t, "fills", with(s.keg, "id", id())).ID
	s.read(n+1, "D-9", 17.3)
	s.hmf(n+1, 8)
}

// correct replaces an entry by another that says something else.
func (s *story) correct(path, old string, body M) string {
	s.t.Helper()
	return s.book(s.t, path, with(body, "id", id(), "replaces", old, "reason", "the slip says so")).ID
}
