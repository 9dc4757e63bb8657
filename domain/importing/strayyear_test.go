package importing_test

import (
	"fmt"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// A year that was typed wrong puts a pull into another season. It shows by the rows around it.
func TestADayOfAnotherYearThanThoseAroundItIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ says, days, want string }{
		{"among them", "2025-07-14 2025-07-15 2024-07-16 2025-07-17 2025-07-18", "[4A doubtful_row]"},
		{"the last", "2025-07-13 2025-07-14 2025-07-15 2025-07-16 2026-07-17", "[6A doubtful_row]"},
		{"eighty years ago", "1926-07-14 2025-07-15 2025-07-16", "[2A doubtful_row]"},
		{"over the new year", "2024-12-29 2024-12-30 2025-01-02 2025-01-03", "[]"},
		{"one day a year", "2021-07-14 2022-07-14 2023-07-14 2024-07-14", "[]"},
		{"yard by yard", "2023-07-14 2024-07-14 2023-07-15 2024-07-15 2023-07-16 2024-07-16", "[]"},
		{"the first of the next season", "2024-08-14 2024-08-15 2024-08-16 2025-06-02 2025-06-09", "[]"},
	} {
		h := newHouse()
		text := "Date,Yard,Supers,Kind\n"
		for i, day := range strings.Fields(c.days) {
			text += fmt.Sprintf("%s,Mill,%d,deep\n", day, 3+i)
		}
		m := h.guess(t, importing.Pulls, text)
		m.MakeSeasons = true
		if got := fmt.Sprint(problems(h.check(t, text, m))); got != c.want {
			t.Errorf("%s: %s is asked, and %s should be", c.says, got, c.want)
		}
		m.Rows = map[int]importing.Alike{2: importing.Another, 4: importing.Another, 6: importing.Another}
		if got := problems(h.check(t, text, m)); len(got) > 0 {
			t.Errorf("%s: %s is asked though it was answered", c.says, got)
		}
	}
}
