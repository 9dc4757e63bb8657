// Command measure says how fast the book takes entries on this machine, side by
// side with floors in the same run: a bare net/http and pgx handler that
// inserts the same row by one statement in one trip, and pgbench running that statement.
//
// It starts a private PostgreSQL of its own with fsync on, in a folder that it
// removes again, and sends only to this machine.
package main

import (
	"context"
	"flag"
	"fmt"
	"log/slog"
	"os"
	"os/signal"
	"runtime/pprof"
	"time"

	"github.com/jackc/pgx/v5"

	"pullbook/db/local"
	"pullbook/migrations"
)

func main() {
	seconds := flag.Duration("for", 3*time.Second, "how long each measurement lasts")
	rounds := flag.Int("rounds", 5, "measurements of each kind; the median is reported")
	all := flag.Bool("table", false, "instead, measure all that the table of speeds tells and print it in Markdown")
	lateIn := flag.Int("late", 0, "instead, measure entries recorded late in a book of so many")
	profile := flag.String("profile", "", "instead, write CPU profiles of the service under load into this folder, and say by parts where the time goes")
	readings := flag.Int("import", 0, "instead, measure bringing in so many readings from CSV")
	leaving := flag.Int("feeds", 0, "instead, measure feeds of so many readings, polls and a season's workbook")
	largeBook := flag.Int("large", 0, "instead, measure all that leaves a book of so many entries, with the memory that it takes")
	whole := flag.String("cpuprofile", "", "write a CPU profile of the whole run to this file")
	flag.Parse()
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	err := profiled(*whole, func() error {
		if *all {
			return speeds(ctx, *seconds, *rounds)
		}
		return withServer(ctx, func(server *local.Server) error {
			switch {
			case *lateIn > 0:
				return late(ctx, server, os.Stdout, *lateIn, *seconds)
			case *profile != "":
				return profiles(ctx, server, *profile, *seconds)
			case *readings > 0:
				speedHead()
				return imports(ctx, server, *readings, *rounds)
			case *leaving > 0:
				speedHead()
				return feeds(ctx, server, *leaving, *rounds)
			case *largeBook > 0:
				return large(ctx, server, *largeBook)
			}
			return writes(ctx, server, os.Stdout, *seconds, *rounds)
		})
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, "measure:", err)
		os.Exit(1)
	}
}

// profiled runs f with a CPU profile of this process; with none where path is empty.
func profiled(path string, f func() error) error {
	if path == "" {
		return f()
	}
	file, err := os.Create(path)
	if err != nil {
		return err
	}
	defer file.Close()
	if err := pprof.StartCPUProfile(file); err != nil {
		return err
	}
	defer pprof.StopCPUProfile()
	return f()
}

// withServer runs f beside a private PostgreSQL with an empty database of books.
func withServer(ctx context.Context, f func(*local.Server) error) error {
	folder, err := os.MkdirTemp("", "pullbook-measure")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	if err := os.Chmod(folder, 0o755); err != nil { // PostgreSQL's account must pass
		return err
	}
	server, err := local.Start(ctx, local.Options{DataDir: folder + "/data", Log: slog.New(slog.DiscardHandler)})
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
	superuser := server.URLFor(local.Superuser, "pullbook")
	if err := migrations.Up(superuser); err != nil {
		return err
	}
	return makeFloors(ctx, superuser)
}
