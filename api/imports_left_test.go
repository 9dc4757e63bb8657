package api_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
)

// lots is a sheet of so many new lots.
func lots(n int) string {
	var b strings.Builder
	b.WriteString("Date,Lot,Product\n")
	for i := range n {
		fmt.Fprintf(&b, "2026-07-06,26-%06d,clover\n", i)
	}
	return b.String()
}

var withSeasons = M{"make_seasons": true}

// departure is a client that brings a sheet in, and may leave.
type departure struct {
	o     *outfit
	id    string
	leave context.CancelFunc
	gone  chan struct{}
}

// comes sends a sheet without waiting for its answer.
func (o *outfit) comes(t *testing.T, store bool, text string) *departure {
	t.Helper()
	d := &departure{o: o, id: uuid.NewString(), gone: make(chan struct{})}
	header, body := importForm(t, d.id, o.manager, "lots", strconv.FormatBool(store), text, withSeasons)
	within, leave := context.WithCancel(t.Context())
	d.leave = leave
	r, err := http.NewRequestWithContext(within, http.MethodPost, o.url+"/v1/imports", bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	r.Header = header
	go func() {
		defer close(d.gone)
		if response, err := o.client.Do(r); err == nil {
			_, _ = io.Copy(io.Discard, response.Body)
			response.Body.Close()
		}
	}()
	return d
}

// progress asks how far the sheet has been read, until that is enough.
func (d *departure) progress(t *testing.T, enough func(state string, rows int64) bool) {
	t.Helper()
	for end := time.Now().Add(3 * time.Minute); time.Now().Before(end); time.Sleep(5 * time.Millisecond) {
		r := d.o.send(t, http.MethodGet, "/v1/imports/"+d.id, d.o.manager, nil)
		if r.status == http.StatusNotFound {
			continue
		}
		p := as[struct {
			State string
			Rows  int64
		}](t, r)
		if enough(p.State, p.Rows) {
			return
		}
	}
	t.Fatal("the sheet did not come so far in three minutes")
}

// An import ends when its client leaves, whatever is done with it just then. Nothing of
// it stays, and the outfit can bring in the next one.
func TestAnImportEndsWhenItsClientLeaves(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	const many = 100_000
	reading := func(from int64) func(string, int64) bool {
		return func(state string, rows int64) bool {
			if state != "reading" {
				t.Fatalf("the sheet is %s with %d rows before its client left", state, rows)
			}
			return rows >= from
		}
	}
	for what, leaves := range map[string]func(t *testing.T, o *outfit) *departure{
		"while it is checked": func(t *testing.T, o *outfit) *departure {
			d := o.comes(t, false, lots(many))
			d.progress(t, reading(1000))
			d.leave()
			return d
		},
		"while it is taken over, before the book is held": func(t *testing.T, o *outfit) *departure {
			d := o.comes(t, true, lots(many))
			d.progress(t, reading(1000))
			d.leave()
			return d
		},
		"while it is taken over, and the book is held": func(t *testing.T, o *outfit) *departure {
			d := o.comes(t, true, lots(many))
			d.progress(t, reading(60_000)) // more than are made ready
			d.leave()
			return d
		},
		"before it is stored": func(t *testing.T, o *outfit) *departure {
			free := o.holdBook(t)
			defer free()
			d := o.comes(t, true, lots(10))
			d.progress(t, reading(10))
			d.leave()
			d.progress(t, func(state string, _ int64) bool { return state == "done" })
			return d
		},
		"before it is opened": func(t *testing.T, o *outfit) *departure {
			for _, name := range []string{"Sedge Hollow Honey", "Tamarack Honey"} {
				other := h.newOutfit(t, name)
				free := other.holdBook(t)
				defer free()
				d := other.comes(t, true, lots(10))
				d.progress(t, reading(10))
			}
			d := o.comes(t, true, lots(10))
			d.waits(t, 2)
			d.leave()
			d.progress(t, func(state string, rows int64) bool { return state == "done" && rows == 0 })
			return d
		},
	} {
		o := h.newOutfit(t, "Fern Gully Honey "+what)
		before := o.lastEntry(t)
		d := leaves(t, o)
		<-d.gone
		d.progress(t, func(state string, rows int64) bool {
			if state == "stored" {
				t.Fatalf("%s: it was stored", what)
			}
			return state == "done"
		})
		if after := o.lastEntry(t); after != before {
			t.Errorf("%s: the book went from entry %d to %d", what, before, after)
		}
		if next := o.bringIn(t, o.manager, "lots", "true", lots(3), withSeasons); next.status != http.StatusCreated {
			t.Errorf("%s: the next sheet: %d %s", what, next.status, next.raw)
		}
	}
}

func (o *outfit) lastEntry(t *testing.T) int64 {
	t.Helper()
	return as[struct {
		LastEntry int64 `json:"last_entry"`
	}](t, o.send(t, http.MethodGet, "/v1/outfit", o.manager, nil)).LastEntry
}

// holdBook keeps the outfit's book from being added to.
func (o *outfit) holdBook(t *testing.T) (free func()) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), o.database)
	if err != nil {
		t.Fatal(err)
	}
	tx, err := conn.Begin(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := tx.Exec(t.Context(), "SELECT 1 FROM book WHERE outfit_id = $1 FOR UPDATE", o.id); err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := conn.Close(context.Background()); err != nil {
			t.Error(err)
		}
	}
}
