//go:build unix

package main

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/errgroup"

	"pullbook/db/dbtest"
	"pullbook/openapi"
)

const writers = 4

// kills are ten where the whole is tried.
func kills() int {
	if dbtest.Whole() {
		return 10
	}
	return 3
}

// Every entry that was acknowledged is in the book after kill -9, whoever is
// killed while entries are being recorded; none is there twice; and the book
// passes its audit.
func TestAcknowledgedEntriesSurviveKill(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		killed            string
		program, postgres bool
	}{
		{killed: "the program", program: true},
		{killed: "PostgreSQL", postgres: true},
		{killed: "both", program: true, postgres: true},
	} {
		t.Run(tt.killed, func(t *testing.T) {
			t.Parallel()
			dir, token := foundedFolder(t)
			p := start(t, "serve", dir)
			load := &load{house: setUp(t, reach(t, p.base, token)), acknowledged: map[uuid.UUID]bool{}}
			for kill := range kills() {
				postgres := postgresOf(t, dir)
				load.during(t, func() {
					load.await(t, 40+20*kill)
					if tt.program {
						p.signal(t, syscall.SIGKILL)
					}
					if tt.postgres {
						if err := syscall.Kill(postgres, syscall.SIGKILL); err != nil {
							t.Error(err)
						}
					}
				})
				if tt.program {
					p.ended(t)
					p = start(t, "serve", dir)
					load.house.client = reach(t, p.base, token)
				} else {
					p.awaitTimes(t, "the private PostgreSQL answers again", kill+1)
				}
				load.requireStored(t)
				must(t, "audit", "--data", dir)
			}
			p.stop(t)
			t.Logf("%d kills, %d acknowledged entries, all there", kills(), len(load.acknowledged))
		})
	}
}

// load records hive counts over several connections until the service is gone.
type load struct {
	house *house

	mu           sync.Mutex
	acknowledged map[uuid.UUID]bool
	unanswered   []uuid.UUID
	fresh        int
}

// during runs f while entries are being recorded, and returns when no more are.
func (l *load) during(t *testing.T, f func()) {
	t.Helper()
	l.fresh = 0
	var group errgroup.Group
	for w := range writers {
		group.Go(func() error {
			for {
				ids := []uuid.UUID{uuid.New()}
				for w == 0 && len(ids) < 5 { // one of them sends several together
					ids = append(ids, uuid.New())
				}
				status, err := l.send(t, ids)
				l.mu.Lock()
				if err != nil {
					l.unanswered = append(l.unanswered, ids...)
				} else {
					for _, id := range ids {
						l.acknowledged[id] = true
					}
					l.fresh += len(ids)
				}
				l.mu.Unlock()
				if status == http.StatusServiceUnavailable || status == 0 {
					return nil // the database or the program is gone
				}
				if err != nil && status < 500 {
					t.Errorf("a hive count was answered with %v", err)
					return nil
				}
			}
		})
	}
	f()
	if err := group.Wait(); err != nil {
		t.Error(err)
	}
}

// send records hive counts. Of several it fails where not all of them were recorded.
func (l *load) send(t *testing.T, ids []uuid.UUID) (status int, err error) {
	if len(ids) == 1 {
		return l.house.client.record(t.Context(), l.house.count(ids[0], 7))
	}
	var in openapi.EntriesToRecord
	for _, id := range ids {
		count, err := json.Marshal(l.house.count(id, 7))
		if err != nil {
			return 0, err
		}
		in.Entries = append(in.Entries, openapi.EntryToRecord{Kind: "hive_count", Entry: count})
	}
	data, err := json.Marshal(in)
	if err != nil {
		return 0, err
	}
	status, body, err := l.house.client.do(t.Context(), http.MethodPost, "/v1/entries", data)
	var out openapi.EntryAnswers
	switch {
	case err != nil:
		return status, err
	case status != http.StatusOK:
		return status, refusal(status, body)
	}
	if err := json.Unmarshal(body, &out); err != nil {
		return status, err
	}
	for _, a := range out.Answers {
		if a.Status >= http.StatusMultipleChoices {
			return a.Status, fmt.Errorf("%+v", a.Problem)
		}
	}
	return status, nil
}

// await returns when so many entries were acknowledged.
func (l *load) await(t *testing.T, entries int) {
	t.Helper()
	for deadline := time.Now().Add(30 * time.Second); ; time.Sleep(time.Millisecond) {
		l.mu.Lock()
		fresh := l.fresh
		l.mu.Unlock()
		if fresh >= entries {
			return
		}
		if time.Now().After(deadline) {
			t.Errorf("only %d entries were recorded in half a minute", fresh)
			return
		}
	}
}

// requireStored sends again what was not answered, as a phone does, and looks
// for every entry.
func (l *load) requireStored(t *testing.T) {
	t.Helper()
	for _, id := range l.unanswered {
		if l.sendAgain(t, id) {
			l.acknowledged[id] = true
		}
	}
	l.unanswered = nil
	there, err := recorded(t.Context(), l.house.client)
	if err != nil {
		t.Fatal(err)
	}
	for id := range l.acknowledged {
		if !there[id] {
			t.Errorf("entry %s was acknowledged and is gone", id)
		}
	}
	const setUp = founded + 2 // the season and the yard
	if got, want := outfitOf(t, l.house.client).LastEntry, int64(len(l.acknowledged)+setUp); got != want {
		t.Errorf("the book has %d entries, and %d were recorded", got, want)
	}
}

// sendAgain sends an entry until it is answered: while the database comes back it may be told to wait.
func (l *load) sendAgain(t *testing.T, id uuid.UUID) bool {
	t.Helper()
	for deadline := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		status, err := l.house.client.record(t.Context(), l.house.count(id, 7))
		if err == nil {
			return true
		}
		if status != http.StatusServiceUnavailable || time.Now().After(deadline) {
			t.Errorf("sent again: %d, %v", status, err)
			return false
		}
	}
}

// postgresOf is the process of the PostgreSQL that runs on a data folder.
func postgresOf(t *testing.T, dir string) int {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "data", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	line, _, _ := strings.Cut(string(text), "\n")
	pid, err := strconv.Atoi(line)
	if err != nil {
		t.Fatal(err)
	}
	return pid
}
