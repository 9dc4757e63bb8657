package local

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"strings"
)

// Installation is how this platform's own package manager installs PostgreSQL.
type Installation struct {
	// Steps are the commands to run one after another, each a program and its
	// arguments. There are none when no known package manager is here.
	Steps [][]string
}

// String is the steps as one line to type in a shell.
func (i Installation) String() string {
	var lines []string
	for _, step := range i.Steps {
		lines = append(lines, strings.Join(step, " "))
	}
	return strings.Join(lines, " && ")
}

// Sentence tells a reader what to do.
func (i Installation) Sentence() string {
	if len(i.Steps) == 0 {
		return fmt.Sprintf("Install PostgreSQL %d or newer, or give the URL of a database", MinMajor)
	}
	return fmt.Sprintf("Install it with `%s`, or give the URL of a database", i)
}

// InstallCommand is the platform's own way to install PostgreSQL. It runs
// nothing.
func InstallCommand() Installation {
	release, _ := os.ReadFile("/etc/os-release") // absent off Linux
	return installOn(platform{
		root:    os.Geteuid() == 0,
		release: string(release),
		has: func(program string) bool {
			_, err := exec.LookPath(program)
			return err == nil
		},
	})
}

// Install runs InstallCommand's steps and writes what they print to out. The
// caller asks the user first.
func Install(ctx context.Context, out io.Writer) error {
	installation := InstallCommand()
	if len(installation.Steps) == 0 {
		return fmt.Errorf("no package manager that installs PostgreSQL is known here. %s", installation.Sentence())
	}
	for _, step := range installation.Steps {
		fmt.Fprintf(out, "+ %s\n", strings.Join(step, " "))
		cmd := exec.CommandContext(ctx, step[0], step[1:]...)
		cmd.Stdout, cmd.Stderr = out, out
		if err := cmd.Run(); err != nil {
			return fmt.Errorf("installing PostgreSQL: `%s` failed: %w", strings.Join(step, " "), err)
		}
	}
	return nil
}

// platform is what the choice of a package manager depends on.
type platform struct {
	root    bool
	release string // the text of /etc/os-release
	has     func(program string) bool
}

// Enterprise Linux 8 and 9 give an older PostgreSQL unless a module is chosen.
var modularRelease = regexp.MustCompile(`(?m)^PLATFORM_ID="?platform:el[89]"?$`)

func installOn(p platform) Installation {
	var steps [][]string
	switch {
	case p.has("apt-get"):
		steps = [][]string{
			{"apt-get", "update"},
			// Without this, configuring the time zone package can stop and ask.
			{"env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "install", "-y", "postgresql"},
		}
	case p.has("dnf") && modularRelease.MatchString(p.release):
		steps = [][]string{
			{"dnf", "module", "enable", "-y", "postgresql:16"},
			{"dnf", "install", "-y", "postgresql-server"},
		}
	case p.has("dnf"):
		steps = [][]string{{"dnf", "install", "-y", "postgresql-server"}}
	case p.has("zypper"):
		steps = [][]string{{"zypper", "--non-interactive", "install", "postgresql-server"}}
	case p.has("apk"):
		steps = [][]string{{"apk", "add", "postgresql"}}
	case p.has("pacman"):
		steps = [][]string{{"pacman", "-S", "--noconfirm", "postgresql"}}
	case p.has("brew"):
		return Installation{Steps: [][]string{{"brew", "install", "postgresql@17"}}} // refuses root
	}
	if !p.root {
		for i := range steps {
			steps[i] = append([]string{"sudo"}, steps[i]...)
		}
	}
	return Installation{Steps: steps}
}
