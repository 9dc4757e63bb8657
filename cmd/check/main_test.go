package main

import (
	"bytes"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pullbook/db/local/packages"
)

func TestEveryToolIsNamedForEveryPlatformThatHasIt(t *testing.T) {
	t.Parallel()
	const shell, python, systemd, linux = "Chromium's headless shell", "Python with openpyxl", "systemd", "iproute2 and util-linux"
	// Only Debian has a package of the shell; Homebrew leaves Python's to pip, and macOS needs nothing of
	// Linux's; Alpine has no systemd.
	without := map[string][]string{
		"dnf": {shell}, "zypper": {shell}, "apk": {shell, systemd}, "pacman": {shell}, "brew": {shell, python, systemd, linux},
	}
	for _, tool := range tools {
		for _, manager := range []string{"apt-get", "dnf", "zypper", "apk", "pacman", "brew"} {
			if has := len(tool.By[manager]) > 0; has == slices.Contains(without[manager], tool.Name) {
				t.Errorf("%s by %s: %v", tool.Name, manager, tool.By[manager])
			}
		}
	}
}

func TestThisMachineHasWhatItsTestsNeed(t *testing.T) {
	t.Parallel()
	if lacking := missing(t.Context(), goTest(nil)); len(lacking) > 0 {
		t.Errorf("%v is missing: run `go run ./cmd/check --install`", provide(t.Context(), lacking, false, nil))
	}
}

func TestWithoutTheFlagWhatIsMissingIsNamedAndNothingIsRun(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	needs := []packages.Need{{Name: "a mill", By: everywhere("mill")}, {Name: "a press", By: everywhere("press")}}
	err := provide(t.Context(), needs, false, &out)
	if err == nil || out.Len() > 0 {
		t.Fatalf("err %v, printed %q", err, &out)
	}
	for _, want := range []string{"a mill, a press", packages.Command(needs...).String(), "--install"} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q does not say %q", err, want)
		}
	}
}

func TestWhatNoPackageBringsIsNamedWithTheFlagToo(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	err := provide(t.Context(), []packages.Need{{Name: "a mill"}}, true, &out)
	if err == nil || !strings.Contains(err.Error(), "a mill: install that by hand") || out.Len() > 0 {
		t.Errorf("err %v, printed %q", err, &out)
	}
}

func TestWhatFollowsTheDashesIsAddedToGoTest(t *testing.T) {
	t.Parallel()
	if got, more := goTest([]string{"-race", "-run", "Honey"}), []string{"./...", "-race", "-run", "Honey"}; !reflect.DeepEqual(got[:2], []string{"go", "test"}) || !reflect.DeepEqual(got[len(got)-len(more):], more) {
		t.Errorf("got %q, which does not end in %q", got, more)
	}
	if err := run(t.Context(), []string{"-race"}, nil); err == nil || !strings.Contains(err.Error(), "-race") {
		t.Errorf("a flag of go test without dashes before it: %v", err)
	}
}
