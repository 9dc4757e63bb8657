package pages

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pullbook/api/locale"
)

// saidAt gives, by the name of what is called, which argument is the sentence.
var saidAt = map[string]int{
	"message.F": 0, "message.Errorf": 0, "fault.New": 1, "F": 0, "inOne": 1, "p.showAccount": 1, "said": 0, "w.say": 0,
	"c.wrong": 2, "c.clash": 2, "p.add": 2, "wrong.add": 2, "request.ParameterFault": 2, "ParameterFault": 2, "a.Fault": 0, "at.Fault": 0, "at.Missing": 0, "asked.Fault": 0, "asked.Missing": 0,
}

// spoken is what the program says: each English sentence, with where it stands,
// and the beginnings of those that end in a word from a list.
type spoken struct {
	sentences, beginnings map[string]string
}

func readSpoken(t *testing.T) spoken {
	t.Helper()
	s := spoken{map[string]string{}, map[string]string{}}
	for _, room := range []string{"..", "../../domain", "../../db"} {
		err := filepath.WalkDir(room, func(path string, d fs.DirEntry, err error) error {
			switch {
			case err != nil:
				return err
			case strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go"):
				s.readGo(t, path)
			case strings.HasSuffix(path, ".html"):
				s.readTemplate(t, path)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return s
}

func (s spoken) readGo(t *testing.T, path string) {
	t.Helper()
	source, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(source, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.CallExpr:
			name := nameOf(x.Fun)
			if at, ok := saidAt[name]; (ok || strings.HasSuffix(name, ".Say")) && at < len(x.Args) {
				s.said(x.Args[at], path)
			}
			s.readRange(x, path)
		case *ast.CompositeLit:
			if name := nameOf(x.Type); name == "message.Plural" || strings.HasSuffix(name, "Hint") {
				for _, e := range x.Elts {
					if pair, ok := e.(*ast.KeyValueExpr); ok {
						e = pair.Value
					}
					s.said(e, path)
				}
			}
			s.readFigures(x, path)
		case *ast.AssignStmt:
			if strings.HasSuffix(nameOf(x.Lhs[0]), "int.Format") {
				s.said(x.Rhs[0], path)
			}
		case *ast.ValueSpec:
			if strings.HasPrefix(x.Names[0].Name, "caution") {
				s.said(x.Values[0], path)
			}
		}
		return true
	})
}

// rangeChecks say by name which quantity they check, and in which unit.
var rangeChecks = map[string][]string{
	"checkRange": {"quantity|", "unit|"}, "uncertaintyRange": {"quantity|", "unit|"}, "rises": {"quantity|", "unit|"},
	"side": {"quantity|"}, "checkTemperature": {"quantity|"}, "checkTemperatureUpTo": {"quantity|"},
}

func (s spoken) readRange(x *ast.CallExpr, path string) {
	for i, beginning := range rangeChecks[nameOf(x.Fun)] {
		if literal, ok := x.Args[i].(*ast.BasicLit); ok {
			if text, err := strconv.Unquote(literal.Value); err == nil {
				s.sentences[beginning+text] = path
			}
		}
	}
}

// readFigures reads the formulas that answers name, and the quantities and
// units of what the science refuses.
func (s spoken) readFigures(x *ast.CompositeLit, path string) {
	beginnings := map[string]string{"Of": "", "Name": ""}
	switch name := nameOf(x.Type); {
	case strings.HasSuffix(name, "RangeError"):
		beginnings = map[string]string{"Quantity": "quantity|", "Unit": "unit|"}
	case name != "openapi.FormulaUsed":
		return
	}
	for _, e := range x.Elts {
		pair, ok := e.(*ast.KeyValueExpr)
		if !ok {
			continue
		}
		beginning, ours := beginnings[nameOf(pair.Key)]
		literal, ok := pair.Value.(*ast.BasicLit)
		if !ours || !ok {
			continue
		}
		if text, err := strconv.Unquote(literal.Value); err == nil {
			s.sentences[beginning+text] = path
		}
	}
}

// said takes a literal, or a literal with something after it.
func (s spoken) said(e ast.Expr, path string) {
	switch x := e.(type) {
	case *ast.BasicLit:
		if text, err := strconv.Unquote(x.Value); err == nil && x.Kind == token.STRING {
			s.sentences[text] = path
		}
	case *ast.BinaryExpr:
		for {
			left, ok := x.X.(*ast.BinaryExpr)
			if !ok {
				break
			}
			x = left
		}
		if first, ok := x.X.(*ast.BasicLit); ok {
			if text, err := strconv.Unquote(first.Value); err == nil {
				s.beginnings[text] = path
			}
		}
	}
}

func nameOf(e ast.Expr) string {
	switch x := e.(type) {
	case *ast.Ident:
		return x.Name
	case *ast.SelectorExpr:
		if of := nameOf(x.X); of != "" {
			return of + "." + x.Sel.Name
		}
	}
	return ""
}

var templateSentence = regexp.MustCompile("[{( |]t (\"(?:[^\"\\\\]|\\\\.)*\"|`[^`]*`)")

func (s spoken) readTemplate(t *testing.T, path string) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range templateSentence.FindAllStringSubmatch(string(text), -1) {
		sentence, err := strconv.Unquote(m[1])
		if err != nil {
			t.Errorf("%s: %s: %v", path, m[1], err)
		}
		s.sentences[sentence] = path
	}
}

var (
	place   = regexp.MustCompile(`%(\[\d+\])?s`)
	letters = regexp.MustCompile(`\p{L}`)
)

// needsWords reports whether there is more to a sentence than its places.
func needsWords(sentence string) bool {
	return letters.MatchString(place.ReplaceAllString(sentence, ""))
}

func TestEverySentenceIsInTheCatalogue(t *testing.T) {
	t.Parallel()
	s := readSpoken(t)
	for _, list := range enumerations() {
		for _, sentence := range list {
			s.sentences[sentence] = "enumerations"
		}
	}
	for lang, words := range locale.Catalogue {
		for _, sentence := range slices.Sorted(keysOf(s.sentences)) {
			if _, known := words[sentence]; !known && needsWords(sentence) {
				t.Errorf("%s is without %q (%s)", lang, sentence, s.sentences[sentence])
			}
		}
		for _, sentence := range slices.Sorted(keysOf(words)) {
			if _, used := s.sentences[sentence]; !used {
				t.Errorf("%s: nobody says %q any more", lang, sentence)
			}
			if !samePlaces(sentence, words[sentence]) {
				t.Errorf("%s: %q has other places than %q", lang, words[sentence], sentence)
			}
		}
	}
}

func keysOf(m map[string]string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

// samePlaces wants as many places in both, whatever their order.
func samePlaces(english, said string) bool {
	return len(place.FindAllString(english, -1)) == len(place.FindAllString(said, -1))
}

// Every sentence that ends in a word from a list has its list below, so that it
// is looked up in the catalogue too.
func TestEveryListOfWordsIsKnown(t *testing.T) {
	t.Parallel()
	lists := enumerations()
	for beginning, path := range readSpoken(t).beginnings {
		if strings.HasSuffix(beginning, "|") && len(lists[beginning]) == 0 {
			t.Errorf("%s: what comes after %q is in no list", path, beginning)
		}
	}
}
