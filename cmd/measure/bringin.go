package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/api/bringin"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/local"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// imports brings so many readings in from CSV, with every check, and sends the very same rows
// to a table with the same columns and keys by a bare COPY, round after round.
func imports(ctx context.Context, server *local.Server, readings, rounds int) error {
	file, err := readingsFile(readings)
	if err != nil {
		return err
	}
	var ours, floors, ratios []float64
	for range rounds {
		rate, err := importRate(ctx, server, file, readings)
		if err != nil {
			return err
		}
		floor, err := copyRate(ctx, server)
		if err != nil {
			return err
		}
		ours, floors, ratios = append(ours, rate), append(floors, floor), append(ratios, rate/floor)
	}
	speed{
		what:     fmt.Sprintf("import of %s readings from CSV with every check, beside a bare COPY of the same rows into the same columns and keys: rows a second", thousands(float64(readings))),
		measured: thousands(median(ours)), floor: thousands(median(floors)), ratio: spread(ratios),
		command: fmt.Sprintf("go run ./cmd/measure -import %d -rounds %d", readings, rounds),
	}.print()
	return nil
}

// measuredZone is where the readings were taken.
const measuredZone = "America/Winnipeg"

// readingsFile is a table of readings, one a minute, as the clocks there showed it.
func readingsFile(n int) (*bringin.File, error) {
	loc, err := time.LoadLocation(measuredZone)
	if err != nil {
		return nil, err
	}
	var text bytes.Buffer
	text.WriteString("Date,Tank,Point,Refractometer,Moisture %,Sample temp C\n")
	at := time.Date(2024, time.January, 1, 0, 0, 0, 0, loc)
	for i := range n {
		fmt.Fprintf(&text, "%s,large tank,gate,refractometer,%.1f,%d\n", at.Add(time.Duration(i)*time.Minute).Format("2006-01-02 15:04"), 16+float64(i%30)/10, 18+i%9)
	}
	return bringin.Read(context.Background(), text.Bytes(), "readings.csv")
}

// importRate brings the file into the book of a new outfit.
func importRate(ctx context.Context, server *local.Server, file *bringin.File, readings int) (float64, error) {
	operator, err := db.Open(ctx, server.URLFor(local.Superuser, "pullbook"), db.OperatorRole, 2)
	if err != nil {
		return 0, err
	}
	defer operator.Close()
	service, err := db.Open(ctx, server.URLFor(db.ServiceRole, "pullbook"), db.ServiceRole, poolSize)
	if err != nil {
		return 0, err
	}
	defer service.Close()
	books := books.Open(service, 4)
	defer books.Close()
	outfit := uuid.New()
	if err := operator.CreateOutfit(ctx, db.Outfit{ID: outfit, Name: outfit.String(), TimeZone: measuredZone, Units: "metric"}); err != nil {
		return 0, err
	}
	head, err := service.Head(ctx, outfit)
	if err != nil {
		return 0, err
	}
	p := db.Principal{Outfit: outfit, Name: "Mirren", Role: db.Manager, Access: head.Access}
	for _, body := range []ledger.Body{
		&ledger.Season{Name: "all", First: "2023-01-01", Last: "2027-12-31"},
		&ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 4_500_000},
		&ledger.Instrument{Name: "refractometer", Scale: "moisture", Compensates: true, StdUncertainty: new(0.2)},
	} {
		if _, err := books.Append(ctx, p, &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: time.Date(2023, 6, 1, 0, 0, 0, 0, time.UTC), Body: body}); err != nil {
			return 0, err
		}
	}
	began := time.Now()
	result, made, err := bringin.Store(ctx, books, p, uuid.New(), bringin.Order{File: file, Kind: importing.Readings})
	if err != nil {
		return 0, err
	}
	if made == nil || result.New() != int64(readings) {
		return 0, fmt.Errorf("the import stored %d readings and has %d problems", result.New(), result.AllProblems)
	}
	return float64(readings) / time.Since(began).Seconds(), nil
}

// copyRate copies the entries of the last import out, and into the bare floor's table, which
// has the same columns and keys and nothing else.
func copyRate(ctx context.Context, server *local.Server) (float64, error) {
	conn, err := pgx.Connect(ctx, server.URLFor(local.Superuser, "pullbook"))
	if err != nil {
		return 0, err
	}
	defer conn.Close(ctx)
	rows, err := os.CreateTemp("", "pullbook-rows")
	if err != nil {
		return 0, err
	}
	defer os.Remove(rows.Name())
	defer rows.Close()
	if _, err := conn.PgConn().CopyTo(ctx, rows, "COPY (SELECT * FROM entry WHERE outfit_id = (SELECT outfit_id FROM outfit ORDER BY created_at DESC LIMIT 1)) TO STDOUT"); err != nil {
		return 0, err
	}
	if _, err := rows.Seek(0, 0); err != nil {
		return 0, err
	}
	began := time.Now()
	done, err := conn.PgConn().CopyFrom(ctx, rows, "COPY "+bareFloor+" FROM STDIN")
	return float64(done.RowsAffected()) / time.Since(began).Seconds(), err
}
