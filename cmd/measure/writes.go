package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/local"
)

// contender is one way of storing an entry.
type contender struct {
	name string
	// floors are the contenders that it is compared with; none for a floor.
	floors []string
	// load measures it with so many connections.
	load func(ctx context.Context, connections int, lasting time.Duration) (loaded, error)
}

// writes measures how many entries a second the book stores, beside its floors.
func writes(ctx context.Context, server *local.Server, out io.Writer, each time.Duration, rounds int) error {
	contenders, shut, err := line(ctx, server)
	if err != nil {
		return err
	}
	defer shut()
	return compare(ctx, server, out, contenders, each, rounds)
}

// loads are over how many connections entries are sent.
var loads = []int{1, 8, 32}

// outfits is over how many outfits entries are spread, where they are.
const outfits = 32

// line sets up the contenders: the floors first.
func line(ctx context.Context, server *local.Server) (contenders []contender, shut func(), err error) {
	superuser := server.URLFor(local.Superuser, "pullbook")
	floorURL, stopFloor, err := serveFloor(ctx, superuser)
	if err != nil {
		return nil, nil, err
	}
	book, err := serveBook(ctx, server.URLFor(db.ServiceRole, "pullbook"), time.Now)
	if err != nil {
		return nil, nil, err
	}
	houses, err := setUpHouses(ctx, superuser, book.url)
	if err != nil {
		return nil, nil, err
	}
	// The floors store the very bytes that the book does.
	if _, err := load(ctx, 1, 0, func(int, int) sending { return houses[0].reading(book.url) }); err != nil {
		return nil, nil, err
	}
	content, err := storedContent(ctx, superuser)
	if err != nil {
		return nil, nil, err
	}
	ids := make([]uuid.UUID, outfits)
	for i := range ids {
		ids[i] = uuid.New()
	}
	sends := func(name string, floors []string, next next) contender {
		return contender{name, floors, func(ctx context.Context, n int, lasting time.Duration) (loaded, error) {
			return load(ctx, n, lasting, next)
		}}
	}
	contenders = []contender{{"pgbench, one INSERT", nil, func(ctx context.Context, n int, lasting time.Duration) (loaded, error) {
		rate, err := pgbench(ctx, server, ids[0], content, n, lasting)
		return loaded{perSecond: rate, entries: int(rate * max(1, lasting.Seconds()))}, err
	}}}
	for _, over := range []struct {
		name string
		of   func(connection, nth int) int
	}{
		{", one outfit", func(int, int) int { return 0 }},
		{fmt.Sprintf(", %d outfits", outfits), func(connection, nth int) int { return (connection + nth) % outfits }},
	} {
		bare, checked := "bare handler"+over.name, "bare handler with the book's checks"+over.name
		contenders = append(contenders,
			sends(bare, nil, func(c, n int) sending { return floorRequest(floorURL, bareFloor, ids[over.of(c, n)], content) }),
			sends(checked, nil, func(c, n int) sending { return floorRequest(floorURL, checkedFloor, ids[over.of(c, n)], content) }),
			sends("pullbook"+over.name, []string{bare, checked}, func(c, n int) sending { return houses[over.of(c, n)].reading(book.url) }))
	}
	return contenders, func() { book.stop(); stopFloor() }, nil
}

// setUpHouses makes as many outfits as entries are spread over.
func setUpHouses(ctx context.Context, superuser, url string) ([]house, error) {
	operator, err := db.Open(ctx, superuser, db.OperatorRole, 2)
	if err != nil {
		return nil, err
	}
	defer operator.Close()
	return setUp(ctx, operator, url, outfits)
}

