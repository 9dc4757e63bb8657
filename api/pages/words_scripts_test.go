package pages

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// scriptsSource is what stands in the pages' scripts, by name, without comments.
func scriptsSource(t *testing.T) map[string]string {
	t.Helper()
	names, err := filepath.Glob("../web/assets/*.js")
	if err != nil || len(names) == 0 {
		t.Fatalf("no scripts: %v", err)
	}
	comment := regexp.MustCompile(`(?m)(^|\s)//.*$`)
	out := map[string]string{}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(name)] = comment.ReplaceAllString(string(text), "")
	}
	return out
}

// pieces are the parts of a list of arguments, or of a choice between words, up
// to the bracket that closes it. A mark in a string or within brackets parts
// nothing.
func pieces(text string, marks string) (out []string) {
	depth, begin := 0, 0
	var quote byte
	for i := 0; i < len(text); i++ {
		c := text[i]
		switch {
		case quote != 0:
			if c == '\\' {
				i++
			} else if c == quote {
				quote = 0
			}
		case strings.IndexByte("\"'`", c) >= 0:
			quote = c
		case strings.IndexByte("([{", c) >= 0:
			depth++
		case strings.IndexByte(")]}", c) >= 0:
			if depth--; depth < 0 {
				return append(out, strings.TrimSpace(text[begin:i]))
			}
		case depth == 0 && strings.IndexByte(marks, c) >= 0:
			out = append(out, strings.TrimSpace(text[begin:i]))
			begin = i + 1
		}
	}
	return append(out, strings.TrimSpace(text[begin:]))
}

var (
	literal  = regexp.MustCompile(`^"([^"\\]*)"$`)
	prefixed = regexp.MustCompile(`^"([^"\\]*)" \+ ([\w.]+)$`)
	saying   = regexp.MustCompile(`\bsay\(`)
)

// words that a script finds by something that is no literal.
type computed map[string][]string

// keys are what the first argument of say can be.
func (c computed) keys(expression string) ([]string, error) {
	if m := literal.FindStringSubmatch(expression); m != nil {
		return []string{m[1]}, nil
	}
	if m := prefixed.FindStringSubmatch(expression); m != nil && len(c[m[2]]) > 0 {
		var out []string
		for _, word := range c[m[2]] {
			out = append(out, m[1]+word)
		}
		return out, nil
	}
	if len(c[expression]) > 0 {
		return c[expression], nil
	}
	if parts := pieces(expression, "?:"); len(parts) == 3 {
		one, err := c.keys(parts[1])
		if err != nil {
			return nil, err
		}
		other, err := c.keys(parts[2])
		return append(one, other...), err
	}
	return nil, fmt.Errorf("it cannot be told what say(%s) says", expression)
}

// computedIn reads the lists that the scripts find words in: how an entry ended
// (one that waits is said otherwise), where a sample is drawn, what an instrument
// shows, and what the book flags.
func computedIn(t *testing.T, scripts map[string]string) computed {
	t.Helper()
	var ended []string
	for _, m := range regexp.MustCompile(`\bstate: "(\w+)"`).FindAllStringSubmatch(scripts["queue.js"], -1) {
		if m[1] != "waiting" && !slices.Contains(ended, m[1]) {
			ended = append(ended, m[1])
		}
	}
	drawn := regexp.MustCompile(`\[([^\]]*)\]\.map\(p => \(\{value: p, label: say\(p\)`).FindStringSubmatch(scripts["kinds.js"])
	flags, err := os.ReadFile("../../domain/ledger/flag.go")
	if err != nil || drawn == nil {
		t.Fatalf("where samples are drawn: %v; flags: %v", drawn, err)
	}
	c := computed{"e.state": ended, "mine.state": ended}
	for _, p := range pieces(drawn[1], ",") {
		c["p"] = append(c["p"], strings.Trim(p, `"`))
	}
	for _, m := range regexp.MustCompile(`\sCode = "(\w+)"`).FindAllStringSubmatch(string(flags), -1) {
		c["f.code"] = append(c["f.code"], m[1])
	}
	for _, m := range regexp.MustCompile(`(?m)^\t(\w+): \{what: `).FindAllStringSubmatch(scripts["scales.js"], -1) {
		c["i.scale"] = append(c["i.scale"], m[1])
	}
	if len(c["i.scale"]) != 3 || len(ended) != 3 || len(c["p"]) < 3 || len(c["f.code"]) < 20 {
		t.Fatalf("read %v", c)
	}
	return c
}

