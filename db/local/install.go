package local

import (
	"context"
	"fmt"
	"io"

	"pullbook/db/local/packages"
)

// Needed is PostgreSQL as package managers know it.
var Needed = packages.Need{
	Name: "PostgreSQL",
	By: map[string][]string{
		"apt-get": {"postgresql"},
		"dnf":     {"postgresql-server"},
		"zypper":  {"postgresql-server"},
		"apk":     {"postgresql"},
		"pacman":  {"postgresql"},
		"brew":    {"postgresql@17"},
	},
	Module: "postgresql:16",
}

// Install installs PostgreSQL as the platform does, and writes the commands and
// what they print to out. The caller asks the user first.
func Install(ctx context.Context, out io.Writer) error {
	installation := packages.Command(Needed)
	if len(installation.Steps) == 0 {
		return fmt.Errorf("no package manager that installs PostgreSQL is known here. %s", howToInstall())
	}
	if err := installation.Run(ctx, out); err != nil {
		return fmt.Errorf("installing PostgreSQL: %w", err)
	}
	return nil
}

// howToInstall tells a reader what to do where PostgreSQL is missing.
func howToInstall() string {
	installation := packages.Command(Needed)
	if len(installation.Steps) == 0 {
		return fmt.Sprintf("Install PostgreSQL %d or newer, or give the URL of a database", MinMajor)
	}
	return fmt.Sprintf("Install it with `%s`, or give the URL of a database", installation)
}
