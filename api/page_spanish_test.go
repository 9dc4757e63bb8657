package api_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode"

	"golang.org/x/net/html"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
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

// englishWord is a word that every piece of English prose has, and no Spanish one,
// or the English of something that every page of a honey house names.
var englishWord = regexp.MustCompile(`(^|[^\p{L}])(the|and|with|which|from|is|are|was|were|not|without|than|of|for|by|at least|at most|below|above|between|when|only|includes|every|honey|moisture|container|containers|lot|rule|table|undated|voluntary|grade one|units|scale|points)($|[^\p{L}])`)

// ownWords are what people of the outfit wrote, and the names of published texts
// that stay as they were published: longest first.
func ownWords(t *testing.T, h *apitest.House) []string {
	t.Helper()
	own := map[string]bool{h.Name: true}
	for _, e := range h.Written {
		own[e.Reason] = true
		data, err := json.Marshal(e.Body)
		if err != nil {
			t.Fatal(err)
		}
		var body map[string]any
		if err := json.Unmarshal(data, &body); err != nil {
			t.Fatal(err)
		}
		delete(body, "found") // which the book said
		eachText(body, func(text string) { own[text] = true })
	}
	for _, set := range publishedRuleSets(t) {
		own[set.ID] = true
		for _, said := range append([]message.Text{set.SaidTitle()}, sayEach(set.Grades, standard.SayGrade)...) {
			if said.Format == "%s" {
				own[said.String()] = true
			}
		}
	}
	return slices.SortedFunc(maps.Keys(own), func(a, b string) int { return cmp.Or(len(b)-len(a), strings.Compare(a, b)) })
}

func sayEach(words []string, sayOne func(string) message.Text) (out []message.Text) {
	for _, w := range words {
		out = append(out, sayOne(w))
	}
	return out
}

func eachText(value any, f func(string)) {
	switch x := value.(type) {
	case string:
		f(x)
	case map[string]any:
		for _, v := range x {
			eachText(v, f)
		}
	case []any:
		for _, v := range x {
			eachText(v, f)
		}
	}
}

// sealText finds the seals of certificates, whose random letters may spell a word.
var sealText = regexp.MustCompile(`[\w-]{40,}`)

// noEnglish reports English words in a text, except for what people wrote.
func noEnglish(t *testing.T, where, text string, own []string) {
	t.Helper()
	for _, words := range own {
		if len(words) > 3 {
			text = strings.ReplaceAll(text, words, "·")
		}
	}
	text = sealText.ReplaceAllString(text, "·")
	for _, at := range englishWord.FindAllStringIndex(text, -1) {
		t.Errorf("%s has English in %q", where, strings.Join(strings.Fields(text[max(0, at[0]-60):min(len(text), at[1]+60)]), " "))
	}
}

// Whoever reads Spanish meets no English sentence on any page of a season.
func TestNoPageMixesLanguages(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	entries := demo.Outfit(demo.Options{Seed: 7, Location: loc, FirstYear: 2025, Seasons: 2, Outline: 1, Yards: 8, Supers: 300, Runs: 8, Happenings: true}).Entries
	h := apitest.Open(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "metric"}, entries)
	h.SignIn(t)
	english, own := englishFragments(t), ownWords(t, h)
	seen, waiting := map[string]bool{}, []string{"/", "/calculators", "/record", "/nowhere", apitest.AskMoisture, apitest.AskWarming, apitest.AskHMF}
	kinds := map[ledger.Kind]bool{}
	for _, e := range entries { // one entry of each kind, and every lot
		kind := e.Body.Kind()
		if !kinds[kind] {
			kinds[kind] = true
			waiting = append(waiting, "/journal/"+e.ID.String()+"#"+string(kind))
		}
		if kind == ledger.KindLot {
			waiting = append(waiting, "/lots/"+e.ID.String()+"#"+e.ID.String()[:2], "/lots/"+e.ID.String()+"/sheet#"+e.ID.String()[:2])
		}
	}
	pages := 0
	for len(waiting) > 0 {
		path := waiting[0]
		waiting = waiting[1:]
		shape := uuidInPath.ReplaceAllString(path, "*")
		if seen[shape] || noPage.MatchString(path) || !strings.HasPrefix(path, "/") {
			continue
		}
		seen[shape] = true
		response, body := h.Send(t, http.MethodGet, path, nil, http.Header{"Accept-Language": {"es-ES"}})
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
		noEnglish(t, path, text, own)
		waiting = append(waiting, links...)
	}
	if pages < 12 {
		t.Errorf("only %d pages were found", pages)
	}
}

func publishedRuleSets(t *testing.T) []*standard.RuleSet {
	t.Helper()
	library, err := standard.Published()
	if err != nil {
		t.Fatal(err)
	}
	return library.All()
}

// publishedClauses are those that are quoted as they were published, longest first.
func publishedClauses(t *testing.T) []string {
	t.Helper()
	quoted := map[string]bool{}
	for _, set := range publishedRuleSets(t) {
		for _, l := range set.Limits {
			if standard.LanguageOf(standard.SayClause(l.Clause)) != "" {
				quoted[l.Clause] = true
			}
		}
	}
	return slices.SortedFunc(maps.Keys(quoted), func(a, b string) int { return cmp.Or(len(b)-len(a), strings.Compare(a, b)) })
}

