package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"pullbook/db/local"
)

// settingsFile has the settings of the service, as environment variables, a line each. It may
// hold the password of a database.
const settingsFile = "/etc/pullbook/pullbook.env"

// accountSetting is the line that keeps the service's account for update and uninstall.
const accountSetting = "PULLBOOK_ACCOUNT"

// installation is what an installed service consists of besides its unit.
type installation struct {
	account string
	// data is the folder of the private PostgreSQL; "" where the database was given.
	data    string
	backups []string
	// lowPort: it listens below port 1024.
	lowPort bool
	env     map[string]string
}

// settingsOf are the settings that somebody gave, by flag or by environment, as environment
// variables, and those in chosen.
func settingsOf(parsed *kong.Context, chosen map[string]any) (map[string]string, error) {
	env := map[string]string{}
	for _, flag := range parsed.Flags() {
		if len(flag.Envs) == 0 || flag.Target.IsZero() {
			continue
		}
		if text := settingText(flag.Target.Interface()); text != flag.Default {
			env[flag.Envs[0]] = text
		}
	}
	for name, value := range chosen {
		if text := settingText(value); text != "" {
			env[name] = text
		}
	}
	delete(env, "PULLBOOK_INSTALL_POSTGRES") // is done once
	for name, value := range env {
		if strings.ContainsAny(value, "\n\r\x00") {
			return nil, fmt.Errorf("the setting %s has a line break, which a file of settings cannot hold", name)
		}
	}
	return env, nil
}

func settingText(value any) string {
	if list, ok := value.([]string); ok {
		return strings.Join(list, ",")
	}
	return fmt.Sprint(value)
}

// read reads the settings of an installed service.
func (i *installation) read() error {
	text, err := os.ReadFile(settingsFile)
	if err != nil {
		return err
	}
	i.env = map[string]string{}
	for lines := bufio.NewScanner(bytes.NewReader(text)); lines.Scan(); {
		name, value, found := strings.Cut(strings.TrimSpace(lines.Text()), "=")
		if !found || strings.HasPrefix(name, "#") || strings.HasPrefix(name, ";") {
			continue
		}
		i.env[strings.TrimSpace(name)] = unquoted(value)
	}
	i.account, i.data = i.env[accountSetting], i.env["PULLBOOK_DATA"]
	if folders := i.env["PULLBOOK_BACKUP_TO"]; folders != "" {
		i.backups = strings.Split(folders, ",")
	}
	i.lowPort = lowPort(i.listens().address()) || lowPort(i.env["PULLBOOK_HTTP_ADDR"])
	if i.account == "" {
		return fmt.Errorf("%s has no line %s, which names the service's account", settingsFile, accountSetting)
	}
	return nil
}

// listens are the settings that say where the service listens.
func (i *installation) listens() serviceSettings {
	s := serviceSettings{Addr: i.env["PULLBOOK_ADDR"], tlsSettings: tlsSettings{TLS: i.env["PULLBOOK_TLS"], Cert: i.env["PULLBOOK_TLS_CERT"]}}
	if name := i.env["PULLBOOK_TLS_NAME"]; name != "" {
		s.Names = []string{name}
	}
	return s
}

// lay makes the account, the folders, the settings and the program.
func (i *installation) lay(term *terminal) error {
	if err := i.checkData(); err != nil {
		return err
	}
	owner, err := makeAccount(i.account, i.data)
	if err != nil {
		return err
	}
	if i.data != "" {
		if err := i.takeData(owner); err != nil {
			return err
		}
	}
	for _, folder := range i.backups {
		if err := i.takeBackups(term, folder, owner); err != nil {
			return err
		}
	}
	if err := i.writeSettings(owner); err != nil {
		return err
	}
	return i.replaceProgram()
}

// checkData refuses a folder that is somebody else's, before anything is made.
func (i *installation) checkData() error {
	if i.data == "" {
		return nil
	}
	if pid, held := local.Holder(i.data); held {
		return fmt.Errorf("process %d works with %s; stop it first, since the folder becomes the service's", pid, i.data)
	}
	there, err := os.ReadDir(i.data)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	isBook := slices.ContainsFunc(there, func(e fs.DirEntry) bool { return e.Name() == "data" || e.Name() == "pullbook.lock" })
	if len(there) > 0 && !isBook {
		return fmt.Errorf("the folder %s has files of something else; choose another with --data", i.data)
	}
	return nil
}

