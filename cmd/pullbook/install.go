package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"pullbook/db/local"
)

// Where an installed program and what belongs to it lie, as the Filesystem Hierarchy Standard
// 3.0 has it.
const (
	installedProgram = "/usr/local/bin/pullbook"
	beforeEnd        = ".before"
	installedData    = "/var/lib/pullbook"
	installedBackups = "/var/backups/pullbook"
)

type installCommand struct {
	Account string        `name:"account" default:"pullbook" help:"Account of its own as which the service runs. It is made if there is none."`
	Within  time.Duration `name:"within" default:"2m" help:"How long the service may take until it serves."`
	databaseSettings
	serviceSettings
	nightlySettings
	logSettings `set:"log_level=info"`
}

func (c *installCommand) Help() string {
	return `Run it as root. It makes a service that starts with the machine and runs as an account of its own, copies this program to ` + installedProgram + `, writes the settings that you give into ` + settingsFile + `, and starts the service. Without others the settings are: the book in ` + installedData + `, HTTPS by this machine's own authority at port 8080, a backup every night in ` + installedBackups + `.

"pullbook update", run as the newer program, puts it in place of the installed one. "pullbook uninstall" takes the service away and leaves the book.`
}

func (c *installCommand) Run(ctx context.Context, term *terminal, parsed *kong.Context) (err error) {
	if err := isRoot("install"); err != nil {
		return err
	}
	if err := errors.Join(c.databaseSettings.check(), c.nightlySettings.check(), c.choose()); err != nil {
		return err
	}
	if err := c.serviceSettings.check(); err != nil {
		return err
	}
	installed := &installation{account: c.Account, data: c.Data, backups: c.BackupTo, lowPort: lowPort(c.address()) || lowPort(c.HTTPAddr)}
	installed.env, err = settingsOf(parsed, map[string]any{"PULLBOOK_DATA": c.Data, "PULLBOOK_TLS": c.TLS, "PULLBOOK_BACKUP_TO": c.BackupTo, accountSetting: c.Account})
	if err != nil {
		return err
	}
	made, err := installed.service()
	if err != nil {
		return err
	}
	if made.there() {
		return errors.New("pullbook is installed here already: `pullbook update` puts this program in place of the installed one, `pullbook uninstall` takes the service away")
	}
	if err := c.mayListen(); err != nil {
		return err
	}
	if err := c.postgres(ctx, term); err != nil {
		return err
	}
	if err := installed.lay(term); err != nil {
		return err
	}
	if err := made.install(); err != nil {
		return err
	}
	if err := made.startAndAwait(ctx, c.fromHere(), c.Within); err != nil {
		return fmt.Errorf("the service is installed, and does not serve: %w", err)
	}
	c.tell(term, made)
	return nil
}

func isRoot(command string) error {
	if os.Geteuid() != 0 {
		return fmt.Errorf("a service is set up by root: run `sudo pullbook %s`", command)
	}
	return nil
}

// choose fills in what was not given.
func (c *installCommand) choose() error {
	if c.URL == "" && c.Data == "" {
		c.Data = installedData
	}
	if len(c.BackupTo) == 0 {
		c.BackupTo = []string{installedBackups}
	}
	if !c.tlsSettings.on() && c.Addr == "" {
		c.TLS = "own"
	}
	for _, folder := range append(slices.Clone(c.BackupTo), c.Data) {
		for _, home := range []string{"/home", "/root", "/run/user"} {
			if folder == home || strings.HasPrefix(folder, home+"/") {
				return fmt.Errorf("a service does not enter the folders of people, such as %s: choose one elsewhere, best %s. A book that lies there comes along by `pullbook backup`, `pullbook install`, and `pullbook restore` with the service stopped", folder, installedData)
			}
		}
	}
	return nil
}

// mayListen says before anything is made that the address is somebody else's.
func (c *installCommand) mayListen() error {
	listeners, err := c.listen()
	if err == nil {
		closeAll(listeners)
	}
	return err
}

func lowPort(address string) bool {
	_, port, err := net.SplitHostPort(address)
	n, lookup := net.LookupPort("tcp", port)
	return err == nil && lookup == nil && n > 0 && n < 1024
}

// postgres makes sure that there is one to run, where the book is to lie here.
func (c *installCommand) postgres(ctx context.Context, term *terminal) error {
	if c.URL != "" {
		return nil
	}
	_, err := local.Find(local.Options{DataDir: c.Data, BinDir: c.BinDir})
	if errors.Is(err, local.ErrNotFound) && c.BinDir == "" && (c.Install || agrees(term, err)) {
		return local.Install(ctx, term.Err)
	}
	return err
}

// tell says where everything is.
func (c *installCommand) tell(term *terminal, made *managed) {
	book := c.Data
	if book == "" {
		book = "the database that was given"
	}
	fmt.Fprintf(term.Out, "pullbook serves, and starts with the machine.\n")
	rows := [][]string{
		{"  book", book},
		{"  account", c.Account},
		{"  settings", settingsFile},
		{"  backups", fmt.Sprintf("%s, every night at %s", strings.Join(c.BackupTo, ", "), c.At)},
		{"  program", installedProgram},
		{"  log", made.log()},
		{"  pages", "http://" + c.fromHere()},
	}
	if c.TLS == "own" {
		machine := c.thisMachine()
		rows = append(rows, []string{"  devices", fmt.Sprintf("http://%s.local:%s/trust shows each how to trust this machine", machine.name, portIn(c.address()))})
	}
	_ = term.table(rows)
	fmt.Fprintf(term.Out, "Settings that you change in the file count after a restart of the service.\nIf there is no outfit yet, make one, and its manager:\n  pullbook outfit add \"Fern Gully Honey\" --time-zone America/Winnipeg\n  pullbook person add Mirren --role manager\n")
}

