package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"
)

type severalAnswers struct {
	Answers []struct {
		Status   int
		Recorded *recorded
		Problem  *problem
	}
}

func (o *outfit) sendSeveral(t *testing.T, token string, entries ...M) reply {
	t.Helper()
	raw, err := json.Marshal(M{"entries": entries})
	if err != nil {
		t.Fatal(err)
	}
	return o.send(t, http.MethodPost, "/v1/entries", token, raw)
}

func (o *outfit) several(t *testing.T, token string, entries ...M) severalAnswers {
	t.Helper()
	r := o.sendSeveral(t, token, entries...)
	if r.status != http.StatusOK {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	return as[severalAnswers](t, r)
}

func oneOf(kind string, body M) M {
	entry := M{"id": uuid.NewString(), "occurred_at": "2026-08-21T10:00:00-05:00"}
	for k, v := range body {
		entry[k] = v
	}
	return M{"kind": kind, "entry": entry}
}

func idOf(one M) string { return one["entry"].(M)["id"].(string) }

// A day without network comes in one request: each entry is in the book or refused by itself.
func TestEntriesSentTogetherAreAnsweredOneByOne(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	before := s.aReading("moisture_pct", 17.4)
	yard, lot := oneOf("yard", M{"name": "Nettle Bank"}), oneOf("lot", M{"code": ""})
	had := len(read[[]M](t, s.outfit, "yards"))
	day := []M{
		yard,
		oneOf("yard", M{"name": "nettle bank"}),
		oneOf("pull", M{"yard_id": idOf(yard), "supers": []M{{"super_kind_id": s.deep, "supers": 20}}}),
		lot,
		oneOf("hold", M{}),
		oneOf("lot_status", M{"lot_id": strings.ToUpper(idOf(lot)), "status": "held", "why": "recall"}),
		oneOf("reading", before),
	}
	got := s.several(t, s.manager, day...)
	want := []int{201, 409, 201, 422, 422, 424, 201}
	for i, a := range got.Answers {
		if a.Status != want[i] || (a.Recorded == nil) == (a.Problem == nil) || a.Problem != nil && a.Problem.Status != a.Status {
			t.Errorf("entry %d is answered with %+v", i, a)
		}
	}
	if p := got.Answers[4].Problem; len(p.Errors) != 1 || p.Errors[0].Pointer != "/kind" || !strings.Contains(p.Errors[0].Detail, "lot_status") {
		t.Errorf("an unknown sort of entry is refused with %+v", p)
	}
	s.loseMemory(t)
	again := s.several(t, s.manager, day...)
	for i, a := range again.Answers {
		if now := map[int]int{201: 200}[want[i]]; now != 0 && (a.Status != now || a.Recorded == nil || a.Recorded.Number != got.Answers[i].Recorded.Number) {
			t.Errorf("entry %d, sent again, is answered with %+v", i, a)
		}
	}
	if now := len(read[[]M](t, s.outfit, "yards")); now != had+1 {
		t.Errorf("there are %d yards, and were %d", now, had)
	}
}

func TestARoleCountsForEachEntrySentTogether(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	got := s.several(t, s.crew, oneOf("reading", s.aReading("moisture_pct", 17.4)), oneOf("yard", M{"name": "Nettle Bank"}))
	if a := got.Answers; a[0].Status != 201 || a[1].Status != 403 {
		t.Errorf("%+v", a)
	}
	if r := s.sendSeveral(t, s.reader, oneOf("yard", M{"name": "Nettle Bank"})); r.status != 403 {
		t.Errorf("who only reads is answered with %d", r.status)
	}
}

func TestSoManyEntriesAreSentTogetherAtMost(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for _, n := range []int{0, 501} {
		var many []M
		for i := range n {
			many = append(many, oneOf("yard", M{"name": fmt.Sprint("yard ", i)}))
		}
		if r := s.sendSeveral(t, s.manager, many...); r.status != 422 {
			t.Errorf("%d entries are answered with %d: %.300s", n, r.status, r.raw)
		}
	}
}
