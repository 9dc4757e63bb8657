package main

import (
	"bytes"
	"debug/buildinfo"
	"encoding/hex"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"testing"

	cdx "github.com/CycloneDX/cyclonedx-go"
)

// aProgram writes a module with a program that says its version, which is all of Go that it
// needs, into a folder of its own.
func aProgram(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	for name, text := range map[string]string{
		"go.mod":  "module hive\n\ngo 1.26.0\n",
		"main.go": "package main\n\nvar version string\n\nfunc main() { println(version) }\n",
	} {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return folder
}

// filesIn reads the files of a folder.
func filesIn(t testing.TB, folder string) map[string][]byte {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{}
	for _, e := range entries {
		if files[e.Name()], err = os.ReadFile(filepath.Join(folder, e.Name())); err != nil {
			t.Fatal(err)
		}
	}
	return files
}

// TestTwoBuildsInTwoFoldersHaveTheSameBytes builds for this processor and another system than
// this one, as a release is built.
func TestTwoBuildsInTwoFoldersHaveTheSameBytes(t *testing.T) {
	t.Parallel()
	chosen := []target{{"linux", "amd64"}, {"windows", "amd64"}}
	library, err := output(exec.CommandContext(t.Context(), "go", "env", "GOROOT"))
	if err != nil || library == "" {
		t.Fatal(err)
	}
	var built []map[string][]byte
	for range 2 {
		source, to := aProgram(t), t.TempDir()
		if err := (release{source: source, program: ".", name: "hive", version: "1.4.0"}).into(t.Context(), to, chosen, io.Discard); err != nil {
			t.Fatal(err)
		}
		files := filesIn(t, to)
		for name, bytesOf := range files {
			if bytes.Contains(bytesOf, []byte(source)) || bytes.Contains(bytesOf, []byte(library)) {
				t.Errorf("%s has a folder of this machine in it", name)
			}
		}
		if info, err := buildinfo.ReadFile(filepath.Join(to, "hive-1.4.0-windows-amd64.exe")); err != nil {
			t.Error(err)
		} else if slices.ContainsFunc(info.Settings, func(s debug.BuildSetting) bool { return strings.HasPrefix(s.Key, "vcs") }) {
			t.Errorf("the program has what git says in it: %v", info.Settings)
		}
		built = append(built, files)
	}
	if len(built[0]) != 5 {
		t.Fatalf("a release for two systems has %d files", len(built[0]))
	}
	for name, first := range built[0] {
		if !bytes.Equal(first, built[1][name]) {
			t.Errorf("%s differs between two builds", name)
		}
	}
	checkSums(t, built[0])
}

// checkSums compares SHA256SUMS with the files, each line as sha256sum writes it.
func checkSums(t testing.TB, files map[string][]byte) {
	t.Helper()
	folder := t.TempDir()
	var named []string
	for line := range strings.Lines(string(files[sumsFile])) {
		sum, name, _ := strings.Cut(strings.TrimSuffix(line, "\n"), "  ")
		path := filepath.Join(folder, filepath.Base(name))
		if err := os.WriteFile(path, files[name], 0o644); err != nil {
			t.Fatal(err)
		}
		if is, err := sumOf(path); err != nil || hex.EncodeToString(is) != sum {
			t.Errorf("%s has the sum %x, not %s (%v)", name, is, sum, err)
		}
		named = append(named, name)
	}
	if len(named) != len(files)-1 || !slices.IsSorted(named) {
		t.Errorf("the sums are of %v; there are %d files", named, len(files)-1)
	}
}

// TestTheBillOfMaterialsNamesWhatGoLinked reads this test's own program, whose modules Go
// lists in it.
func TestTheBillOfMaterialsNamesWhatGoLinked(t *testing.T) {
	t.Parallel()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "bill.json")
	if err := (release{source: "../..", name: "pullbook", version: "1.4.0", scripts: carriedPackages}).writeBill(self, file); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	bill := new(cdx.BOM)
	if err := cdx.NewBOMDecoder(f, cdx.BOMFileFormatJSON).Decode(bill); err != nil {
		t.Fatal(err)
	}
	info, err := buildinfo.ReadFile(self)
	if err != nil {
		t.Fatal(err)
	}
	if bill.SpecVersion != cdx.SpecVersion1_6 || bill.Metadata.Component.Version != "1.4.0" || bill.Metadata.Timestamp != "" {
		t.Errorf("the bill is of %v, %+v", bill.SpecVersion, bill.Metadata)
	}
	at := slices.IndexFunc(*bill.Components, func(c cdx.Component) bool { return c.Name == "github.com/google/uuid" })
	if at < 0 || len(*bill.Components) != 1+len(info.Deps)+len(carriedPackages) {
		t.Fatalf("the bill has %d components of %d modules", len(*bill.Components), len(info.Deps))
	}
	c := (*bill.Components)[at]
	if c.PackageURL != "pkg:golang/github.com/google/uuid@"+c.Version || c.Version == "" || (*c.Properties)[0].Value == "" {
		t.Errorf("a module is %+v", c)
	}
	for name, licence := range map[string]string{"qr": "(MIT OR Apache-2.0)", "highs": "MIT"} {
		at := slices.IndexFunc(*bill.Components, func(c cdx.Component) bool { return c.Name == name })
		if at < 0 {
			t.Errorf("the bill does not name %s, which the program carries", name)
		} else if c := (*bill.Components)[at]; c.PackageURL != "pkg:npm/"+name+"@"+c.Version || c.Version == "" || (*c.Licenses)[0].Expression != licence {
			t.Errorf("what the program carries of %s is %+v", name, c)
		}
	}
	if first := (*bill.Components)[0]; first.Name != "std" || "go"+first.Version != runtime.Version() {
		t.Errorf("Go's own library is %+v", first)
	}
}

