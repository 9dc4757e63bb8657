package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// typed is some packages' sources with their types.
type typed struct {
	files *token.FileSet
	info  types.Info
	// others has the packages that are not read as sources.
	others types.Importer
	// packages and sources are by path.
	packages map[string]*types.Package
	sources  map[string][]*ast.File
	// bodies are the functions that the sources declare.
	bodies map[*types.Func]*ast.FuncDecl
}

// readTyped reads the packages below a path of this module, and their types. Of packages that
// those import it reads what the compiler keeps of them.
func readTyped(t *testing.T, below string) *typed {
	t.Helper()
	list := exec.CommandContext(t.Context(), "go", "list", "-export", "-deps", "-json=ImportPath,Dir,GoFiles,Export", "./"+below+"/...")
	list.Dir, list.Stderr = root, os.Stderr
	out, err := list.Output()
	if err != nil {
		t.Fatal(err)
	}
	p := &typed{
		files: token.NewFileSet(), packages: map[string]*types.Package{}, bodies: map[*types.Func]*ast.FuncDecl{}, sources: map[string][]*ast.File{},
		info: types.Info{Types: map[ast.Expr]types.TypeAndValue{}, Defs: map[*ast.Ident]types.Object{}, Uses: map[*ast.Ident]types.Object{}},
	}
	exports := map[string]string{}
	p.others = importer.ForCompiler(p.files, "gc", func(path string) (io.ReadCloser, error) { return os.Open(exports[path]) })
	for packages := json.NewDecoder(strings.NewReader(string(out))); ; {
		var one struct {
			ImportPath, Dir, Export string
			GoFiles                 []string
		}
		if err := packages.Decode(&one); errors.Is(err, io.EOF) {
			return p
		} else if err != nil {
			t.Fatal(err)
		}
		exports[one.ImportPath] = one.Export
		if !strings.HasPrefix(one.ImportPath+"/", "pullbook/"+below+"/") {
			continue
		}
		var sources []*ast.File
		for _, name := range one.GoFiles {
			path := filepath.Join(one.Dir, name)
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			sources = append(sources, p.parse(t, path, string(text)))
		}
		p.add(t, one.ImportPath, sources...)
	}
}

