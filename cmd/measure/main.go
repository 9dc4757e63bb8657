// Command measure says how fast the book takes entries on this machine, side by
// side with a floor in the same run: a bare net/http and pgx handler that
// inserts the same row in a transaction, and pgbench running that insert.
//
// It starts a private PostgreSQL of its own with fsync on, in a folder that it
// removes again, and sends only to this machine.
package main

import (
	"cmp"
	"context"
	"flag"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"runtime/pprof"
	"slices"
	"text/tabwriter"
	"time"

	"github.com/jackc/pgx/v5"

	"pullbook/api"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/local"
	"pullbook/migrations"
)

func main() {
	seconds := flag.Duration("for", 3*time.Second, "how long each measurement lasts")
	rounds := flag.Int("rounds", 5, "measurements of each kind; the median is reported")
	readings := flag.Int("import", 0, "measure bringing in so many readings from CSV, instead")
	profile := flag.String("cpuprofile", "", "write a CPU profile of the whole run to this file")
	leaving := flag.Int("feeds", 0, "instead of storing, measure feeds of so many readings, polls and a season's workbook")
	largeBook := flag.Int("large", 0, "instead, measure all that leaves a book of so many entries, with the memory that it takes")
	flag.Parse()
	if *profile != "" {
		file, err := os.Create(*profile)
		if err != nil {
			fmt.Fprintln(os.Stderr, "measure:", err)
			os.Exit(1)
		}
		defer file.Close()
		if err := pprof.StartCPUProfile(file); err != nil {
			fmt.Fprintln(os.Stderr, "measure:", err)
			os.Exit(1)
		}
		defer pprof.StopCPUProfile()
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	err := func() error {
		if *readings > 0 {
			return measureImport(ctx, *readings, *rounds)
		}
		if *largeBook > 0 {
			return measureLarge(ctx, *largeBook)
		}
		return run(ctx, *seconds, *rounds, *leaving)
	}()
	if err != nil {
		fmt.Fprintln(os.Stderr, "measure:", err)
		os.Exit(1)
	}
}

// contender is one way of storing an entry.
type contender struct {
	name string
	// perSecond measures it with so many connections.
	perSecond func(ctx context.Context, connections int) (float64, error)
}

func run(ctx context.Context, each time.Duration, rounds, leaving int) error {
	quiet := slog.New(slog.DiscardHandler)
	return withServer(ctx, quiet, func(server *local.Server) error {
		if leaving > 0 {
			return feeds(ctx, server, quiet, leaving, rounds)
		}
		contenders, shut, err := line(ctx, server, quiet, each)
		if err != nil {
			return err
		}
		defer shut()
		return compare(ctx, contenders, rounds)
	})
}

// withServer runs f beside a private PostgreSQL with an empty database of books.
func withServer(ctx context.Context, quiet *slog.Logger, f func(*local.Server) error) error {
	folder, err := os.MkdirTemp("", "pullbook-measure")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	if err := os.Chmod(folder, 0o755); err != nil { // PostgreSQL's account must pass
		return err
	}
	server, err := local.Start(ctx, local.Options{DataDir: folder + "/data", Log: quiet})
	if err != nil {
		return err
	}
	defer server.Stop(context.Background())
	if err := prepare(ctx, server); err != nil {
		return err
	}
	return f(server)
}

func prepare(ctx context.Context, server *local.Server) error {
	conn, err := pgx.Connect(ctx, server.URL())
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	if _, err := conn.Exec(ctx, "CREATE DATABASE pullbook"); err != nil {
		return err
	}
	if err := migrations.Up(server.URLFor(local.Superuser, "pullbook")); err != nil {
		return err
	}
	own, err := pgx.Connect(ctx, server.URLFor(local.Superuser, "pullbook"))
	if err != nil {
		return err
	}
	defer own.Close(ctx)
	_, err = own.Exec(ctx, sqlFloorTable)
	return err
}

// line sets up the contenders: the floor first.
func line(ctx context.Context, server *local.Server, quiet *slog.Logger, each time.Duration) ([]contender, func(), error) {
	floorURL, stopFloor, err := serveFloor(ctx, server.URLFor(local.Superuser, "pullbook"))
	if err != nil {
		return nil, nil, err
	}
	operator, err := db.Open(ctx, server.URLFor(local.Superuser, "pullbook"), db.OperatorRole, 2)
	if err != nil {
		return nil, nil, err
	}
	defer operator.Close()
	service, err := db.Open(ctx, server.URLFor(db.ServiceRole, "pullbook"), db.ServiceRole, poolSize)
	if err != nil {
		return nil, nil, err
	}
	books := books.Open(service, 64)
	config := request.DefaultConfig()
	config.Log = quiet
	handler, err := api.New(service, books, config)
	if err != nil {
		return nil, nil, err
	}
	bookURL, stopBook, err := serve(handler)
	if err != nil {
		return nil, nil, err
	}
	houses, err := setUp(ctx, operator, bookURL, 32)
	if err != nil {
		return nil, nil, err
	}
	shut := func() {
		stopBook()
		stopFloor()
		books.Close()
		service.Close()
	}
	return []contender{
		{"pgbench, the bare insert", func(ctx context.Context, n int) (float64, error) { return pgbench(ctx, server, n, each) }},
		{floorName, func(ctx context.Context, n int) (float64, error) {
			return load(ctx, n, each, func(int) sending { return floorRequest(floorURL) })
		}},
		{"pullbook, one outfit", func(ctx context.Context, n int) (float64, error) {
			return load(ctx, n, each, func(int) sending { return houses[0].reading(bookURL) })
		}},
		{"pullbook, 32 outfits", func(ctx context.Context, n int) (float64, error) {
			return load(ctx, n, each, func(i int) sending { return houses[i%len(houses)].reading(bookURL) })
		}},
	}, shut, nil
}

const (
	floorName = "net/http + pgx, the bare insert"
	poolSize  = 16
)

// serve answers on a free port of this machine.
func serve(h http.Handler) (url string, stop func(), err error) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", nil, err
	}
	s := &http.Server{Handler: h}
	go s.Serve(listener)
	return "http://" + listener.Addr().String(), func() { s.Close() }, nil
}

// compare runs the contenders in turn, round after round, so that what else the
// machine does falls on all of them, and reports the medians.
func compare(ctx context.Context, contenders []contender, rounds int) error {
	out := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(out, "entries a second\t1 connection\t8\t32")
	connections := []int{1, 8, 32}
	medians := map[string][]float64{}
	for _, n := range connections {
		got := map[string][]float64{}
		for range rounds {
			for _, c := range contenders {
				rate, err := c.perSecond(ctx, n)
				if err != nil {
					return fmt.Errorf("%s, %d connections: %w", c.name, n, err)
				}
				got[c.name] = append(got[c.name], rate)
			}
		}
		for name, rates := range got {
			medians[name] = append(medians[name], median(rates))
		}
	}
	for _, c := range contenders {
		m := medians[c.name]
		fmt.Fprintf(out, "%s\t%.0f\t%.0f\t%.0f\n", c.name, m[0], m[1], m[2])
	}
	floor := medians[floorName]
	for _, c := range contenders[2:] {
		m := medians[c.name]
		fmt.Fprintf(out, "%s over the bare handler\t%.2f\t%.2f\t%.2f\n", c.name, m[0]/floor[0], m[1]/floor[1], m[2]/floor[2])
	}
	return out.Flush()
}

func median[T cmp.Ordered](of []T) T {
	slices.Sort(of)
	return of[len(of)/2]
}
