package local_test

import (
	"testing"

	"pullbook/db/local"
	"pullbook/db/local/packages"
)

func TestEveryKnownPackageManagerBringsPostgreSQL(t *testing.T) {
	t.Parallel()
	for _, manager := range []string{"apt-get", "dnf", "zypper", "apk", "pacman", "brew"} {
		if len(local.Needed.By[manager]) == 0 {
			t.Errorf("%s has no package for PostgreSQL", manager)
		}
	}
	if len(packages.Command(local.Needed).Steps) == 0 {
		t.Error("this machine has no package manager that the program knows")
	}
}
