package standard_test

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/standard"
)

func plan(t testing.TB, id string) standard.SamplingPlan {
	t.Helper()
	for _, p := range standard.SamplingPlans() {
		if p.ID == id {
			return p
		}
	}
	t.Fatalf("no plan %s", id)
	return standard.SamplingPlan{}
}

func TestHowManyContainersToSample(t *testing.T) {
	t.Parallel()
	tests := []struct {
		plan      string
		lot, want int
		source    string
	}{
		{"sfcr-schedule-5", 2, 2, "SOR/2018-108 Schedule 5 Part 1"}, {"sfcr-schedule-5", 10, 10, "same"},
		{"sfcr-schedule-5", 11, 10, "same: 25 % rounded up, at least 10"}, {"sfcr-schedule-5", 41, 11, "same"},
		{"sfcr-schedule-5", 128, 32, "same"}, {"sfcr-schedule-5", 129, 32, "same"}, {"sfcr-schedule-5", 4001, 64, "same"},
		{"sfcr-schedule-5", 8001, 96, "same"}, {"sfcr-schedule-5", 12001, 125, "same"},
		{"root-plus-one", 3, 3, "raw material rule"}, {"root-plus-one", 4, 3, "same"}, {"root-plus-one", 100, 11, "same"},
		{"five-percent", 1, 1, "e-market sheet"}, {"five-percent", 20, 1, "same"}, {"five-percent", 21, 2, "same"},
		{"cxg-33-1999", 25, 1, "CXG 33-1999 (from memory)"}, {"cxg-33-1999", 26, 5, "same"}, {"cxg-33-1999", 101, 10, "same"},
		{"every-drum-to-ten", 10, 10, "default"}, {"every-drum-to-ten", 11, 10, "default"}, {"every-drum-to-ten", 82, 11, "default: root of 82 is over 9"},
		{"every-drum-to-ten", 0, 0, "nothing to sample"},
	}
	for _, tt := range tests {
		if got := plan(t, tt.plan).Containers(tt.lot); got != tt.want {
			t.Errorf("%s, lot of %d: %d, want %d (%s)", tt.plan, tt.lot, got, tt.want, tt.source)
		}
	}
}

func TestABuyersOwnPlan(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(s map[string]any) {
		s["sampling"] = map[string]any{"binding": true, "steps": []any{map[string]any{"from": 1, "to": 4, "all": true}, map[string]any{"from": 5, "fixed": 4, "percent": 50}}}
	}))
	for lot, want := range map[int]int{3: 3, 5: 4, 20: 10} {
		if got := set.SamplingPlan().Containers(lot); got != want {
			t.Errorf("lot of %d: %d, want %d", lot, got, want)
		}
	}
}

func TestADrawIsDecidedByItsSeed(t *testing.T) {
	t.Parallel()
	lot := drums(60)
	draw, err := ruleSet(t, "eu-2001-110").DrawSample(lot, "lot 26-014, 3 August")
	if err != nil {
		t.Fatal(err)
	}
	backwards := slices.Clone(lot)
	slices.Reverse(backwards)
	again, _ := ruleSet(t, "eu-2001-110").DrawSample(backwards, "lot 26-014, 3 August")
	other, _ := ruleSet(t, "eu-2001-110").DrawSample(lot, "another seed")
	if len(draw.Containers) != 10 || !slices.Equal(draw.Containers, again.Containers) || slices.Equal(draw.Containers, other.Containers) {
		t.Errorf("drawn %v, again %v, with another seed %v", draw.Containers, again.Containers, other.Containers)
	}
	// Worked with sha256sum over seed, line feed, container number.
	small, err := plan(t, "all").Draw([]string{"D1", "D2", "D3"}, "e")
	if err != nil || strings.Join(small.Containers, " ") != "D3 D1 D2" {
		t.Errorf("drawn %v (%v)", small.Containers, err)
	}
}

func TestDrawsThatAreRefused(t *testing.T) {
	t.Parallel()
	for field, draw := range map[string]func() error{
		"seed":       func() error { _, err := plan(t, "all").Draw([]string{"D1"}, " "); return err },
		"containers": func() error { _, err := plan(t, "all").Draw([]string{"D1", "D1"}, "s"); return err },
	} {
		if err := draw(); len(standard.FieldErrors(err)) != 1 || standard.FieldErrors(err)[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}

func TestEveryContainerIsDrawnEquallyOften(t *testing.T) {
	t.Parallel()
	drawn := map[string]int{}
	const draws = 2000
	for i := range draws {
		d, err := plan(t, "root-plus-one").Draw(drums(16), hundredthsText(i))
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range d.Containers {
			drawn[id]++
		}
	}
	// 5 of 16 each time: 625 expected with a standard deviation of about 21; the seeds are fixed.
	for id, n := range drawn {
		if n < 625-6*21 || n > 625+6*21 {
			t.Errorf("%s was drawn %d times of %d, about 625 expected", id, n, draws)
		}
	}
}

func TestASampleNeverExceedsTheLot(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		p := rapid.SampledFrom(standard.SamplingPlans()).Draw(rt, "plan")
		size := rapid.IntRange(1, 20000).Draw(rt, "size")
		if n := p.Containers(size); n < 1 || n > size {
			rt.Fatalf("%s asks for %d of %d", p.ID, n, size)
		}
	})
}
