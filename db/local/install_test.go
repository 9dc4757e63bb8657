package local_test

import (
	"testing"

	"pullbook/db/local"
)

func TestInstallCommandIsThePlatformsOwn(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name     string
		root     bool
		release  string
		programs []string
		want     string
	}{
		{name: "Debian as root", root: true, programs: []string{"apt-get"},
			want: "apt-get update && env DEBIAN_FRONTEND=noninteractive apt-get install -y postgresql"},
		{name: "Debian as a user", programs: []string{"apt-get"},
			want: "sudo apt-get update && sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y postgresql"},
		{name: "Fedora", root: true, release: "ID=fedora\nPLATFORM_ID=\"platform:f42\"\n", programs: []string{"dnf"},
			want: "dnf install -y postgresql-server"},
		{name: "Enterprise Linux 9 needs a newer module", root: true, release: "ID=\"rhel\"\nPLATFORM_ID=\"platform:el9\"\n", programs: []string{"dnf"},
			want: "dnf module enable -y postgresql:16 && dnf install -y postgresql-server"},
		{name: "Homebrew never with sudo", programs: []string{"brew"},
			want: "brew install postgresql@17"},
		{name: "nothing known", root: true, want: ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			if got := local.InstallOn(tt.root, tt.release, tt.programs...).String(); got != tt.want {
				t.Errorf("got  %q\nwant %q", got, tt.want)
			}
		})
	}
}
