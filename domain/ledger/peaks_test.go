package ledger

import (
	"cmp"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The largest of any stretch are those that sorting it would bring to the front.
func TestPeaksAreTheLargestOfAnyStretch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		of := rapid.SliceOfN(rapid.IntRange(1, 5), 0, 40).Draw(t, "numbers")
		from := rapid.IntRange(0, len(of)).Draw(t, "from")
		to := rapid.IntRange(from, len(of)).Draw(t, "to")
		most := rapid.IntRange(0, 5).Draw(t, "most")
		var want []int
		for i := from; i < to; i++ {
			want = append(want, i)
		}
		slices.SortStableFunc(want, func(a, b int) int { return cmp.Compare(of[b], of[a]) })
		want = want[:min(most, len(want))]
		if got := newPeaks(of).largest(from, to, most); !slices.Equal(got, want) {
			t.Fatalf("largest %d of %v from %d to %d: places %v, want %v", most, of, from, to, got, want)
		}
	})
}
