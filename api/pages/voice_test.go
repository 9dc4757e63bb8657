package pages

import (
	"go/ast"
	"go/parser"
	"go/token"
	"go/types"
	"path/filepath"
	"slices"
	"testing"
)

// While a page looks at a book, nobody can record. viewOf sees to it that kept pages have no
// voice then; this test is for the functions that the others call.
func TestNoFunctionHasBothABookAndAVoice(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	var both []string
	for _, name := range files {
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			f, is := d.(*ast.FuncDecl)
			if !is {
				continue
			}
			var takes []string
			for _, p := range f.Type.Params.List {
				takes = append(takes, types.ExprString(p.Type))
			}
			if slices.Contains(takes, "*ledger.Book") && (slices.Contains(takes, "locale.Voice") || slices.Contains(takes, "form.Maker")) {
				both = append(both, f.Name.Name)
			}
		}
	}
	if len(both) > 0 {
		t.Errorf("these take a book and a voice: %v", both)
	}
}
