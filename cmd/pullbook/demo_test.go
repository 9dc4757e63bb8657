package main

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// demoEntries is how many entries the invented book has.
func demoEntries(t *testing.T) int {
	t.Helper()
	location, err := time.LoadLocation(demoTimeZone)
	if err != nil {
		t.Fatal(err)
	}
	return len(demo.ExampleAt(time.Now(), location).Entries) // as many whenever it is
}

// tokenOf is the token that the demo prints for a role.
func tokenOf(t *testing.T, p *running, role string) string {
	t.Helper()
	found := regexp.MustCompile(`(?m)^  ` + role + ` +\w+ +\S+ +(\S+)$`).FindStringSubmatch(p.String())
	if found == nil {
		t.Fatalf("no token for a %s:\n%s", role, p)
	}
	return found[1]
}

// honeyEntries counts a book's entries, except for those of the operator's.
func honeyEntries(t *testing.T, c *client) (n int) {
	t.Helper()
	err := eachEntry(t.Context(), c, func(e openapi.Entry) {
		if e.Kind != string(ledger.KindOperator) {
			n++
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestTheDemoShowsASeasonAndASecondStartAddsNothing(t *testing.T) {
	t.Parallel()
	dir, entries := folder(t), demoEntries(t)
	p := start(t, "demo", dir)
	p.await(t, "Stop with Ctrl-C.")
	for _, want := range []string{
		fmt.Sprintf("Loaded %d entries", entries), "kg/super", "Tanks", "large tank", "Lots",
		"The page is at " + p.base + "/", "the contract at " + p.base + "/docs",
	} {
		if !strings.Contains(p.String(), want) {
			t.Errorf("the demo does not say %q:\n%s", want, p)
		}
	}
	if yards := regexp.MustCompile(`(?m)^ *\d+  [A-Z]`).FindAllString(p.String(), -1); len(yards) < 28 {
		t.Errorf("the season shows %d yards:\n%s", len(yards), p)
	}
	if !regexp.MustCompile(`Season \d{4}(/\d\d)?, by yard`).MatchString(p.String()) {
		t.Errorf("the demo shows no season:\n%s", p)
	}
	location, err := time.LoadLocation(demoTimeZone)
	if err != nil {
		t.Fatal(err)
	}
	if says := strings.Contains(p.String(), "Its invented year is moved by"); says != demo.OutOfSeason(time.Now().In(location)) {
		t.Errorf("the demo says that it is out of season: %v", says)
	}
	for _, path := range []string{"/", "/docs"} {
		if status := statusOf(t, p.base+path); status != http.StatusOK {
			t.Errorf("%s answers %d", path, status)
		}
	}
	tokens := map[string]string{}
	for _, role := range []string{"manager", "crew", "reader"} {
		tokens[role] = tokenOf(t, p, role)
		if got := outfitOf(t, reach(t, p.base, tokens[role])); string(got.YourRole) != role || honeyEntries(t, reach(t, p.base, tokens[role])) != entries {
			t.Errorf("the %s's token is a %s's, in a book of %d entries", role, got.YourRole, got.LastEntry)
		}
	}
	before := outfitOf(t, reach(t, p.base, tokens["reader"]))
	must(t, "audit", "--data", dir)
	p.stop(t)

	p = start(t, "demo", dir)
	p.await(t, "Stop with Ctrl-C.")
	if want := fmt.Sprintf("All %d entries are in the book.", entries); !strings.Contains(p.String(), want) {
		t.Errorf("the second start does not say %q:\n%s", want, p)
	}
	for role, token := range tokens {
		if again := tokenOf(t, p, role); again != token {
			t.Errorf("the second start shows another token for the %s", role)
		}
	}
	if after := outfitOf(t, reach(t, p.base, tokens["reader"])); after != before {
		t.Errorf("after the second start the outfit is %+v, was %+v", after, before)
	}
	p.stop(t)
}

// A load that was cut short goes on where it was, without its tokens too.
func TestAnInterruptedDemoIsFinishedByTheNext(t *testing.T) {
	t.Parallel()
	dir, entries := blank(t), demoEntries(t)
	p := start(t, "demo", dir)
	p.await(t, "loaded ")
	p.signal(t, syscall.SIGKILL)
	p.ended(t)
	lost := readTokens(t, dir)
	if err := os.Remove(filepath.Join(dir, demoKeysFile)); err != nil {
		t.Fatal(err)
	}

	p = start(t, "demo", dir)
	p.await(t, "Stop with Ctrl-C.")
	if strings.Contains(p.String(), fmt.Sprintf("Loaded %d entries", entries)) {
		t.Errorf("everything was loaded again:\n%s", p)
	}
	reader := reach(t, p.base, tokenOf(t, p, "reader"))
	if got := honeyEntries(t, reader); got != entries {
		t.Errorf("the book has %d entries, want %d", got, entries)
	}
	for person, token := range lost.Tokens {
		status, _, err := reach(t, p.base, token).do(t.Context(), http.MethodGet, "/v1/outfit", nil)
		if err != nil || status != http.StatusUnauthorized {
			t.Errorf("the lost token of %s was answered with %d, %v", person, status, err)
		}
	}
	must(t, "audit", "--data", dir)
	p.stop(t)
}

// readTokens reads the demo's tokens, which only its own account may.
func readTokens(t *testing.T, dir string) demoKeys {
	t.Helper()
	file := filepath.Join(dir, demoKeysFile)
	info, err := os.Stat(file)
	if err != nil {
		t.Fatal(err)
	}
	if mode := info.Mode().Perm(); mode != 0o600 {
		t.Errorf("the tokens' file has the mode %o", mode)
	}
	keys, err := readKeys(file)
	if err != nil {
		t.Fatal(err)
	}
	return keys
}

func TestKilogramsAreWrittenWithASpaceAtTheThousands(t *testing.T) {
	t.Parallel()
	for kg, want := range map[float64]string{0: "0", 7.4: "7", 999.6: "1 000", 51113: "51 113", 1234567: "1 234 567", -45: "-45", -4500: "-4 500"} {
		if got := kilograms(kg); got != want {
			t.Errorf("%v kg is written %q, want %q", kg, got, want)
		}
	}
}
