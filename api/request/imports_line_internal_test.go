package request

import "testing"

// Half of the memory is for sheets, as many as there are processors, or two; one always has
// its turn.
func TestAsManySheetsAreOpenAsThereIsMemoryFor(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		memory           int64
		processors, want int
	}{
		{0, 8, 2}, {1, 8, 1}, {512_000_000, 8, 1}, {1_000_000_000, 1, 2}, {1_000_000_000, 8, 2}, {2_000_000_000, 4, 4}, {64_000_000_000, 8, 8},
	} {
		if got := sheetsAtOnce(c.memory, c.processors); got != c.want {
			t.Errorf("%d bytes and %d processors: %d sheets at once", c.memory, c.processors, got)
		}
	}
}