func TestAReleaseThatCannotBeIsRefused(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		args []string
		want string
	}{
		{nil, "name one folder for the programs"},
		{[]string{"--only", "plan9/amd64", t.TempDir()}, `--only is "plan9/amd64"; pullbook is built for linux/amd64`},
		{[]string{"--version", "a b", t.TempDir()}, `the version is "a b"`},
	} {
		if err := run(t.Context(), test.args, io.Discard); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%q: %v", test.args, err)
		}
	}
	to := t.TempDir()
	broken := aProgram(t)
	if err := os.WriteFile(filepath.Join(broken, "main.go"), []byte("package main\n\nfunc main() { hive() }\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	err := release{source: broken, program: ".", name: "hive", version: "1"}.into(t.Context(), to, targets[:1], io.Discard)
	if err == nil || !strings.Contains(err.Error(), "undefined: hive") {
		t.Errorf("sources that do not compile: %v", err)
	}
	if _, err := os.Stat(filepath.Join(to, sumsFile)); err == nil {
		t.Error("a release that failed has sums")
	}
}

// BenchmarkRelease builds the whole release, which takes minutes and so is asked for, and looks
// at what came of it.
func BenchmarkRelease(b *testing.B) {
	for b.Loop() {
		to := b.TempDir()
		if err := run(b.Context(), []string{"--version", "1.4.0", to}, io.Discard); err != nil {
			b.Fatal(err)
		}
		files := filesIn(b, to)
		if len(files) != 2*len(targets)+1 {
			b.Errorf("the release has %d files", len(files))
		}
		checkSums(b, files)
		here := release{name: "pullbook", version: "1.4.0"}.fileName(target{runtime.GOOS, runtime.GOARCH})
		said, err := exec.Command(filepath.Join(to, here), "version").CombinedOutput()
		if err != nil || !strings.HasPrefix(string(said), "pullbook 1.4.0 ") {
			b.Errorf("%s version says %q, %v", here, said, err)
		}
	}
}
