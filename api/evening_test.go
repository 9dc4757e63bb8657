package api_test

import (
	"strings"
	"testing"
)

// finding is a line of the evening list with what may lie behind it.
type finding struct {
	Flag struct {
		Code, Sentence string
		EntryID        string `json:"entry_id"`
		Probability    float64
		Chance         string
		Entries        []string
		Explanations   []struct {
			Code, Sentence string
			EntryID        string `json:"entry_id"`
			Value          float64
		}
	}
}

// TestTheEveningListSaysHowUnlikelyAFindingIsAndWhatMayLieBehindIt: 400 kg of a
// run were booked into the small tank, and the large one holds 400 kg more than
// the book has.
func TestTheEveningListSaysHowUnlikelyAFindingIsAndWhatMayLieBehindIt(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "a hose on the wrong tank")
	wrong := s.book(t, "movements", s.aMovement("occurred_at", at(21, "16:00"), "mass_kg", 400, "to", M{"kind": "tank", "id": s.small})).ID
	dip := s.book(t, "stocktakes", M{"id": id(), "occurred_at": at(22, "9:00"), "tank_id": s.large, "method": "dip", "mass_kg": 1130, "uncertainty_kg": 5}).ID
	for _, f := range read[[]finding](t, s.outfit, "reports/findings") {
		if f.Flag.Code != "stocktake_far_off" || f.Flag.EntryID != dip {
			continue
		}
		if f.Flag.Probability <= 0 || f.Flag.Probability > 1e-4 || f.Flag.Chance != "hardly chance" {
			t.Errorf("by chance it is so in %g: %q", f.Flag.Probability, f.Flag.Chance)
		}
		if len(f.Flag.Entries) != 1 || f.Flag.Entries[0] != wrong {
			t.Errorf("it concerns %v, and not the movement %s", f.Flag.Entries, wrong)
		}
		first := f.Flag.Explanations[0]
		if first.Code != "hose_on_this_tank" || first.EntryID != wrong || first.Value != 400 || !strings.Contains(first.Sentence, "did that honey go into large tank?") {
			t.Errorf("the likeliest explanation is %+v", first)
		}
		s.book(t, "acceptances", M{"id": id(), "occurred_at": at(22, "12:00"), "entry_id": dip, "flag": "stocktake_far_off", "reason": "dipped again"})
		if line := s.oddity(t, "stocktake_far_off", dip); line == nil || !line.Settled || line.SettledReason != "dipped again" {
			t.Errorf("accepted, the list has %+v", line)
		}
		return
	}
	t.Error("the stocktake is not on the evening list")
}
