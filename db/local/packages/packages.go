// Package packages finds the command with which this platform's own package
// manager installs programs, and runs it.
package packages

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"regexp"
	"strings"
)

// Need is something that a package manager can bring.
type Need struct {
	// Name is what a sentence calls it: "PostgreSQL".
	Name string
	// By lists the packages that bring it, by package manager: "apt-get", "dnf",
	// "zypper", "apk", "pacman" or "brew".
	By map[string][]string
	// Module is the module to enable first on Enterprise Linux 8 and 9, whose
	// usual package is too old; empty where there is none.
	Module string
}

// Installation is how this platform installs what is needed.
type Installation struct {
	// Steps are the commands to run one after another, each a program and its
	// arguments. There are none where no known package manager is here.
	Steps [][]string
	// Unknown names the needs for which the platform has no known package.
	Unknown []string
}

// String returns the steps as one line to type in a shell.
func (i Installation) String() string {
	var lines []string
	for _, step := range i.Steps {
		lines = append(lines, strings.Join(step, " "))
	}
	return strings.Join(lines, " && ")
}

// Run runs the steps, each written to out before it runs, and what they print.
// The caller asks the user first.
func (i Installation) Run(ctx context.Context, out io.Writer) error {
	for _, step := range i.Steps {
		fmt.Fprintf(out, "+ %s\n", strings.Join(step, " "))
		cmd := exec.CommandContext(ctx, step[0], step[1:]...)
		cmd.Stdout, cmd.Stderr = out, out
		if err := cmd.Run(); err != nil {
			return fmt.Errorf("`%s` failed: %w", strings.Join(step, " "), err)
		}
	}
	return nil
}

// Command returns this platform's way to install the needs. It runs nothing.
func Command(needs ...Need) Installation {
	release, _ := os.ReadFile("/etc/os-release") // absent off Linux
	return platform{
		root:    os.Geteuid() == 0,
		release: string(release),
		has: func(program string) bool {
			_, err := exec.LookPath(program)
			return err == nil
		},
	}.install(needs)
}

// platform is what the choice of a package manager depends on.
type platform struct {
	root    bool
	release string // the text of /etc/os-release
	has     func(program string) bool
}

var modularRelease = regexp.MustCompile(`(?m)^PLATFORM_ID="?platform:el[89]"?$`)

// manager is how one package manager is asked.
type manager struct {
	program string
	before  [][]string
	install []string
	// ownRights is true where the manager asks for rights itself.
	ownRights bool
}

var managers = []manager{
	{program: "apt-get", before: [][]string{{"apt-get", "update"}},
		// Without this, configuring the time zone package can stop and ask.
		install: []string{"env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "install", "-y"}},
	{program: "dnf", install: []string{"dnf", "install", "-y"}},
	{program: "zypper", install: []string{"zypper", "--non-interactive", "install"}},
	{program: "apk", install: []string{"apk", "add"}},
	{program: "pacman", install: []string{"pacman", "-S", "--noconfirm"}},
	{program: "brew", install: []string{"brew", "install"}, ownRights: true}, // refuses root
}

func (p platform) install(needs []Need) Installation {
	for _, m := range managers {
		if p.has(m.program) {
			return p.installBy(m, needs)
		}
	}
	return Installation{Unknown: names(needs)}
}

func (p platform) installBy(m manager, needs []Need) (i Installation) {
	steps := m.before
	last := m.install[:len(m.install):len(m.install)]
	for _, need := range needs {
		if need.By[m.program] == nil {
			i.Unknown = append(i.Unknown, need.Name)
			continue
		}
		if m.program == "dnf" && need.Module != "" && modularRelease.MatchString(p.release) {
			steps = append(steps, []string{"dnf", "module", "enable", "-y", need.Module})
		}
		last = append(last, need.By[m.program]...)
	}
	if len(last) == len(m.install) {
		return i // nothing that this manager brings
	}
	for _, step := range append(steps[:len(steps):len(steps)], last) {
		if !p.root && !m.ownRights {
			step = append([]string{"sudo"}, step...)
		}
		i.Steps = append(i.Steps, step)
	}
	return i
}

func names(needs []Need) (list []string) {
	for _, need := range needs {
		list = append(list, need.Name)
	}
	return list
}
