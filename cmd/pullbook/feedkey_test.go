package main

import (
	"io"
	"net/http"
	"strings"
	"testing"
)

func TestTheOperatorMakesAndEndsFeedKeysBesideAService(t *testing.T) {
	t.Parallel()
	dir, _ := foundedFolder(t)
	p := start(t, "serve", dir)
	key := strings.TrimSpace(must(t, "feed-key", "add", "office spreadsheet", "--feed", "tanks", "--data", dir))
	ask := func(feed string) (int, string) {
		t.Helper()
		r, err := http.Get(p.base + "/feeds/" + feed + ".csv?key=" + key)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Body.Close()
		body, _ := io.ReadAll(r.Body)
		return r.StatusCode, string(body)
	}
	if status, body := ask("tanks"); status != http.StatusOK || !strings.HasPrefix(body, "\ufefftank,use,") {
		t.Errorf("%d %s", status, body)
	}
	if status, body := ask("lots"); status != http.StatusForbidden {
		t.Errorf("%d %s", status, body)
	}
	list := must(t, "feed-key", "list", "--data", dir)
	if strings.Contains(list, key) || !strings.Contains(list, "office spreadsheet") || !strings.Contains(list, "tanks") {
		t.Errorf("the list of keys:\n%s", list)
	}
	var id string
	for line := range strings.Lines(list) {
		if strings.Contains(line, "office") {
			id = strings.Fields(line)[0]
		}
	}
	must(t, "feed-key", "revoke", id, "--data", dir)
	if status, body := ask("tanks"); status != http.StatusUnauthorized {
		t.Errorf("a revoked key: %d %s", status, body)
	}
	refused(t, exitFailed, []string{"no valid feed key"}, "feed-key", "revoke", id, "--data", dir)
	refused(t, exitFailed, []string{`no feed "drums"`, "containers"}, "feed-key", "add", "x", "--feed", "drums", "--data", dir)
	if strings.Contains(p.String(), key) {
		t.Error("the log has the key")
	}
}
