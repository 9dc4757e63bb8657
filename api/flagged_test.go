package api_test

import (
	"net/http"
	"slices"
	"strings"
	"testing"
)

// evening is one line of the evening list.
type evening struct {
	Flag          flag
	Settled       bool
	SettledReason string `json:"settled_reason"`
	SettledBy     string `json:"settled_by"`
}

// oddity is the evening list's line of a sort about an entry; nil where it has
// none.
func (o *outfit) oddity(t *testing.T, sort, entry string) *evening {
	t.Helper()
	for _, e := range read[[]evening](t, o, "reports/findings") {
		if e.Flag.Code == sort && e.Flag.EntryID == entry {
			return &e
		}
	}
	return nil
}

// odd is an entry that is stored and flagged, and how it would be ordinary.
type odd struct {
	what string
	flag string
	path string
	// entry is sent, and says is in the sentence of its flag.
	entry func(*testing.T, *shed) M
	says  string
	// right are the members that a correction sets otherwise.
	right func(*shed) []any
}

func plainly(pairs ...any) func(*shed) []any { return func(*shed) []any { return pairs } }

var oddities = []odd{
	{"more supers in a run than the pull still has", "more_supers_than_pulled", "run-supers",
		func(t *testing.T, s *shed) M {
			pull := s.book(t, "pulls", s.aPull()).ID
			return s.someSupers("pull_id", pull, "supers", 12)
		}, "12 supers of the pull from Alder Bend on 20 August 2026 went into run a run, but only 10 of that kind were left", plainly("supers", 10)},
	{"more drawn than the tank holds", "drawn_more_than_held", "movements",
		// The large tank has 1000 kg less a drum of 270.
		func(_ *testing.T, s *shed) M {
			return s.aMovement("occurred_at", at(22, "9:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "tank", "id": s.small}, "mass_kg", 800)
		}, "had 730 kg by the book, but 800 kg were drawn from it: 70 kg too much", plainly("mass_kg", 500)},
	{"a tank filled past its capacity", "over_capacity", "movements",
		func(_ *testing.T, s *shed) M {
			return s.aMovement("occurred_at", at(22, "9:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "tank", "id": s.small}, "mass_kg", 640)
		}, "has room for 600 kg, but by the book it has 640 kg in it: 40 kg too much", plainly("mass_kg", 600)},
	{"a moisture of 13.0", "moisture_unusual", "readings",
		func(_ *testing.T, s *shed) M { return s.aReading("moisture_pct", 13.0) },
		"13 % moisture was read", plainly("moisture_pct", 18.0)},
	{"a moisture of 24", "moisture_unusual", "readings",
		func(_ *testing.T, s *shed) M { return s.aReading("moisture_pct", 24.0) },
		"24 % moisture was read", plainly("moisture_pct", 18.4)},
	{"a diastase of 92", "result_unusual", "readings",
		func(_ *testing.T, s *shed) M {
			return s.aReading("measured", []M{{"quantity": "diastase_gothe", "value": 92}})
		},
		"honey seldom has more than 60 Gothe scale", plainly("measured", []M{{"quantity": "diastase_gothe", "value": 29}})},
	{"a pull heavier than its supers can hold", "pull_too_heavy", "pulls",
		// Ten deeps hold at most 10 x (13 + 36) = 490 kg.
		func(_ *testing.T, s *shed) M { return s.aPull("gross_kg", 520) },
		"weighed 520 kg, but its boxes weigh 490 kg at most when full", plainly("gross_kg", 420)},
	{"a pull lighter than its empty supers", "pull_too_light", "pulls",
		func(_ *testing.T, s *shed) M { return s.aPull("gross_kg", 120) },
		"weighed 120 kg, but its boxes alone weigh 130 kg when empty", plainly("gross_kg", 420)},
	{"a net within a few kilograms of the usual gross", "net_looks_like_gross", "fills",
		// A drum usually weighs 275 + 20 = 295 kg full.
		func(_ *testing.T, s *shed) M { return s.aFill("tare_kg", 0, "gross_kg", 296) },
		"is written down with 296 kg net, where 275 kg are usual", plainly("tare_kg", 20)},
	{"a container at 2.2 times its usual weight", "pounds_for_kilograms", "fills",
		func(_ *testing.T, s *shed) M {
			return s.aFill("container_kind_id", s.tote, "container", "T-1", "tare_kg", 60, "gross_kg", 1380)
		}, "1320 kg, where 600 kg are usual. Were pounds written down as kilograms?", plainly("gross_kg", 660)},
	{"a container at its usual weight over 2.2", "pounds_for_kilograms", "fills",
		func(_ *testing.T, s *shed) M { return s.aFill("gross_kg", 145) },
		"125 kg, where 275 kg are usual. Were kilograms written down as pounds?", plainly("gross_kg", 295)},
	{"a pull at 2.2 times its usual weight", "pounds_for_kilograms", "pulls",
		func(_ *testing.T, s *shed) M { return s.aPull("gross_kg", 880) },
		"880 kg, where 400 kg are usual. Were pounds written down as kilograms?", plainly("gross_kg", 399)},
	{"a load that looks like one just entered", "load_entered_twice", "loads",
		func(t *testing.T, s *shed) M {
			s.book(t, "loads", s.aLoad())
			return s.aLoad("load", 2, "occurred_at", at(21, "8:33"))
		}, "came 3 min after one that looks the same. Is it one load, entered twice?", plainly("occurred_at", at(21, "8:50"))},
	{"a load with the number of another", "load_entered_twice", "loads",
		func(t *testing.T, s *shed) M {
			s.book(t, "loads", s.aLoad())
			return s.aLoad("frames_left", 30, "occurred_at", at(21, "9:30"))
		}, "Is it one load, entered twice?", plainly("load", 2)},
	{"an entry recorded more than three days after", "recorded_late", "pulls",
		func(_ *testing.T, s *shed) M { return s.aPull("occurred_at", at(19, "12:00")) },
		"was written down 3.04 days after it happened", plainly("occurred_at", at(20, "12:00"))},
	{"more honey out of a run than its boxes could hold", "more_honey_than_boxes_hold", "movements",
		// Forty deeps hold at most 40 x 36 = 1440 kg, and 1000 have come out.
		func(_ *testing.T, s *shed) M { return s.aMovement("occurred_at", at(21, "16:00"), "mass_kg", 500) },
		"gave 1500 kg of honey, but its boxes hold 1440 kg at most", plainly("mass_kg", 400)},
	{"honey out of a run without supers", "honey_without_supers", "movements",
		func(t *testing.T, s *shed) M {
			run := s.book(t, "runs", s.aRun("name", "second")).ID
			return s.aMovement("from", M{"kind": "run", "id": run})
		}, "no supers are written down for it", func(s *shed) []any { return []any{"from", M{"kind": "run", "id": s.run}} }},
	{"a tank washed with honey in it", "washed_while_full", "washes",
		func(_ *testing.T, s *shed) M {
			return M{"id": id(), "occurred_at": at(21, "16:00"), "tank_id": s.large}
		},
		"was washed, but by the book 730 kg of honey were still in it", plainly("occurred_at", at(21, "7:00"))},
	{"a reading of a tank that no honey came to", "read_while_empty", "readings",
		func(_ *testing.T, s *shed) M { return s.aReading("on", M{"kind": "tank", "id": s.small}) },
		"Small tank was read, but by the book it was empty", func(s *shed) []any { return []any{"on", M{"kind": "tank", "id": s.large}} }},
	{"honey from a drum that is empty", "container_empty_or_gone", "movements",
		func(t *testing.T, s *shed) M {
			s.book(t, "movements", s.rework())
			return s.rework("occurred_at", at(22, "9:00"))
		}, "empty or gone already", plainly("from", M{"kind": "tank", "id": ""}, "mass_kg", 5)},
}

// TestWhatIsOddIsStoredAndFlagged holds, for each oddity: the entry is in the
// book, its flag in the reply and on the evening list, until an acceptance or a
// correction settles it.
func TestWhatIsOddIsStoredAndFlagged(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	for _, o := range oddities {
		t.Run(o.what, func(t *testing.T) {
			s := house.newShed(t, "accepting "+o.what)
			first := o.storedAndFlagged(t, s)
			settle := M{"id": id(), "occurred_at": at(22, "12:00"), "entry_id": first.ID, "flag": o.flag, "reason": "weighed again: it is so"}
			s.book(t, "acceptances", settle)
			line := s.oddity(t, o.flag, first.ID)
			if line == nil || !line.Settled || line.SettledReason != "weighed again: it is so" || line.SettledBy != "Mirren" {
				t.Errorf("accepted, the evening list has %+v", line)
			}

			s = house.newShed(t, "correcting "+o.what)
			first = o.storedAndFlagged(t, s)
			o.correct(t, s, first)
			if line := s.oddity(t, o.flag, first.ID); line != nil {
				t.Errorf("corrected, the evening list still has %+v", line)
			}
		})
	}
}

// storedAndFlagged sends the entry and finds its flag in the reply and on the list.
func (o odd) storedAndFlagged(t *testing.T, s *shed) recorded {
	t.Helper()
	entry := o.entry(t, s)
	before := s.head(t)
	r := s.book(t, o.path, entry)
	if s.head(t).LastEntry != before.LastEntry+1 {
		t.Error("the entry is not in the book")
	}
	i := slices.IndexFunc(r.Flags, func(f flag) bool { return f.Code == o.flag })
	if i < 0 || !strings.Contains(r.Flags[i].Sentence, o.says) {
		t.Fatalf("the reply's flags: %+v; want %s, saying %q", r.Flags, o.flag, o.says)
	}
	line := s.oddity(t, o.flag, r.ID)
	if line == nil || line.Settled || line.Flag.Sentence != r.Flags[i].Sentence {
		t.Errorf("the evening list has %+v", line)
	}
	return r
}

// correct sends the entry as the lists show it, as it should have been.
func (o odd) correct(t *testing.T, s *shed, first recorded) {
	t.Helper()
	var was M
	for _, e := range read[[]M](t, s.outfit, o.path) {
		if e["id"] == first.ID {
			was = e
		}
	}
	for _, added := range []string{"number", "root_id", "kind", "recorded_at", "recorded_by", "digest", "net_kg", "moisture_at_20c"} {
		delete(was, added)
	}
	right := o.right(s)
	for i, v := range right {
		if from, ok := v.(M); ok && from["id"] == "" {
			right[i] = M{"kind": "tank", "id": s.small}
		}
	}
	right = append(right, "id", id(), "replaces", first.ID, "reason", "typed wrongly")
	s.book(t, o.path, with(was, right...))
}

func TestALateEntryEmptiesWhatWasUnexplained(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	// The tank has 730 kg at nine; 800 are drawn.
	drawn := s.book(t, "movements", s.aMovement("occurred_at", at(22, "9:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "tank", "id": s.small}, "mass_kg", 800)).ID
	type totals struct {
		UnexplainedKg float64 `json:"unexplained_kg"`
	}
	if got := read[totals](t, s.outfit, "reports/totals").UnexplainedKg; got != 70 {
		t.Errorf("%g kg are unexplained, want 70", got)
	}
	// The last hour of the run had not been written down.
	s.book(t, "movements", s.aMovement("occurred_at", at(21, "17:00"), "mass_kg", 80))
	if got := read[totals](t, s.outfit, "reports/totals").UnexplainedKg; got != 0 {
		t.Errorf("%g kg are unexplained after the late entry, want none", got)
	}
	if line := s.oddity(t, "drawn_more_than_held", drawn); line != nil {
		t.Errorf("the evening list still has %+v", line)
	}
}

// TestFourDrawsFromAnEmptyTankAreSettledTogether: one question, about 120 kg, and who
// settles it settles all four.
func TestFourDrawsFromAnEmptyTankAreSettledTogether(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	var drawn []string
	for _, clock := range []string{"9:00", "9:10", "9:20", "9:30"} {
		drawn = append(drawn, s.book(t, "movements", s.aMovement("occurred_at", at(22, clock),
			"from", M{"kind": "tank", "id": s.small}, "to", M{"kind": "waste"}, "mass_kg", 30)).ID)
	}
	line := s.oddity(t, "drawn_more_than_held", drawn[0])
	if line == nil || !strings.Contains(line.Flag.Sentence, "was empty by the book, but 120 kg more were drawn from it in 4 entries") {
		t.Fatalf("the evening list has %+v", line)
	}
	for _, id := range drawn[1:] {
		if other := s.oddity(t, "drawn_more_than_held", id); other != nil {
			t.Errorf("and a question of its own: %+v", other)
		}
	}
	s.book(t, "acceptances", M{"id": id(), "occurred_at": at(22, "12:00"), "entry_id": drawn[0], "flag": "drawn_more_than_held", "reason": "a pump ran unseen"})
	if line := s.oddity(t, "drawn_more_than_held", drawn[0]); line == nil || !line.Settled {
		t.Errorf("settled, the evening list has %+v", line)
	}
	got := read[[]struct{ With []string }](t, s.outfit, "acceptances")
	if len(got) != 1 || !slices.Equal(got[0].With, drawn[1:]) {
		t.Errorf("the acceptance settles %+v with it", got)
	}
}

func TestOldRecordsTakenOverAreNotLate(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	if r := s.book(t, "pulls", s.aPull("occurred_at", at(3, "10:00"), "via", "import")); len(r.Flags) > 0 {
		t.Errorf("a pull taken over from older records is flagged: %+v", r.Flags)
	}
}

func TestAFlagIsNotACorrectionsToKeep(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	odd := s.book(t, "readings", s.aReading("moisture_pct", 24)).ID
	r := s.post(t, "withdrawals", M{"id": id(), "occurred_at": at(22, "12:00"), "replaces": odd, "reason": "read on the wrong tank"})
	if r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	if line := s.oddity(t, "moisture_unusual", odd); line != nil {
		t.Errorf("the reading is withdrawn, and the evening list has %+v", line)
	}
}

// TestAWithdrawnCorrectionBringsBackWhatItCorrected: 100 kg were corrected to 300, and the
// correction was mistaken.
func TestAWithdrawnCorrectionBringsBackWhatItCorrected(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	first := s.book(t, "movements", s.aMovement("occurred_at", at(22, "9:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "tank", "id": s.small}, "mass_kg", 100))
	held := func() float64 {
		return read[struct {
			Tanks []struct {
				HeldKg float64 `json:"held_kg"`
			}
		}](t, s.outfit, "reports/shed").Tanks[1].HeldKg
	}
	wrong := s.book(t, "movements", s.aMovement("occurred_at", at(22, "9:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "tank", "id": s.small}, "mass_kg", 300,
		"replaces", first.ID, "reason", "read off the wrong dip"))
	if got := held(); got != 300 {
		t.Fatalf("corrected, the small tank has %g kg", got)
	}
	s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(23, "9:00"), "replaces": wrong.ID, "takes": "correction", "reason": "the first dip was right"})
	if got := held(); got != 100 {
		t.Errorf("the correction withdrawn, the small tank has %g kg", got)
	}
}