// sheetsSpeakSpanish has a lot's sheet say the limits of a few rule sets at a time, as
// many as it has room for.
func sheetsSpeakSpanish(t *testing.T, h *apitest.LotHouse, on string, sets []ledger.RuleSetRef, own []string) {
	t.Helper()
	spanish := http.Header{"Accept-Language": {"es-ES"}}
	h.RecordMore(t, apitest.EntryAt(4.3, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.Other}, Laboratory: "Fern Valley", ContainersSampled: 1,
		Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.4}, Measured: []ledger.Measured{{Quantity: "colour_mm_pfund", Value: 30}, {Quantity: "sucrose_g_per_100g", Value: 3, LessThan: true}}}))
	for few := range slices.Chunk(sets, 3) {
		check := apitest.EntryAt(5.1, &ledger.Check{LotID: h.Other, On: standard.Date(on), RuleSets: few})
		h.RecordMore(t, check)
		_, sheet := h.Send(t, http.MethodGet, "/lots/"+h.Other.String()+"/sheet", nil, spanish)
		text, _ := visible(t, sheet)
		noEnglish(t, fmt.Sprint("the sheet by ", few), text, own)
		_, pdf := h.Send(t, http.MethodGet, "/lots/"+h.Other.String()+"/sheet.pdf", nil, spanish)
		printed := pdfText(t, []byte(pdf))
		noEnglish(t, fmt.Sprint("the PDF by ", few), printed, append(own, publishedClauses(t)...))
		if slices.ContainsFunc(few, func(r ledger.RuleSetRef) bool { return r.Standard == "eu-2001-110" }) {
			wants(t, "the sheet", sheet, "como mucho 20 %", "Directiva 2001/110/CE del Consejo", `<span lang="en">Annex II point 2</span>`, "menos de 3", "17,4")
			wants(t, "the PDF", said(printed), "como mucho 20 %", "Directiva 2001/110/CE del Consejo")
		}
		withdrawn := apitest.EntryAt(5.2, &ledger.Withdrawal{})
		withdrawn.Replaces, withdrawn.Reason = check.ID, "only to look"
		h.RecordMore(t, withdrawn)
	}
}

// Which lots a limit is for is asked for as the contract has it where it rests on
// several things, and read in words.
func TestConditionsAreReadInWords(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	limit := standard.Limit{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "18.0", Clause: "3",
		When: &standard.Condition{All: []standard.Condition{
			{Attribute: "kind", Only: []string{"robinia_pseudoacacia", "citrus"}},
			{Not: &standard.Condition{Attribute: "processing", Includes: []string{"pressed"}}},
			{Result: &standard.ResultTest{Parameter: "hmf", Unit: "mg/kg", Comparator: "<=", Limit: standard.MustDecimal("15")}}}}}
	terms := apitest.EntryAt(5, &ledger.RuleSet{Name: "Northgate", Citation: "contract 7", Form: standard.FormLimits, Limits: []standard.Limit{limit}})
	h.RecordMore(t, terms)
	for _, c := range []struct{ path, lang, says string }{
		{"/journal/" + terms.ID.String(), "es-ES", "clase de miel es solo acacia blanca (Robinia pseudoacacia) o cítricos, no (proceso incluye prensada) y HMF como mucho 15 mg/kg"},
		{"/journal/" + terms.ID.String(), "en-GB", "kind is only false acacia (Robinia pseudoacacia) or citrus, not (processing includes pressed) and HMF at most 15 mg/kg"},
	} {
		_, page := h.Send(t, http.MethodGet, c.path, nil, http.Header{"Accept-Language": {c.lang}})
		wants(t, c.path+" "+c.lang, page, c.says)
	}
}

// A lot that was held against every rule set there is, by readings of all sorts:
// its page, its sheet and the sheet's PDF speak Spanish, and the check that was
// stored is said from its figures.
func TestALotSpeaksSpanishByEveryRuleSet(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	const on = "2026-07-06"
	check := &ledger.Check{LotID: h.Lot, On: on}
	for _, set := range publishedRuleSets(t) {
		if set.InForce(on) {
			check.RuleSets = append(check.RuleSets, ledger.RuleSetRef{Standard: set.ID})
		}
	}
	h.RecordMore(t,
		apitest.EntryAt(4.2, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.Lot}, Laboratory: "Fern Valley", ContainersSampled: 1,
			Measured: []ledger.Measured{{Quantity: "colour_mm_pfund", Value: 30}, {Quantity: "sucrose_g_per_100g", Value: 3, LessThan: true}}}),
		apitest.EntryAt(5, check),
	)
	own := ownWords(t, h.House)
	spanish := http.Header{"Accept-Language": {"es-ES"}}
	paths := []string{h.Path(), h.Path() + "/sheet", "/lots"}
	for _, set := range publishedRuleSets(t) {
		if set.InForce(on) {
			paths = append(paths, "/lots?rule_set="+set.ID)
		}
	}
	for _, path := range paths {
		response, page := h.Send(t, http.MethodGet, path, nil, spanish)
		if response.StatusCode != http.StatusOK {
			t.Fatalf("%s answered %s", path, response.Status)
		}
		text, _ := visible(t, page)
		noEnglish(t, path, text, own)
	}
	_, sheet := h.Send(t, http.MethodGet, h.Path()+"/sheet", nil, spanish)
	wants(t, "the sheet", sheet, "Directiva 2001/110/CE del Consejo", "El libro tiene los límites uno a uno", "menos de 3")
	sheetsSpeakSpanish(t, h, on, check.RuleSets, own)
	// Programs still get what was stored, in English.
	stored, err := json.Marshal(h.Ask(t, "checks"))
	if err != nil {
		t.Fatal(err)
	}
	wants(t, "for a program", string(stored), `"limit":"at most 20 %"`, `"clause":"Annex II point 2"`, "Moisture meets: 17.4", "Council Directive 2001/110/EC relating to honey")
}
