package main

import (
	"fmt"
	"net"
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"
)

func TestAServiceAnswersAndLogsNoSecret(t *testing.T) {
	t.Parallel()
	dir, token := foundedFolder(t)
	p := start(t, "serve", dir, "--log-format", "json", "--log-level", "debug")
	for path, want := range map[string]int{"/livez": 200, "/readyz": 200, "/metrics": 200, "/docs": 200, "/v1/outfit": 401} {
		if got := statusOf(t, p.base+path); got != want {
			t.Errorf("%s answers %d, want %d", path, got, want)
		}
	}
	if got := outfitOf(t, reach(t, p.base, token)).Name; got != "Fern Gully Honey" {
		t.Errorf("the token belongs to %q", got)
	}
	must(t, "health", "--addr", strings.TrimPrefix(p.base, "http://"))
	p.stop(t)
	if !strings.Contains(p.String(), `"msg":"request"`) {
		t.Errorf("no request was logged as JSON:\n%s", p)
	}
	if strings.Contains(p.String(), token) {
		t.Errorf("the log has the token:\n%s", p)
	}
	refused(t, exitFailed, []string{"no pullbook answers"}, "health", "--addr", strings.TrimPrefix(p.base, "http://"))
}

func TestASecondProgramOnTheSameFolderIsRefused(t *testing.T) {
	t.Parallel()
	dir := blank(t)
	p := start(t, "serve", dir)
	holder := fmt.Sprintf("process %d works with", p.cmd.Process.Pid)
	for _, command := range []string{"serve", "demo"} {
		refused(t, exitFailed, []string{"the data folder is in use", holder}, command, "--data", dir, "--addr", "127.0.0.1:0")
	}
	refused(t, exitFailed, []string{holder}, "migrate", "--data", dir)
	p.stop(t)
}

func TestTheOperatorWorksBesideAService(t *testing.T) {
	t.Parallel()
	dir := blank(t)
	p := start(t, "serve", dir)
	manager := reach(t, p.base, newOutfit(t, "--data", dir))
	h := setUp(t, manager)
	must(t, "person", "add", "Odell", "--data", dir)
	crew := strings.TrimSpace(must(t, "token", "add", "Odell", "--name", "phone", "--data", dir))
	odell := &house{client: reach(t, p.base, crew), yard: h.yard}
	if status, err := odell.client.record(t.Context(), odell.count(uuid.New(), 20)); status != http.StatusCreated {
		t.Fatalf("crew may not record: %v", err)
	}

	list := must(t, "token", "list", "--data", dir)
	if strings.Contains(list, crew) || !strings.Contains(list, "phone") {
		t.Errorf("the list of tokens:\n%s", list)
	}
	var id string
	for line := range strings.Lines(list) {
		if strings.Contains(line, "phone") {
			id = strings.Fields(line)[0]
		}
	}
	must(t, "token", "revoke", id, "--data", dir)
	if status, _ := odell.client.record(t.Context(), odell.count(uuid.New(), 20)); status != http.StatusUnauthorized {
		t.Errorf("a revoked token was answered with %d", status)
	}
	refused(t, exitFailed, []string{"no valid token"}, "token", "revoke", id, "--data", dir)

	again := strings.TrimSpace(must(t, "token", "add", "odell", "--data", dir))
	odell.client = reach(t, p.base, again)
	if got := outfitOf(t, odell.client).YourName; got != "Odell" {
		t.Errorf("the new token speaks for %q", got)
	}
	must(t, "person", "leave", "odell", "--data", dir)
	if status, _ := odell.client.record(t.Context(), odell.count(uuid.New(), 20)); status != http.StatusUnauthorized {
		t.Errorf("the token of somebody who left was answered with %d", status)
	}
	refused(t, exitFailed, []string{"nobody called Odell"}, "token", "add", "Odell", "--data", dir)
	refused(t, exitFailed, []string{"nobody called odell"}, "person", "leave", "odell", "--data", dir)

	must(t, "outfit", "add", "Marsh Honey", "--time-zone", "Europe/Madrid", "--units", "us", "--data", dir)
	refused(t, exitFailed, []string{"2 outfits", "--outfit"}, "person", "list", "--data", dir)
	refused(t, exitFailed, []string{`no outfit "Bog Honey"`}, "person", "list", "--outfit", "Bog Honey", "--data", dir)
	if people := must(t, "person", "list", "--outfit", "fern gully honey", "--data", dir); !strings.Contains(people, "Mirren") {
		t.Errorf("the people:\n%s", people)
	}
	if outfits := must(t, "outfit", "list", "--data", dir); !strings.Contains(outfits, "Marsh Honey") || !strings.Contains(outfits, "Europe/Madrid") {
		t.Errorf("the outfits:\n%s", outfits)
	}
	p.stop(t)
}

func TestAnAddressInUseIsNamed(t *testing.T) {
	t.Parallel()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer listener.Close()
	addr := listener.Addr().String()
	refused(t, exitFailed, []string{"cannot listen on " + addr, "--addr"}, "serve", "--data", folder(t), "--addr", addr)
}

func TestListeningBeyondThisMachineIsCautioned(t *testing.T) {
	t.Parallel()
	p := launch(t, "serve", "--data", blank(t), "--addr", "0.0.0.0:0")
	p.await(t, "pullbook serves on http://127.0.0.1:")
	if !strings.Contains(p.String(), "without TLS") {
		t.Errorf("no caution about tokens in the clear:\n%s", p)
	}
	p.stop(t)
}
