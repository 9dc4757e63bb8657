package main

import (
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/db/local"
	"pullbook/openapi"
)

// certified records a laboratory's result with its certificate, and gives the address of
// the file.
func (h *house) certified(t *testing.T, file []byte) string {
	t.Helper()
	result, certificate := uuid.New(), uuid.New()
	at, laboratory, moisture := time.Now().Add(-time.Minute), "Fern Valley", 17.1
	lot := &openapi.NewLot{NewEntry: openapi.NewEntry{ID: uuid.New(), OccurredAt: at}, Code: "26-001"}
	for _, request := range []any{lot, &openapi.NewReading{NewEntry: openapi.NewEntry{ID: result, OccurredAt: at}, On: openapi.ReadingOn{Kind: "lot", ID: lot.ID}, Laboratory: &laboratory, MoisturePct: &moisture}} {
		if status, err := h.client.record(t.Context(), request); err != nil || status != http.StatusCreated {
			t.Fatalf("%T: %d, %v", request, status, err)
		}
	}
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for name, value := range map[string]uuid.UUID{"id": certificate, "reading_id": result} {
		if err := form.WriteField(name, value.String()); err != nil {
			t.Fatal(err)
		}
	}
	part, err := form.CreateFormFile("file", "26-1207.pdf")
	if err == nil {
		_, err = part.Write(file)
	}
	if err != nil {
		t.Fatal(err)
	}
	form.Close()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, h.client.base+"/v1/laboratory-certificates", &body)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+h.client.token)
	r.Header.Set("Content-Type", form.FormDataContentType())
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if said, _ := io.ReadAll(response.Body); response.StatusCode != http.StatusCreated {
		t.Fatalf("a certificate: %d %s", response.StatusCode, said)
	}
	return "/v1/laboratory-certificates/" + certificate.String() + "/file"
}

// A certificate goes with the book wherever that goes: into a backup and out of it, into
// an archive and out of that; and an audit looks at each of its bytes.
func TestACertificateComesBackFromABackupAndFromAnArchive(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	work := filepath.Dir(dir)
	backup, book := filepath.Join(work, "honey.backup"), filepath.Join(work, "book.zip")
	// Behind its end a PDF may have anything, as some that scanners write have.
	paper := append(apitest.WrittenPDF("26-1207"), bytes.Repeat([]byte{0, 1, 254, 255, '\r', '\n', '\\'}, 40_000)...)
	p := start(t, "serve", dir)
	h := setUp(t, reach(t, p.base, token))
	address := h.certified(t, paper)
	must(t, "backup", backup, "--data", dir)
	if err := os.WriteFile(book, []byte(must(t, "export", "--data", dir)), 0o600); err != nil {
		t.Fatal(err)
	}
	p.stop(t)
	here := must(t, "audit", "--data", dir)

	restored := folder(t)
	must(t, "restore", backup, "--data", restored)
	if got := must(t, "audit", "--data", restored); got != here {
		t.Errorf("restored: %s, was %s", got, here)
	}
	p = start(t, "serve", restored)
	if status, got, err := reach(t, p.base, token).do(t.Context(), http.MethodGet, address, nil); err != nil || status != http.StatusOK || !bytes.Equal(got, paper) {
		t.Errorf("from the backup: %d, %d bytes, %v", status, len(got), err)
	}
	running, err := local.Attach(local.Options{DataDir: restored})
	if err != nil {
		t.Fatal(err)
	}
	execute(t, running.URLFor(local.Superuser, bookDatabase), "SET session_replication_role = replica",
		"ALTER TABLE certificate_file DROP CONSTRAINT content_has_its_digest", "UPDATE certificate_file SET content = set_byte(content, 5000, 7)")
	refused(t, exitFailed, []string{"BROKEN", "26-1207.pdf", "was altered", "content_has_its_digest"}, "audit", "--data", restored)
	p.stop(t)

	there := blank(t)
	must(t, "import-archive", book, "--data", there)
	if got := must(t, "audit", "--data", there); got != here {
		t.Errorf("from the archive: %s, was %s", got, here)
	}
	again := must(t, "export", "--data", there)
	if was, err := os.ReadFile(book); err != nil || again != string(was) {
		t.Errorf("the archive from there has %d bytes and is not that of %d bytes from here, %v", len(again), len(was), err)
	}
}
