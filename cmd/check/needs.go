package main

import (
	"context"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"

	"pullbook/db/local"
	"pullbook/db/local/packages"
)

// tool is a program that the tests need.
type tool struct {
	packages.Need
	// here reports whether the machine has it.
	here func(context.Context) bool
	// only reports whether these tests need it; nil where all do.
	only func(tests []string) bool
}

var tools = []tool{
	{Need: local.Needed, here: func(context.Context) bool {
		_, err := local.Find(local.Options{})
		return err == nil
	}},
	{Need: packages.Need{Name: "Chromium", By: everywhere("chromium")},
		here: either(os.Getenv("PULLBOOK_CHROMIUM"), "chromium", "chromium-browser", "google-chrome")},
	// Tests take it where it is packaged: it draws the same with half of the processor.
	// Elsewhere, and once in .ci/run, they take the whole browser.
	{Need: packages.Need{Name: "Chromium's headless shell", By: map[string][]string{"apt-get": {"chromium-headless-shell"}}},
		here: func(ctx context.Context) bool {
			return !onDebian() || either(os.Getenv("PULLBOOK_CHROMIUM"), "chromium-headless-shell")(ctx)
		}},
	{Need: packages.Need{Name: "LibreOffice Calc", By: map[string][]string{
		"apt-get": {"libreoffice-calc"}, "dnf": {"libreoffice-calc"}, "zypper": {"libreoffice-calc"},
		"apk": {"libreoffice-calc"}, "pacman": {"libreoffice-fresh"}, "brew": {"libreoffice"}}},
		here: either("/usr/bin/soffice", "soffice")},
	{Need: packages.Need{Name: "Python with openpyxl", By: map[string][]string{
		"apt-get": {"python3-openpyxl"}, "dnf": {"python3-openpyxl"}, "zypper": {"python3-openpyxl"},
		"apk": {"py3-openpyxl"}, "pacman": {"python-openpyxl"}}},
		here: hasOpenpyxl},
	// Certificates are verified by it too, and browsers are told by NSS whom to trust.
	{Need: packages.Need{Name: "openssl", By: everywhere("openssl")}, here: either("openssl")},
	{Need: packages.Need{Name: "certutil of NSS", By: map[string][]string{
		"apt-get": {"libnss3-tools"}, "dnf": {"nss-tools"}, "zypper": {"mozilla-nss-tools"},
		"apk": {"nss-tools"}, "pacman": {"nss"}, "brew": {"nss"}}},
		here: either("certutil")},
	{Need: packages.Need{Name: "curl", By: everywhere("curl")}, here: either("curl")},
	{Need: packages.Need{Name: "bash", By: everywhere("bash")}, here: either("bash")},
	// A machine within the machine boots, into which the service is installed.
	{Need: packages.Need{Name: "systemd", By: map[string][]string{
		"apt-get": {"systemd"}, "dnf": {"systemd"}, "zypper": {"systemd"}, "pacman": {"systemd"}}},
		here: func(ctx context.Context) bool { return runtime.GOOS != "linux" || either("/lib/systemd/systemd")(ctx) }},
	{Need: packages.Need{Name: "iproute2 and util-linux", By: map[string][]string{
		"apt-get": {"iproute2", "util-linux"}, "dnf": {"iproute", "util-linux"}, "zypper": {"iproute2", "util-linux"},
		"apk": {"iproute2", "util-linux"}, "pacman": {"iproute2", "util-linux"}}},
		here: func(ctx context.Context) bool {
			return runtime.GOOS != "linux" || either("ip")(ctx) && either("nsenter")(ctx)
		}},
	// The race detector is linked by a C compiler.
	{Need: packages.Need{Name: "a C compiler", By: map[string][]string{
		"apt-get": {"gcc", "libc6-dev"}, "dnf": {"gcc", "glibc-devel"}, "zypper": {"gcc", "glibc-devel"},
		"apk": {"gcc", "musl-dev"}, "pacman": {"gcc"}, "brew": {"gcc"}}},
		here: either(os.Getenv("CC"), "gcc", "cc", "clang"),
		only: func(tests []string) bool { return slices.Contains(tests, "-race") }},
}

// missing lists what these tests need and the machine lacks.
func missing(ctx context.Context, tests []string) (lacking []packages.Need) {
	for _, t := range tools {
		if (t.only == nil || t.only(tests)) && !t.here(ctx) {
			lacking = append(lacking, t.Need)
		}
	}
	return lacking
}

// everywhere is a package that has one name with every package manager.
func everywhere(name string) map[string][]string {
	by := map[string][]string{}
	for manager := range local.Needed.By {
		by[manager] = []string{name}
	}
	return by
}

// either reports whether one of the programs is here. A name may be empty.
func either(names ...string) func(context.Context) bool {
	return func(context.Context) bool {
		return slices.ContainsFunc(names, func(name string) bool {
			_, err := exec.LookPath(name)
			return err == nil
		})
	}
}

// onDebian reports whether the platform is Debian. Others that have apt-get lack some of
// its packages.
func onDebian() bool {
	release, err := os.ReadFile("/etc/os-release")
	return err == nil && slices.Contains(strings.Split(string(release), "\n"), "ID=debian")
}

// hasOpenpyxl asks the Python that the tests use: the platform's own where there
// is one, since that is the one to which packages belong.
func hasOpenpyxl(ctx context.Context) bool {
	python := "/usr/bin/python3"
	if _, err := exec.LookPath(python); err != nil {
		python = "python3"
	}
	out, err := exec.CommandContext(ctx, python, "-c", "import openpyxl; print(openpyxl.__version__)").Output()
	return err == nil && strings.TrimSpace(string(out)) != ""
}