func (p *typed) parse(t *testing.T, name, text string) *ast.File {
	t.Helper()
	file, err := parser.ParseFile(p.files, name, text, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	return file
}

// add adds a package that imports only those before it, and packages of others.
func (p *typed) add(t *testing.T, path string, sources ...*ast.File) {
	t.Helper()
	made, err := (&types.Config{Importer: p}).Check(path, p.files, sources, &p.info)
	if err != nil {
		t.Fatal(err)
	}
	p.packages[path], p.sources[path] = made, sources
	for _, file := range sources {
		for _, d := range file.Decls {
			if f, is := d.(*ast.FuncDecl); is && f.Body != nil {
				p.bodies[p.info.Defs[f.Name].(*types.Func)] = f
			}
		}
	}
}

// Import makes typed a types.Importer.
func (p *typed) Import(path string) (*types.Package, error) {
	if own := p.packages[path]; own != nil {
		return own, nil
	}
	return p.others.Import(path)
}

func (p *typed) named(t *testing.T, path, name string) types.Type {
	t.Helper()
	pkg, err := p.Import(path)
	if err != nil {
		t.Fatal(err)
	}
	return pkg.Scope().Lookup(name).Type()
}

// heldWords finds what is put into words while a book is held.
type heldWords struct {
	*typed
	book, text types.Type
	voice      *types.Interface
	voiceFor   types.Object
	// except is a package that may.
	except string
	seen   map[ast.Node]bool
	found  []string
}

// findHeldWords looks at each function that takes a book, and at all of the sources that it
// calls or hands on, except for those of one package. Whoever gives a function a book holds it:
// books.Read, a cursor's step and all that is built on them. What is behind an interface or in
// another module is not seen.
//
// What runs later is not held: a function that takes a voice, since nobody has one for it yet,
// and a literal that is returned. The one mention of a voice that is not too early is to take
// the reader's along: f = request.VoiceFor(ctx, outfit, book).
func findHeldWords(t *testing.T, p *typed, except string) []string {
	t.Helper()
	w := &heldWords{
		typed: p, book: types.NewPointer(p.named(t, "pullbook/domain/ledger", "Book")), text: p.named(t, "pullbook/domain/message", "Text"),
		voice:    p.named(t, "pullbook/domain/message", "Voice").Underlying().(*types.Interface),
		voiceFor: p.packages["pullbook/api/request"].Scope().Lookup("VoiceFor"), except: except, seen: map[ast.Node]bool{},
	}
	for path, sources := range p.sources {
		if path == except {
			continue
		}
		for _, file := range sources {
			ast.Inspect(file, func(n ast.Node) bool {
				switch f := n.(type) {
				case *ast.FuncDecl:
					if f.Body != nil && w.takes(f.Type, w.isBook) && p.info.Defs[f.Name] != w.voiceFor {
						w.look(f.Body)
					}
				case *ast.FuncLit:
					if w.takes(f.Type, w.isBook) {
						w.look(f.Body)
					}
				}
				return true
			})
		}
	}
	slices.Sort(w.found)
	return w.found
}

func (w *heldWords) isBook(t types.Type) bool { return types.Identical(t, w.book) }

// isVoice reports whether a type speaks: a locale.Voice, and all that has one in it.
func (w *heldWords) isVoice(t types.Type) bool {
	return t != nil && (types.Implements(t, w.voice) || types.Implements(types.NewPointer(t), w.voice))
}

func (w *heldWords) takes(f *ast.FuncType, is func(types.Type) bool) bool {
	return slices.ContainsFunc(f.Params.List, func(p *ast.Field) bool { return is(w.info.Types[p.Type].Type) })
}

// look goes through the body of a function that runs while a book is held.
func (w *heldWords) look(body *ast.BlockStmt) {
	if w.seen[body] {
		return
	}
	w.seen[body] = true
	later := map[ast.Node]bool{}
	ast.Inspect(body, func(n ast.Node) bool {
		switch x := n.(type) {
		case *ast.ReturnStmt:
			for _, r := range x.Results {
				_, literal := ast.Unparen(r).(*ast.FuncLit)
				later[ast.Unparen(r)] = literal
			}
		case *ast.AssignStmt:
			w.takenAlong(x, later)
		case *ast.FuncLit:
			return !later[x] && !w.takes(x.Type, w.isVoice)
		case *ast.Ident:
			w.use(x)
		}
		e, is := n.(ast.Expr)
		return !is || !later[n] && w.maySay(e)
	})
}

// takenAlong marks the reader's voice where it is only taken along.
func (w *heldWords) takenAlong(x *ast.AssignStmt, later map[ast.Node]bool) {
	for i, r := range x.Rhs {
		call, is := r.(*ast.CallExpr)
		if !is || len(x.Lhs) != len(x.Rhs) {
			continue
		}
		if name, is := call.Fun.(*ast.SelectorExpr); is && w.info.Uses[name.Sel] == w.voiceFor {
			later[r], later[x.Lhs[i]] = true, true
		}
	}
}

// use goes on to what is called, or handed to be called.
func (w *heldWords) use(name *ast.Ident) {
	f, is := w.info.Uses[name].(*types.Func)
	if !is {
		return
	}
	if f.FullName() == "("+w.text.String()+").String" {
		w.find(name, "makes a text English")
	}
	of := f.Signature().Recv()
	if d := w.bodies[f.Origin()]; d != nil && f.Pkg().Path() != w.except && !w.takes(d.Type, w.isVoice) && (of == nil || !w.isVoice(of.Type())) {
		w.look(d.Body)
	}
}

// maySay complains of a voice, below which it does not look, and of a text that is printed.
func (w *heldWords) maySay(e ast.Expr) bool {
	if kind := w.info.Types[e]; !kind.IsType() && w.isVoice(kind.Type) {
		w.find(e, "is a voice")
		return false
	}
	call, is := e.(*ast.CallExpr)
	if !is {
		return true
	}
	name, is := call.Fun.(*ast.SelectorExpr)
	if !is || w.info.Uses[name.Sel] == nil || w.info.Uses[name.Sel].Pkg() == nil || w.info.Uses[name.Sel].Pkg().Path() != "fmt" {
		return true
	}
	for _, arg := range call.Args {
		if types.Identical(w.info.Types[arg].Type, w.text) {
			w.find(arg, "is a text that is printed")
		}
	}
	return true
}

func (w *heldWords) find(e ast.Expr, what string) {
	at := w.files.Position(e.Pos())
	name := at.Filename
	if dir, err := filepath.Abs(root); err == nil {
		name = strings.TrimPrefix(name, dir+string(filepath.Separator))
	}
	w.found = append(w.found, fmt.Sprintf("%s:%d: %s %s", filepath.ToSlash(name), at.Line, types.ExprString(e), what))
}

// relapses say something while a book is held, on each line that says so, and nowhere else.
const relapses = `package relapse

import (
	"fmt"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
)

var said string

func inALiteral(ctx echo.Context, books *books.Books) (string, error) {
	var f locale.Voice
	var name message.Text
	err := books.Read(ctx.Request().Context(), request.Principal(ctx), func(o db.Outfit, b *ledger.Book) error {
		f = request.VoiceFor(ctx, o, b)
		said = f.Say("nothing")                    // early
		said = request.VoiceFor(ctx, o, b).Mass    // early
		maker := form.NewMaker(f, form.Things{})   // early
		maker.Errors = nil                         // early
		name = season.EntryName(b, ledger.ID{})
		said = name.In(message.English{})          // early
		said = name.String()                       // early
		said = fmt.Sprintf("%s", name)             // early
		b.InForceOf(ledger.KindYard, func(root ledger.ID, _ *ledger.Entry) bool {
			said = f.Grams(b.Len())                // early
			return true
		})
		now := func() { said = f.Mass }            // early
		now()
		return nil
	})
	return name.In(f), err
}

func inAStep(steps *books.Cursor, f locale.Voice) error {
	return steps.Step(func(b *ledger.Book) error {
		said = f.Count(int(b.Len()))               // early
		return nil
	})
}

func withBoth(f locale.Voice, b *ledger.Book) string {
	return season.EntryName(b, ledger.ID{}).In(f)  // early
}

func byOthers(b *ledger.Book) []string {
	names := []message.Text{season.EntryName(b, ledger.ID{})}
	said = english(names[0])
	return wire.Each(names, message.Text.String)   // early
}

func english(t message.Text) string {
	return t.String()                              // early
}

func later(ctx echo.Context, o db.Outfit, b *ledger.Book) (func(locale.Voice) string, func() string) {
	name, f := season.EntryName(b, ledger.ID{}), request.VoiceFor(ctx, o, b)
	inWords := func(f locale.Voice) string { return name.In(f) }
	return inWords, func() string { return name.In(f) + english(name) }
}
`

// While a book is looked at, nobody can record. So what needs no book, such as to put it into
// words, waits until the book is free. The rows of feeds are the exception: a step writes down
// a bounded number of them.
func TestNothingIsPutIntoWordsWhileABookIsHeld(t *testing.T) {
	t.Parallel()
	p := readTyped(t, "api")
	for _, found := range findHeldWords(t, p, "pullbook/api/feeds") {
		t.Error(found)
	}
	p.add(t, "pullbook/api/relapse", p.parse(t, "relapse.go", relapses))
	found := strings.Join(findHeldWords(t, p, "pullbook/api/feeds"), "\n")
	number := 0
	for line := range strings.Lines(relapses) {
		number++
		if early := strings.Contains(line, "// early"); early != strings.Contains(found, fmt.Sprintf("relapse.go:%d:", number)) {
			t.Errorf("line %d is early: %v, but what is found is\n%s", number, early, found)
		}
	}
}
