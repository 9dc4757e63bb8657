package packages_test

import (
	"bytes"
	"reflect"
	"strings"
	"testing"

	"pullbook/db/local/packages"
)

var (
	database = packages.Need{Name: "a database", Module: "database:2", By: map[string][]string{
		"apt-get": {"database"}, "dnf": {"database-server"}, "brew": {"database@2"}}}
	browser = packages.Need{Name: "a browser", By: map[string][]string{
		"apt-get": {"browser", "browser-fonts"}, "dnf": {"browser"}}}
)

func TestInstallingIsThePlatformsOwn(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name     string
		root     bool
		release  string
		programs []string
		needs    []packages.Need
		want     string
		unknown  []string
	}{
		{name: "Debian as root", root: true, programs: []string{"apt-get"}, needs: []packages.Need{database},
			want: "apt-get update && env DEBIAN_FRONTEND=noninteractive apt-get install -y database"},
		{name: "Debian as a user, two needs", programs: []string{"apt-get"}, needs: []packages.Need{database, browser},
			want: "sudo apt-get update && sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y database browser browser-fonts"},
		{name: "Fedora", root: true, release: "ID=fedora\nPLATFORM_ID=\"platform:f42\"\n", programs: []string{"dnf"}, needs: []packages.Need{database},
			want: "dnf install -y database-server"},
		{name: "Enterprise Linux 9 needs a newer module", root: true, release: "ID=\"rhel\"\nPLATFORM_ID=\"platform:el9\"\n", programs: []string{"dnf"}, needs: []packages.Need{database, browser},
			want: "dnf module enable -y database:2 && dnf install -y database-server browser"},
		{name: "Homebrew never with sudo, and without what it has not got", programs: []string{"brew"}, needs: []packages.Need{browser, database},
			want: "brew install database@2", unknown: []string{"a browser"}},
		{name: "nothing that the manager brings", programs: []string{"brew"}, needs: []packages.Need{browser}, unknown: []string{"a browser"}},
		{name: "no manager", root: true, needs: []packages.Need{database, browser}, unknown: []string{"a database", "a browser"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			got := packages.On(tt.root, tt.release, tt.programs, tt.needs...)
			if got.String() != tt.want || !reflect.DeepEqual(got.Unknown, tt.unknown) {
				t.Errorf("got  %q, unknown %q\nwant %q, unknown %q", got, got.Unknown, tt.want, tt.unknown)
			}
		})
	}
}

func TestAStepIsSaidBeforeItRunsAndStopsTheRestWhenItFails(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	err := packages.Installation{Steps: [][]string{{"echo", "one"}, {"false"}, {"echo", "two"}}}.Run(t.Context(), &out)
	if err == nil || !strings.Contains(err.Error(), "`false` failed") {
		t.Errorf("the error is %v", err)
	}
	if got, want := out.String(), "+ echo one\none\n+ false\n"; got != want {
		t.Errorf("printed %q, want %q", got, want)
	}
}
