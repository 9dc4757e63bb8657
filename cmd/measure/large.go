package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/local"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/migrations"
)

// large measures what leaves a book of so many entries, one thing after the other:
// how long it takes, how long it is, what memory it takes the real program, and how long
// somebody who records beside it waits.
func large(ctx context.Context, server *local.Server, entries int) error {
	folder, err := os.MkdirTemp("", "pullbook-large")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	book, err := fillLarge(ctx, server, entries)
	if err != nil {
		return err
	}
	p, err := buildProgram(ctx, folder, server.URLFor(local.Superuser, "pullbook"))
	if err != nil {
		return err
	}
	fmt.Printf("A book of %d entries; %s.\n\n| what | seconds | MB | held beside the book at the most, MB | at rest, peak resident, MB | longest wait to record, s |\n| --- | --- | --- | --- | --- | --- |\n", book.last, littleGarbage)
	if err := answers(ctx, p, book); err != nil {
		return err
	}
	return commands(ctx, server, p, folder)
}

// fillLarge fills the book, and lets go of what it took to fill it.
func fillLarge(ctx context.Context, server *local.Server, entries int) (stocked, error) {
	defer runtime.GC()
	superuser := server.URLFor(local.Superuser, "pullbook")
	operator, err := db.Open(ctx, superuser, db.OperatorRole, 2)
	if err != nil {
		return stocked{}, err
	}
	defer operator.Close()
	conn, err := pgx.Connect(ctx, superuser)
	if err != nil {
		return stocked{}, err
	}
	defer conn.Close(ctx)
	return stock(ctx, conn, operator, "Large", ledgertest.Large(entries, 1))
}

// commands measures the operator's commands, each a process of its own.
func commands(ctx context.Context, server *local.Server, p program, folder string) error {
	archive, backup := filepath.Join(folder, "book.zip"), filepath.Join(folder, "book.backup")
	moved, restored := p, p
	for name, one := range map[string]*program{"moved": &moved, "restored": &restored} {
		if err := emptyDatabase(ctx, server, name); err != nil {
			return err
		}
		one.database = server.URLFor(local.Superuser, name)
	}
	if err := migrations.Up(moved.database); err != nil {
		return err
	}
	for _, step := range []struct {
		what string
		on   program
		into string // what the command writes to its standard output goes there
		long string // the file that says how much it was about
		args []string
	}{
		{"pullbook export", p, archive, archive, []string{"export"}},
		{"pullbook export --tables always", p, filepath.Join(folder, "tables.zip"), filepath.Join(folder, "tables.zip"), []string{"export", "--tables", "always"}},
		{"pullbook backup", p, "", backup, []string{"backup", backup}},
		{"pullbook backup --to", p, "", "", []string{"backup", "--to", folder}},
		{"pullbook audit", p, "", "", []string{"audit"}},
		{"pullbook import-archive", moved, "", archive, []string{"import-archive", archive}},
		{"pullbook restore", restored, "", backup, []string{"restore", backup}},
	} {
		if err := command(ctx, step.what, step.on, step.into, step.long, step.args); err != nil {
			return err
		}
	}
	return nil
}

func command(ctx context.Context, what string, on program, into, long string, args []string) error {
	var out io.Writer = io.Discard
	if into != "" {
		file, err := os.Create(into)
		if err != nil {
			return err
		}
		defer file.Close()
		out = file
	}
	began := time.Now()
	peak, err := on.run(ctx, out, args...)
	if err != nil {
		return err
	}
	size := "-"
	if long != "" {
		info, err := os.Stat(long)
		if err != nil {
			return err
		}
		size = fmt.Sprintf("%.1f", float64(info.Size())/1e6)
	}
	fmt.Printf("| `%s` | %.1f | %s | - | %.0f | - |\n", what, time.Since(began).Seconds(), size, peak)
	return nil
}

func emptyDatabase(ctx context.Context, server *local.Server, name string) error {
	conn, err := pgx.Connect(ctx, server.URL())
	if err != nil {
		return err
	}
	defer conn.Close(ctx)
	_, err = conn.Exec(ctx, "CREATE DATABASE "+pgx.Identifier{name}.Sanitize())
	return err
}

// leaving are the answers of which a book of any size can be asked.
var leaving = []string{
	"/v1/archive", "/v1/archive?tables=always",
	"/feeds/journal.csv", "/feeds/journal.jsonl", "/feeds/readings.csv", "/feeds/movements.csv", "/feeds/containers.csv", "/feeds/temperatures.csv",
	"/feeds/pulls.csv", "/feeds/runs.csv", "/feeds/lots.csv", "/feeds/verdicts.csv", "/feeds/findings.csv", "/feeds/tanks.csv", "/feeds/yards.csv",
	"/feeds/journal.xlsx", "/feeds/readings.xlsx", "/feeds/season.xlsx",
	"/v1/entries?limit=1000", "/v1/reports/findings?limit=1000",
}

// answers measures what is asked of the program while it serves, each of a process
// of its own, whose book is open.
func answers(ctx context.Context, p program, book stocked) error {
	for _, path := range leaving {
		if err := answer(ctx, p, book, path); err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
	}
	return nil
}

func answer(ctx context.Context, p program, book stocked, path string) (err error) {
	s, err := p.serve(ctx)
	if err != nil {
		return err
	}
	defer func() {
		if stopped := s.stop(); err == nil {
			err = stopped
		}
	}()
	if _, err := get(ctx, s.url+"/feeds/yards.csv", book.token, "", io.Discard); err != nil {
		return err
	}
	time.Sleep(settle)
	rest, _, err := resident(s.cmd.Process.Pid)
	if err != nil {
		return err
	}
	if err := s.forgetPeak(); err != nil {
		return err
	}
	s.live.forget()
	stop := func() (time.Duration, error) { return 0, nil }
	if !strings.Contains(path, "limit=") { // the pages of a list are of one moment: the book stays as it is
		stop = recordBeside(ctx, s.url, book.token)
	}
	var long counter
	began := time.Now()
	err = walk(ctx, s.url, path, book.token, &long)
	took := time.Since(began)
	waited, failed := stop()
	if err := errors.Join(err, failed); err != nil {
		return err
	}
	_, peak, err := resident(s.cmd.Process.Pid)
	if err != nil {
		return err
	}
	added := "-"
	if mb, known := s.live.added(); known {
		added = fmt.Sprintf("%.0f", mb)
	}
	fmt.Printf("| `%s` | %.1f | %.1f | %s | %.0f, %.0f | %.2f |\n", path, took.Seconds(), float64(long)/1e6, added, rest, peak, waited.Seconds())
	return nil
}

// recordBeside records a buyer again and again until stopped, which gives the longest that
// one had to wait: for as long an answer may have held the book.
func recordBeside(ctx context.Context, url, token string) (stop func() (longest time.Duration, err error)) {
	done, ended := make(chan struct{}), make(chan struct{})
	var longest time.Duration
	var err error
	go func() {
		defer close(ended)
		for err == nil {
			id := uuid.NewString()
			body := fmt.Appendf(nil, `{"id":%q,"occurred_at":%q,"name":%q}`, id, time.Now().Format(time.RFC3339Nano), id)
			began := time.Now()
			err = send(ctx, http.DefaultClient, sending{url + "/v1/buyers", token, body})
			longest = max(longest, time.Since(began))
			select {
			case <-done:
				return
			case <-time.After(20 * time.Millisecond):
			}
		}
	}()
	return func() (time.Duration, error) {
		close(done)
		<-ended
		return longest, err
	}
}

// settle is how long the program has after the opening of its book to give back what
// that took.
const settle = 3 * time.Second
