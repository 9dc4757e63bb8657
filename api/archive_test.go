package api_test

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/feeds"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/archive"
	"pullbook/domain/demo"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
)

// demoOutfit is an outfit with an invented season as far as the clock has come.
func demoOutfit(t *testing.T, h *honeyHouse) *outfit {
	t.Helper()
	o := h.newOutfit(t, "Fern Gully Honey")
	p, err := h.books.SignIn(t.Context(), o.manager)
	if err != nil {
		t.Fatal(err)
	}
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range demo.Example(loc).Recorded() {
		if e.RecordedAt.After(clock) || e.OccurredAt.After(clock) {
			break
		}
		if _, err := h.books.Append(t.Context(), p, e); err != nil {
			t.Fatal(err)
		}
	}
	return o
}

func (o *outfit) archive(t *testing.T) []byte {
	t.Helper()
	r := o.send(t, http.MethodGet, "/v1/archive", o.manager, nil)
	if r.status != http.StatusOK {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	return r.raw
}

// archived is the archive of an outfit as the operator's command writes it, which
// asks for no token.
func (h *honeyHouse) archived(t *testing.T, outfit uuid.UUID) []byte {
	t.Helper()
	head, err := h.operator.Head(t.Context(), outfit)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	p := db.Principal{Outfit: outfit, Name: db.TheOperator, Role: db.Manager, Access: head.Access}
	if _, err := feeds.WriteArchive(t.Context(), h.operator, h.books, p, &out, func() error { return nil }, feeds.TablesAuto); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// restore reads an archive into the database of a house.
func (h *honeyHouse) restore(t *testing.T, data []byte) (db.Restored, error) {
	t.Helper()
	a, err := archive.Open(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return db.Restored{}, err
	}
	return h.operator.RestoreArchive(t.Context(), a)
}

// reports are compared as they are served.
var reports = []string{"reports/season", "reports/runs", "reports/tanks", "reports/totals", "reports/findings", "entries?limit=1000", "lots", "fills?limit=1000"}

// A whole season goes to another installation and is the very same book there:
// every digest, the end of it, and each report to the byte.
func TestAnArchiveIsReadToTheVerySameBook(t *testing.T) {
	t.Parallel()
	here, there := openHouse(t), openHouse(t)
	o := demoOutfit(t, here)
	brought := o.bringIn(t, o.manager, "yards", "true", "Yard\nBirch Hollow\nSedge Hollow\n", nil)
	if brought.status != http.StatusCreated {
		t.Fatalf("%d %s", brought.status, brought.raw)
	}
	data := o.archive(t)
	r, err := there.restore(t, data)
	if err != nil || r.Before != 0 || r.After != o.head(t).LastEntry {
		t.Fatalf("%+v, %v", r, err)
	}
	if back := there.archived(t, r.Outfit.ID); !bytes.Equal(back, data) {
		t.Errorf("the archive from there has %d bytes, and is another than that of %d bytes from here", len(back), len(data))
	}
	// A token there is an entry of the book there, and one here of the book here.
	secret, err := there.operator.CreateToken(t.Context(), r.Outfit.ID, "Mirren", "after the move")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range reports {
		if path == "reports/season" || path == "reports/totals" { // they say how long the book is
			path = fmt.Sprintf("%s?as_of=%d", path, r.After)
		}
		was, is := here.send(t, http.MethodGet, "/v1/"+path, o.manager, nil), there.send(t, http.MethodGet, "/v1/"+path, secret, nil)
		if was.status != http.StatusOK || is.status != http.StatusOK || !bytes.Equal(was.raw, is.raw) {
			t.Errorf("%s: %d and %d, %d and %d bytes, not the same", path, was.status, is.status, len(was.raw), len(is.raw))
		}
	}
	first, err := here.service.EntriesAfter(t.Context(), r.Outfit.ID, 0)
	if err != nil {
		t.Fatal(err)
	}
	second, err := there.service.EntriesAfter(t.Context(), r.Outfit.ID, 0)
	if err != nil || len(first)+1 != len(second) || len(first) < 500 {
		t.Fatalf("%d entries here and %d there, %v", len(first), len(second), err)
	}
	for i := range first {
		if first[i].Digest != second[i].Digest {
			t.Fatalf("entry %d has another digest there", i+1)
		}
	}
	if _, err := books.Audit(t.Context(), there.operator, r.Outfit); err != nil {
		t.Error(err)
	}
	if again, err := there.restore(t, data); err != nil || again.Before != again.After {
		t.Errorf("the same archive again: %+v, %v", again, err)
	}
	// What comes out there is the same again, in the same order.
	a, err := archive.Open(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	people, err := a.People()
	if err != nil || len(people) == 0 || bytes.Contains(data, []byte(o.manager)) {
		t.Errorf("%v, %v", people, err)
	}
	for _, name := range []string{"tables/yards.csv", "tables/pulls.csv", "tables/runs.csv", "tables/readings.csv", "tables/lots.csv", "tables/containers.csv"} {
		if text := part(t, data, name); strings.Count(text, "\r\n") < 2 {
			t.Errorf("%s: %.200s", name, text)
		}
	}
}

// The archive continues a book that is its beginning; an older one changes nothing;
// and another book of the same outfit is refused.
func TestAnArchiveContinuesTheBookThatItBeganAs(t *testing.T) {
	t.Parallel()
	here, there := openHouse(t), openHouse(t)
	o := here.newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	early := o.archive(t)
	if r := o.bringIn(t, o.manager, "yards", "true", "Yard\nBirch Hollow\n", nil); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	late := o.archive(t)
	for i, want := range [][2]bool{{false, true}, {true, true}, {true, false}} {
		data := [][]byte{early, late, early}[i]
		r, err := there.restore(t, data)
		if err != nil || r.Before > 0 != want[0] || r.After > r.Before != want[1] {
			t.Fatalf("archive %d: %+v, %v", i, r, err)
		}
		if _, err := books.Audit(t.Context(), there.operator, r.Outfit); err != nil {
			t.Fatal(err)
		}
	}
	other := openHouse(t)
	if _, err := other.restore(t, early); err != nil {
		t.Fatal(err)
	}
	a, _ := archive.Open(bytes.NewReader(early), int64(len(early)))
	id := a.Manifest.Outfit.ID
	head, err := other.service.Head(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	p := db.Principal{Outfit: id, Name: "Mirren", Role: db.Manager, Access: head.Access}
	if _, err := other.books.Append(t.Context(), p, &ledger.Entry{ID: uuid.New(), Kind: ledger.KindYard, OccurredAt: clock, Body: &ledger.Yard{Name: "elsewhere"}}); err != nil {
		t.Fatal(err)
	}
	if _, err := other.restore(t, late); fault.CodeOf(err) != fault.Conflict {
		t.Errorf("a book that went another way was overwritten: %v", err)
	}
}

// An archive in which anything was changed is refused whole, with what.
func TestAnArchiveThatWasTamperedWithIsRefusedWhole(t *testing.T) {
	t.Parallel()
	here, there := openHouse(t), openHouse(t)
	o := here.newOutfit(t, "Fern Gully Honey")
	founded := o.head(t).LastEntry
	o.recordExamples(t)
	data := o.archive(t)
	entries := part(t, data, "entries.jsonl")
	lines := strings.SplitAfter(entries, "\n")
	for _, row := range []struct {
		what  string
		says  string
		spoil func() []byte
	}{
		{"a byte of a packed file", "", func() []byte { d := bytes.Clone(data); d[len(d)/3] ^= 1; return d }},
		{"cut short", "cut short", func() []byte { return data[:len(data)-200] }},
		{"a letter in the entries", "entries.jsonl was changed", func() []byte {
			return repacked(t, data, "entries.jsonl", strings.Replace(entries, "Alder", "Elder", 1), false)
		}},
		{"an entry altered and the checksum with it", fmt.Sprintf("entry %d was changed", founded+2), func() []byte {
			return repacked(t, data, "entries.jsonl", strings.Replace(entries, "Alder", "Elder", 1), true)
		}},
		{"an entry left out and the checksum with it", "entry 4 is missing", func() []byte {
			return repacked(t, data, "entries.jsonl", strings.Replace(entries, lines[3], "", 1), true)
		}},
		{"the last entry left out and the checksum with it", "the book ends with", func() []byte {
			return repacked(t, data, "entries.jsonl", strings.TrimSuffix(entries, lines[len(lines)-2]), true)
		}},
		{"a name in use left out", "claims.jsonl", func() []byte {
			_, rest, _ := strings.Cut(part(t, data, "claims.jsonl"), "\n")
			return repacked(t, data, "claims.jsonl", rest, true)
		}},
		{"a table changed", "tables/yards.csv was changed", func() []byte { return repacked(t, data, "tables/yards.csv", "none", false) }},
		{"a file missing", "lacks people.jsonl", func() []byte { return repacked(t, data, "people.jsonl", "", false) }},
		{"a file that is not listed", "does not list", func() []byte { return repacked(t, data, "more.txt", "x", false) }},
		{"a manifest of another outfit's end", "the manifest says", func() []byte {
			return repacked(t, data, "manifest.json", strings.Replace(part(t, data, "manifest.json"), `"entries": `, `"entries": 1`, 1), false)
		}},
		{"no manifest", "no manifest.json", func() []byte { return repacked(t, data, "manifest.json", "", false) }},
	} {
		_, err := there.restore(t, row.spoil())
		var unsound *archive.Error
		var breach *ledger.Break
		if !errors.As(err, &unsound) && !errors.As(err, &breach) || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: %v", row.what, err)
		}
	}
	if outfits, err := there.operator.Outfits(t.Context()); err != nil || len(outfits) != 0 {
		t.Errorf("%v, %v: something stayed", outfits, err)
	}
	if r := o.send(t, http.MethodGet, "/v1/archive", o.crew, nil); r.status != http.StatusForbidden {
		t.Errorf("crew take the archive: %d", r.status)
	}
}

// A book leaves although it cannot be opened: whole except for its tables, and the
// manifest says so. Who asked for the tables is told before anything is written.
func TestABookThatCannotBeOpenedLeavesWithoutTables(t *testing.T) {
	t.Parallel()
	address := dbtest.New(t)
	here, there := openHouseAt(t, address), openHouse(t)
	o := here.newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	head, err := here.service.Head(t.Context(), o.id)
	if err != nil {
		t.Fatal(err)
	}
	shut, err := db.Open(t.Context(), address, db.OperatorRole, 1)
	if err != nil {
		t.Fatal(err)
	}
	shut.Close()
	books := books.Open(shut, 1)
	t.Cleanup(books.Close)
	p := db.Principal{Outfit: o.id, Name: "operator", Role: db.Manager, Access: head.Access}
	write := func(out io.Writer, tables feeds.Tables) (archive.Manifest, error) {
		return feeds.WriteArchive(t.Context(), here.operator, books, p, out, func() error { return nil }, tables)
	}
	var out bytes.Buffer
	if _, err := write(&out, feeds.TablesAlways); err == nil || out.Len() > 0 {
		t.Fatalf("with tables: %v after %d bytes", err, out.Len())
	}
	m, err := write(&out, feeds.TablesAuto)
	if err != nil || m.Entries != head.Number || !strings.Contains(m.NoTables, "cannot be opened") {
		t.Fatalf("%+v, %v", m, err)
	}
	if r, err := there.restore(t, out.Bytes()); err != nil || r.After != head.Number {
		t.Errorf("%+v, %v", r, err)
	}
	if r := o.send(t, http.MethodGet, "/v1/archive?tables=never", o.manager, nil); r.status != http.StatusOK ||
		!strings.Contains(part(t, r.raw, archive.ManifestFile), `"no_tables"`) || bytes.Contains(r.raw, []byte("tables/yards.csv")) {
		t.Errorf("%d, %d bytes", r.status, len(r.raw))
	}
}

// part is the text of a file in an archive.
func part(t *testing.T, data []byte, name string) string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	f, err := z.Open(name)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	defer f.Close()
	text, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// repacked is an archive with one file of other content, or without it where that
// is empty; signed puts the manifest's checksum right.
func repacked(t *testing.T, data []byte, name, text string, signed bool) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var m archive.Manifest
	if err := json.Unmarshal([]byte(part(t, data, archive.ManifestFile)), &m); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	w := archive.NewWriter(&out)
	raw := zip.NewWriter(&out)
	names := []string{}
	for _, f := range z.File {
		if f.Name != name {
			names = append(names, f.Name)
		}
	}
	if text != "" {
		names = append(names, name)
	}
	write := func(to io.Writer, n string) {
		content := text
		if n != name {
			content = part(t, data, n)
		}
		if _, err := io.WriteString(to, content); err != nil {
			t.Fatal(err)
		}
	}
	for _, n := range names {
		if signed && n == archive.ManifestFile {
			continue
		}
		create := raw.Create
		if signed {
			create = w.Create
		}
		to, err := create(n)
		if err != nil {
			t.Fatal(err)
		}
		write(to, n)
	}
	if signed {
		err = w.Close(m)
	} else {
		err = raw.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// An archive with an entry of a kind that comes with a later version is refused whole, and
// the message says which entry and what to do.
func TestAnArchiveWithAnEntryOfAnUnknownKindIsRefusedWhole(t *testing.T) {
	t.Parallel()
	house, elsewhere := openHouse(t), openHouse(t)
	o := house.newOutfit(t, "Fern Gully Honey")
	o.book(t, "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Mill"})
	number := o.head(t).LastEntry
	asSuperuser(t, house.database, "ALTER TABLE entry DROP CONSTRAINT kind_known")
	asSuperuser(t, house.database, "UPDATE entry SET kind = 'mead' WHERE number = $1", number)
	o.rewriteLast(t, `{"body":{"name":"Mill"}}`)
	_, err := elsewhere.restore(t, house.archived(t, o.id))
	says := fmt.Sprintf("Nothing was stored: entry %d of the archive is of the kind mead, which this version of the program does not know. Bring the archive in with the version that wrote it, or a newer one.", number)
	if err == nil || !strings.Contains(err.Error(), says) {
		t.Errorf("%v; it should say %q", err, says)
	}
	if _, err := elsewhere.operator.Outfit(t.Context(), o.id); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("the outfit is there: %v", err)
	}
}
