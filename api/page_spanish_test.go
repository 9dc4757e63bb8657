package api_test

import (
	"encoding/json"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode"

	"golang.org/x/net/html"

	"pullbook/db"
	"pullbook/domain/invented"
)

// englishFragments are what shows that a page speaks English: the longest piece
// of each sentence of the catalogue between its places, where it is no Spanish
// too.
func englishFragments(t *testing.T) map[string]bool {
	t.Helper()
	files, err := filepath.Glob("web/words/es/*.json")
	if err != nil || len(files) == 0 {
		t.Fatalf("no words: %v", err)
	}
	out, spanish := map[string]bool{}, ""
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var words map[string]string
		if err := json.Unmarshal(text, &words); err != nil {
			t.Fatal(err)
		}
		for english, said := range words {
			spanish += said + "\n"
			if _, rest, ok := strings.Cut(english, "|"); ok {
				english = rest
			}
			longest := ""
			for _, piece := range strings.Split(english, "%s") {
				if piece = strings.TrimSpace(strings.ReplaceAll(piece, "%%", "%")); len(piece) > len(longest) {
					longest = piece
				}
			}
			if countLetters(longest) > 12 {
				out[longest] = true
			}
		}
	}
	for piece := range out {
		if strings.Contains(spanish, piece) {
			delete(out, piece)
		}
	}
	return out
}

func countLetters(s string) (n int) {
	for _, r := range s {
		if unicode.IsLetter(r) {
			n++
		}
	}
	return n
}

// visible is the text of a page and what its attributes say to people, but for
// what is marked as English; links are where it leads.
func visible(t *testing.T, page string) (text string, links []string) {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	var walk func(n *html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.TextNode {
			out.WriteString(n.Data)
		}
		for _, a := range n.Attr {
			switch {
			case a.Key == "lang" && a.Val == "en" || n.Data == "script" || n.Data == "style":
				return
			case a.Key == "href" && n.Data == "a":
				links = append(links, a.Val)
			case a.Key == "alt" || a.Key == "title" || a.Key == "placeholder" || a.Key == "aria-label" || strings.HasPrefix(a.Key, "data-"):
				out.WriteString("\n" + a.Val + "\n")
			}
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(root)
	return out.String(), links
}

var (
	uuidInPath = regexp.MustCompile(`[0-9a-f]{8}-[0-9a-f-]{27}|\d+`)
	noPage     = regexp.MustCompile(`^/(docs|v1|feeds|openapi|assets)|\.(pdf|csv|svg|xlsx)`)
)

// indexOfWords is where whole words begin in a text; -1 where they do not occur.
func indexOfWords(text, words string) int {
	if m := regexp.MustCompile(`(?:^|[^\p{L}])` + regexp.QuoteMeta(words) + `(?:$|[^\p{L}])`).FindStringIndex(text); m != nil {
		return m[0]
	}
	return -1
}

// Whoever reads Spanish meets no English sentence on any page of a season.
func TestNoPageMixesLanguages(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	entries := invented.Outfit(invented.Options{Seed: 7, Location: loc, FirstYear: 2025, Seasons: 2, Outline: 1, Yards: 8, Supers: 300, Runs: 8}).Entries
	h := pagesOf(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "metric"}, entries)
	h.signIn(t)
	english := englishFragments(t)
	seen, waiting := map[string]bool{}, []string{"/", "/calculators", "/record", "/nowhere", askMoisture, askWarming, askHMF}
	pages := 0
	for len(waiting) > 0 {
		path := waiting[0]
		waiting = waiting[1:]
		shape := uuidInPath.ReplaceAllString(path, "*")
		if seen[shape] || noPage.MatchString(path) || !strings.HasPrefix(path, "/") {
			continue
		}
		seen[shape] = true
		response, body := h.send(t, http.MethodGet, path, nil, http.Header{"Accept-Language": {"es-ES"}})
		if response.Header.Get("Content-Type") != "text/html; charset=UTF-8" {
			continue
		}
		pages++
		text, links := visible(t, body)
		for piece := range english {
			if !strings.Contains(text, piece) {
				continue
			}
			if at := indexOfWords(text, piece); at >= 0 {
				t.Errorf("%s says %q in %q", path, piece, text[max(0, at-60):min(len(text), at+60)])
			}
		}
		waiting = append(waiting, links...)
	}
	if pages < 12 {
		t.Errorf("only %d pages were found", pages)
	}
}