func portIn(address string) string {
	_, port, _ := net.SplitHostPort(address)
	return port
}

// fromHere is where the service is reached over plain HTTP from this machine.
func (s serviceSettings) fromHere() string {
	address := s.address()
	host, port, err := net.SplitHostPort(address)
	ip := net.ParseIP(host)
	if err == nil && (host == "" || ip != nil && ip.IsUnspecified() || s.tlsSettings.on() && !ip.IsLoopback()) {
		return "127.0.0.1:" + port
	}
	return address
}

type updateCommand struct {
	Within time.Duration `name:"within" default:"2m" help:"How long the service may take until it serves."`
}

func (c *updateCommand) Help() string {
	return `Run it as root, as the newer program: sudo ./pullbook update. It stops the service, brings the book up to date, puts this program in place of the installed one and starts the service. Before a new schema it makes a backup, restores it into a scratch database, tries the new schema there and audits it; if that fails, the installed program goes on as it was. The program from before stays as ` + installedProgram + beforeEnd + `.`
}

func (c *updateCommand) Run(ctx context.Context, term *terminal) error {
	if err := isRoot("update"); err != nil {
		return err
	}
	installed, made, err := openInstalled()
	if err != nil {
		return err
	}
	if err := made.Stop(); err != nil {
		return fmt.Errorf("the service does not stop: %w", err)
	}
	said, err := installed.migrate(ctx)
	if err != nil {
		return errors.Join(fmt.Errorf("nothing was updated, and the installed program serves on: %w", err), made.startAndAwait(ctx, installed.listens().fromHere(), c.Within))
	}
	fmt.Fprint(term.Out, said)
	if err := installed.replaceProgram(); err != nil {
		return errors.Join(err, made.Start())
	}
	if err := made.installAgain(); err != nil {
		return err
	}
	err = made.startAndAwait(ctx, installed.listens().fromHere(), c.Within)
	switch {
	case err != nil && strings.Contains(said, schemaChanged):
		return fmt.Errorf("the newer program does not serve: %w. The one from before, %s, does not know the new schema; to go back to it, restore the backup from before the new schema into another folder", err, installedProgram+beforeEnd)
	case err != nil:
		return errors.Join(fmt.Errorf("the newer program does not serve, and the one from before was put back: %w", err), made.Stop(), os.Rename(installedProgram+beforeEnd, installedProgram), made.startAndAwait(ctx, installed.listens().fromHere(), c.Within))
	}
	fmt.Fprintf(term.Out, "pullbook is updated and serves. The program from before is %s.\n", installedProgram+beforeEnd)
	return nil
}

type uninstallCommand struct{}

func (c *uninstallCommand) Help() string {
	return `Run it as root. It stops the service, takes it away and removes the installed program. The book, its backups, the settings and the account stay, and the command says where they are.`
}

func (c *uninstallCommand) Run(term *terminal) error {
	if err := isRoot("uninstall"); err != nil {
		return err
	}
	installed, made, err := openInstalled()
	if err != nil {
		return err
	}
	if err := made.Stop(); err != nil {
		return fmt.Errorf("the service does not stop: %w", err)
	}
	if err := made.Uninstall(); err != nil {
		return err
	}
	for _, program := range []string{installedProgram, installedProgram + beforeEnd} {
		if err := os.Remove(program); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	fmt.Fprintln(term.Out, "The service is taken away. This stays:")
	var rows [][]string
	if installed.data != "" {
		rows = append(rows, []string{"  book", installed.data})
	}
	rows = append(rows, []string{"  backups", strings.Join(installed.backups, ", ")}, []string{"  settings", settingsFile},
		[]string{"  account", installed.account + ", whose files these are; the number of an account that is gone may become another's"})
	return term.table(rows)
}

// openInstalled is what install made here.
func openInstalled() (*installation, *managed, error) {
	installed := &installation{}
	if err := installed.read(); errors.Is(err, fs.ErrNotExist) {
		return nil, nil, errors.New("pullbook is not installed here: `pullbook install` makes it a service")
	} else if err != nil {
		return nil, nil, err
	}
	made, err := installed.service()
	if err != nil {
		return nil, nil, err
	}
	if !made.there() {
		return nil, nil, fmt.Errorf("no service pullbook is here, though there are settings in %s: `pullbook install` makes it", settingsFile)
	}
	return installed, made, nil
}

// replaceProgram puts this program in place of the installed one, which it keeps.
func (i *installation) replaceProgram() error {
	this, err := os.Executable()
	if err != nil {
		return err
	}
	from, err := os.Stat(this)
	if err != nil {
		return err
	}
	if to, err := os.Stat(installedProgram); err == nil {
		if os.SameFile(from, to) {
			return nil
		}
		// The name is taken by a second link, so that there is always a program.
		before := installedProgram + beforeEnd
		if err := os.Remove(before); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if err := os.Link(installedProgram, before); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(filepath.Dir(installedProgram), 0o755); err != nil {
		return err
	}
	return copyProgram(this, installedProgram)
}