var handed = regexp.MustCompile(`(?m)^"([^"]+)": \{\{t "((?:[^"\\]|\\.)*)"\}\}`)

// The scripts of the recording page say what its block of words holds, with as
// many things in it as the sentence has places, and the block holds no more.
func TestTheScriptsHaveTheirWords(t *testing.T) {
	t.Parallel()
	page, err := os.ReadFile("../web/pages/record.html")
	if err != nil {
		t.Fatal(err)
	}
	_, block, _ := strings.Cut(string(page), `id="words">`)
	places := map[string]int{}
	for _, m := range handed.FindAllStringSubmatch(block, -1) {
		if _, twice := places[m[1]]; twice {
			t.Errorf("%q stands twice in the block of words", m[1])
		}
		places[m[1]] = len(place.FindAllString(m[2], -1))
	}
	scripts := scriptsSource(t)
	computed := computedIn(t, scripts)
	said := map[string]bool{}
	for name, source := range scripts {
		for _, at := range saying.FindAllStringIndex(source, -1) {
			if strings.HasSuffix(source[:at[0]], "function ") {
				continue
			}
			arguments := pieces(source[at[1]:], ",")
			keys, err := computed.keys(arguments[0])
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
			for _, key := range keys {
				said[key] = true
				if want, known := places[key]; !known {
					t.Errorf("%s says %q, which is not in the page's block of words", name, key)
				} else if len(arguments)-1 != want {
					t.Errorf("%s says %q with %d things, for which it has %d places", name, key, len(arguments)-1, want)
				}
			}
		}
	}
	for key := range places {
		if !said[key] {
			t.Errorf("no script says %q", key)
		}
	}
	if len(said) < 100 {
		t.Errorf("only %d words were found", len(said))
	}
}

var (
	besideThings = regexp.MustCompile(`\sdata-([a-z]+)="\{\{t `)
	readBeside   = regexp.MustCompile(`\.dataset\.(\w+)(\s*=[^=])?`)
)

// Other scripts find their words beside what they speak of: each that a page hands
// over is read, and each that is read is handed over, unless a script put it there.
func TestTheScriptsReadTheWordsThatStandBesideThings(t *testing.T) {
	t.Parallel()
	there, used, own := map[string]bool{}, map[string]string{}, map[string]bool{}
	pages, err := filepath.Glob("../web/pages/*.html")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range append(pages, "../web/layout.html") {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range besideThings.FindAllStringSubmatch(string(text), -1) {
			there[m[1]] = true
		}
		for _, m := range regexp.MustCompile(`\sdata-([a-z]+)="(?:[^{"]|\{\{\.)`).FindAllStringSubmatch(string(text), -1) {
			own[m[1]] = true // a plain value, or one of the view's: no word
		}
	}
	for name, source := range scriptsSource(t) {
		for _, m := range readBeside.FindAllStringSubmatch(source, -1) {
			if m[2] != "" {
				own[m[1]] = true
			} else {
				used[m[1]] = name
			}
		}
		for _, m := range regexp.MustCompile(`"data-(\w+)":`).FindAllStringSubmatch(source, -1) {
			own[m[1]] = true
		}
	}
	for word, name := range used {
		if !there[word] && !own[word] {
			t.Errorf("%s reads data-%s, which no page has", name, word)
		}
	}
	for word := range there {
		if used[word] == "" {
			t.Errorf("no script reads data-%s", word)
		}
	}
	if len(there) < 5 {
		t.Errorf("pages hand over only %v", there)
	}
}
