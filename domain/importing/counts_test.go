package importing_test

import (
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// One super is not 1 supers, nor one answer 1 answers.
func TestOneIsSaidInTheSingular(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const pull = "Date,Yard,Supers,Kind\n2026-07-06,Mill,1,deep\n"
	if got := rows(h.check(t, pull, h.guess(t, importing.Pulls, pull))); !strings.Contains(got[0], "1 super of the kind deep") {
		t.Errorf("%s", got)
	}
	h.bring(t, importing.Pulls, pull)
	const weighed = "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,1,deep,30\n"
	if got := said(h.check(t, weighed, h.guess(t, importing.Pulls, weighed))); !strings.Contains(got[0], ": 1 super, 0 kg.") {
		t.Errorf("%s", got)
	}
	first := h.guess(t, importing.TemperatureLogs, log)
	first.Fixed = map[importing.Field]string{importing.FieldTank: "sump"}
	h.brought(t, "sump.csv", "aa", first)
	m, last := h.settled(t, importing.TemperatureLogs, log, "bb", nil)
	r, err := importing.Take(h.book(t), table(t, log), m, importing.Options{Outfit: h.id, By: "Ada", Now: now, Last: last}, nil)
	if err != nil || !strings.Contains(said(r)[0], "came in with 1 answer of its own") {
		t.Errorf("%v %v", said(r), err)
	}
}

// In which unit a column is, is one question, however many figures it has.
func TestTheUnitOfAColumnIsAskedForOnce(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const text = "Date,Yard,Supers,Kind,Weight\n2026-07-06,Mill,1,deep,30\n2026-07-07,Mill,1,deep,31\n2026-07-08,Mill,1,deep,32 kg\n"
	r := h.check(t, text, h.guess(t, importing.Pulls, text))
	if len(r.Problems) != 1 || r.Problems[0].More != 1 || len(r.Problems[0].DidYouMean) != 2 {
		t.Errorf("%v", said(r))
	}
}
