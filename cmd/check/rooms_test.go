package main

import (
	"cmp"
	"fmt"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

const root = "../.."

// room is a line of the table of rooms in DEVELOPERS.md.
type room struct {
	name string
	// floor counts lines from the bottom of the table.
	floor      int
	everything bool
	imports    []string
}

var quotedName = regexp.MustCompile("`([a-z/]+)`")

// readRooms returns the rooms of the table in a text, the highest first.
func readRooms(text string) []room {
	var rooms []room
	for line := range strings.Lines(text) {
		cells := strings.Split(strings.TrimSpace(line), "|")
		if len(cells) != 5 || !strings.HasPrefix(line, "| `") {
			if len(rooms) > 0 {
				break
			}
			continue
		}
		r := room{name: quotedName.FindStringSubmatch(cells[1])[1], everything: strings.TrimSpace(cells[3]) == "everything"}
		for _, m := range quotedName.FindAllStringSubmatch(cells[3], -1) {
			r.imports = append(r.imports, m[1])
		}
		rooms = append(rooms, r)
	}
	for i := range rooms {
		rooms[i].floor = len(rooms) - i
	}
	return rooms
}

// roomOf returns the room with the longest name that begins a package's path.
func roomOf(rooms []room, pkg string) (room, bool) {
	within := slices.DeleteFunc(slices.Clone(rooms), func(r room) bool {
		return pkg != r.name && !strings.HasPrefix(pkg, r.name+"/")
	})
	if len(within) == 0 {
		return room{}, false
	}
	return slices.MaxFunc(within, func(a, b room) int { return cmp.Compare(len(a.name), len(b.name)) }), true
}

// wrongImports says where the sources below dir import what their rooms may not.
func wrongImports(dir string, rooms []room) (wrong []string, err error) {
	err = filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != dir && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata") {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		source, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		name = filepath.ToSlash(name)
		from, known := roomOf(rooms, strings.TrimSuffix(name, "/"+filepath.Base(path)))
		if !known {
			wrong = append(wrong, name+" is in no room of the table")
			return nil
		}
		for _, spec := range source.Imports {
			pkg, own := strings.CutPrefix(strings.Trim(spec.Path.Value, `"`), "pullbook/")
			if !own {
				continue
			}
			to, known := roomOf(rooms, pkg)
			switch {
			case !known:
				wrong = append(wrong, fmt.Sprintf("%s imports %s, which is in no room of the table", name, pkg))
			case to.name != from.name && to.floor >= from.floor:
				wrong = append(wrong, fmt.Sprintf("%s (room %s) imports %s, which stands above it", name, from.name, pkg))
			case to.name != from.name && !from.everything && !slices.Contains(from.imports, to.name):
				wrong = append(wrong, fmt.Sprintf("%s (room %s) imports %s, which the table does not name", name, from.name, pkg))
			}
		}
		return nil
	})
	return wrong, err
}

func tableOfRooms(t *testing.T) []room {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	rooms := readRooms(string(text))
	if len(rooms) < 10 {
		t.Fatalf("the table of rooms in DEVELOPERS.md has %d lines", len(rooms))
	}
	return rooms
}

func TestRoomsImportWhatTheTableSays(t *testing.T) {
	t.Parallel()
	rooms := tableOfRooms(t)
	wrong, err := wrongImports(root, rooms)
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range wrong {
		t.Error(w)
	}
	for _, r := range rooms {
		if _, err := os.Stat(filepath.Join(root, r.name)); err != nil {
			t.Errorf("the table has the room %s: %v", r.name, err)
		}
		for _, to := range r.imports {
			if at := slices.IndexFunc(rooms, func(x room) bool { return x.name == to }); at < 0 || rooms[at].floor >= r.floor {
				t.Errorf("the room %s may import %s by the table, which is no room below it", r.name, to)
			}
		}
	}
}

func TestAnImportThatGoesUpIsFound(t *testing.T) {
	t.Parallel()
	for _, test := range []struct{ path, source, want string }{
		{"domain/honey/up.go", "package honey\n\nimport _ \"pullbook/db\"\n", "domain/honey/up.go (room domain) imports db, which stands above it"},
		{"api/wire/across.go", "package wire\n\nimport _ \"pullbook/migrations\"\n", "api/wire/across.go (room api/wire) imports migrations, which the table does not name"},
		{"shed/shed.go", "package shed\n", "shed/shed.go is in no room of the table"},
	} {
		tree := t.TempDir()
		if err := os.CopyFS(filepath.Join(tree, "domain"), os.DirFS(filepath.Join(root, "domain"))); err != nil {
			t.Fatal(err)
		}
		if err := os.MkdirAll(filepath.Join(tree, filepath.Dir(test.path)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(tree, test.path), []byte(test.source), 0o644); err != nil {
			t.Fatal(err)
		}
		wrong, err := wrongImports(tree, tableOfRooms(t))
		if err != nil || len(wrong) != 1 || wrong[0] != test.want {
			t.Errorf("with %s: %q, %v", test.path, wrong, err)
		}
	}
}