// takeData gives the folder of the book to the account, with a book that is there.
func (i *installation) takeData(owner accountOf) error {
	if err := os.MkdirAll(i.data, 0o700); err != nil {
		return err
	}
	if err := os.Chmod(i.data, 0o700); err != nil {
		return err
	}
	return filepath.WalkDir(i.data, func(path string, _ fs.DirEntry, err error) error {
		return errors.Join(err, owner.own(path))
	})
}

// takeBackups makes a folder for backups, except on a stick, and asks whether the account may write there.
func (i *installation) takeBackups(term *terminal, folder string, owner accountOf) error {
	_, err := os.Stat(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist) && onStick(folder):
		fmt.Fprintf(term.Err, "Caution: %s is not there now. Make that folder on the stick, and see that the account %s may write there.\n", folder, i.account)
		return nil
	case errors.Is(err, fs.ErrNotExist):
		if err := os.MkdirAll(folder, 0o700); err != nil {
			return err
		}
		return owner.own(folder)
	case err != nil:
		return err
	}
	if err := owner.mayWrite(folder); err != nil {
		return fmt.Errorf("the account %s may not write into %s: give it the folder with `chown %s %s`, or, on a stick that knows no owners, mount the stick with uid=%s", i.account, folder, i.account, folder, i.account)
	}
	return nil
}

// sticks are where removable disks are mounted (Filesystem Hierarchy Standard 3.0, udisks).
var sticks = []string{"/media", "/mnt", "/run/media"}

func onStick(folder string) bool {
	return slices.ContainsFunc(sticks, func(s string) bool { return strings.HasPrefix(folder, s+"/") })
}

// writeSettings writes the settings so that root changes them, and the account reads them.
func (i *installation) writeSettings(owner accountOf) error {
	if err := os.MkdirAll(filepath.Dir(settingsFile), 0o755); err != nil {
		return err
	}
	names := make([]string, 0, len(i.env))
	for name := range i.env {
		names = append(names, name)
	}
	slices.Sort(names)
	err := writeWhole(settingsFile, func(w io.Writer) error {
		fmt.Fprintf(w, "# Settings of the service; `pullbook serve --help` says what there is. Restart the service after a change.\n")
		for _, name := range names {
			if _, err := fmt.Fprintf(w, "%s=%s\n", name, quoted(i.env[name])); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	return errors.Join(os.Chmod(settingsFile, 0o640), owner.group(settingsFile))
}

// quoted is a value as systemd's EnvironmentFile= reads it: within double quotes a backslash
// stands before a quote, a backslash, a dollar and a grave accent.
func quoted(value string) string {
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "`", "\\`", `$`, `\$`).Replace(value) + `"`
}

// unquoted is what quoted made, or a value that a person wrote as it is.
func unquoted(value string) string {
	value = strings.TrimSpace(value)
	if len(value) < 2 || value[0] != '"' || value[len(value)-1] != '"' {
		return value
	}
	return strings.NewReplacer(`\\`, `\`, `\"`, `"`, "\\`", "`", `\$`, `$`).Replace(value[1 : len(value)-1])
}

// migrate brings the book up to date with this program, after a backup, and returns what was
// said of it.
func (i *installation) migrate(ctx context.Context) (string, error) {
	program, err := os.Executable()
	if err != nil {
		return "", err
	}
	cmd := exec.CommandContext(ctx, program, "migrate")
	cmd.Env = os.Environ()
	for name, value := range i.env {
		cmd.Env = append(cmd.Env, name+"="+value)
	}
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		return "", fmt.Errorf("%w\n%s", err, strings.TrimSpace(errs.String()))
	}
	return out.String(), nil
}

// copyProgram writes a program whole and gives it its name.
func copyProgram(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	err = writeWhole(to, func(out io.Writer) error {
		_, err := io.Copy(out, in)
		return err
	})
	return errors.Join(err, os.Chmod(to, 0o755))
}