// compare runs the contenders in turn, round after round and every other round backwards,
// so that what else the machine does falls on all of them. It writes tables in Markdown:
// medians, and ratios round by round.
func compare(ctx context.Context, server *local.Server, out io.Writer, contenders []contender, each time.Duration, rounds int) error {
	// By contender, by how many connections, by round.
	got := map[string]map[int][]loaded{}
	for _, c := range contenders {
		got[c.name] = map[int][]loaded{}
	}
	for _, n := range loads {
		for _, c := range contenders {
			if _, err := c.load(ctx, n, each/10); err != nil { // whoever comes first would connect within the measurement
				return fmt.Errorf("%s, %d connections: %w", c.name, n, err)
			}
		}
		turn := slices.Clone(contenders)
		for range rounds {
			for _, c := range turn {
				l, err := c.measured(ctx, server, n, each)
				if err != nil {
					return fmt.Errorf("%s, %d connections: %w", c.name, n, err)
				}
				got[c.name][n] = append(got[c.name][n], l)
			}
			slices.Reverse(turn)
		}
	}
	report(out, contenders, got)
	return nil
}

// measured is a load with the processor time that it took.
func (c contender) measured(ctx context.Context, server *local.Server, connections int, lasting time.Duration) (loaded, error) {
	before, err := processorTimeNow(server.PID())
	if err != nil {
		return loaded{}, err
	}
	l, err := c.load(ctx, connections, lasting)
	if err != nil {
		return l, err
	}
	after, err := processorTimeNow(server.PID())
	l.used = after.less(before)
	return l, err
}

// report writes what was measured of the contenders, by how many connections and round.
func report(out io.Writer, contenders []contender, got map[string]map[int][]loaded) {
	head(out, "entries stored a second")
	for _, c := range contenders {
		row(out, c.name, func(n int) string { return thousands(median(each(got[c.name][n], loaded.rate))) })
	}
	compared(out, contenders, got, loaded.rate)
	fmt.Fprintln(out)
	head(out, "µs of processor time an entry: client and handler, PostgreSQL")
	for _, c := range contenders {
		row(out, c.name, func(n int) string {
			return fmt.Sprintf("%.0f, %.0f", median(each(got[c.name][n], loaded.ownUS)), median(each(got[c.name][n], loaded.postgresUS)))
		})
	}
	fmt.Fprintln(out)
	head(out, "entries stored in a second of processor time")
	compared(out, contenders, got, func(l loaded) float64 { return 1e6 / (l.ownUS() + l.postgresUS()) })
}

// compared writes how many times as much of something a contender has as its floors, round by
// round.
func compared(out io.Writer, contenders []contender, got map[string]map[int][]loaded, of func(loaded) float64) {
	for _, c := range contenders {
		for _, floor := range c.floors {
			row(out, c.name+", over "+floor, func(n int) string {
				ours, theirs := each(got[c.name][n], of), each(got[floor][n], of)
				for i := range ours {
					ours[i] /= theirs[i]
				}
				return spread(ours)
			})
		}
	}
}

func head(out io.Writer, what string) {
	fmt.Fprintf(out, "| %s |", what)
	for i, n := range loads {
		fmt.Fprintf(out, " %d%s |", n, []string{" connection", "", ""}[min(i, 2)])
	}
	fmt.Fprintf(out, "\n| ---%s |\n", strings.Repeat(" | ---", len(loads)))
}

func row(out io.Writer, name string, cell func(connections int) string) {
	fmt.Fprintf(out, "| %s |", name)
	for _, n := range loads {
		fmt.Fprintf(out, " %s |", cell(n))
	}
	fmt.Fprintln(out)
}

func (l loaded) rate() float64 { return l.perSecond }

func (l loaded) ownUS() float64 { return float64(l.used.own.Microseconds()) / float64(l.entries) }
func (l loaded) postgresUS() float64 {
	return float64(l.used.postgres.Microseconds()) / float64(l.entries)
}

func each[T, U any](of []T, f func(T) U) []U {
	out := make([]U, len(of))
	for i, one := range of {
		out[i] = f(one)
	}
	return out
}

// spread is the median of some ratios, with the lowest and the highest.
func spread(of []float64) string {
	return fmt.Sprintf("%.2f (%.2f to %.2f)", median(of), slices.Min(of), slices.Max(of))
}

// thousands is a whole number with a comma before each three digits.
func thousands(f float64) string {
	s := fmt.Sprintf("%.0f", f)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

func median[T cmp.Ordered](of []T) T {
	sorted := slices.Sorted(slices.Values(of))
	return sorted[len(sorted)/2]
}
