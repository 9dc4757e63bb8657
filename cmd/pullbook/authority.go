package main

import (
	"bufio"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
	"time"

	"pullbook/api/authority"
)

type authorityCommands struct {
	Show authorityShowCommand `cmd:"" help:"Say what devices are told to trust, with its fingerprint."`
	New  authorityNewCommand  `cmd:"" help:"Make another authority in place of the one that there is."`
}

// authoritySettings say where the authority is.
type authoritySettings struct {
	Data   string `name:"data" type:"path" env:"PULLBOOK_DATA" placeholder:"FOLDER" help:"Folder of the private PostgreSQL. Without one: /var/lib/pullbook for root, else the account's own state folder."`
	Folder string `name:"tls-folder" type:"path" env:"PULLBOOK_TLS_FOLDER" placeholder:"FOLDER" help:"Folder of this machine's own authority, and of what ACME gave. Without one: tls in the folder of the private PostgreSQL. No backup and no archive has it."`
}

func (s authoritySettings) file() (string, error) {
	settings := tlsSettings{TLS: "own", Folder: s.Folder}
	err := settings.folderIn(s.Data)
	return filepath.Join(settings.Folder, authorityFile), err
}

type authorityShowCommand struct{ authoritySettings }

func (c *authorityShowCommand) Run(term *terminal) error {
	file, err := c.file()
	if err != nil {
		return err
	}
	a, err := readAuthority(file)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("this machine has no authority of its own yet (%s): `pullbook serve --tls own` makes it", file)
	}
	if err != nil {
		return err
	}
	showAuthority(term, a)
	return a.GoodAt(time.Now())
}

func showAuthority(term *terminal, a *authority.Authority) {
	fmt.Fprintf(term.Out, "%s\nFingerprint (SHA-256): %s\nGood until %s, for names that end in .%s and for addresses of private networks.\n",
		a.Root.Subject.CommonName, a.Fingerprint(), a.Root.NotAfter.Format(time.DateOnly), strings.Join(authority.Domains, ", ."))
}

type authorityNewCommand struct {
	authoritySettings
	Yes bool `name:"yes" help:"Do it without being asked again."`
}

func (c *authorityNewCommand) Help() string {
	return `For a machine that was lost, stolen or looked into by others: whoever has the key of its authority can pass for the book on the local network. The command makes another authority, and destroys the key of the one before. A service that runs takes up the new one within a minute. No device trusts it yet: each has to be told anew, on the page /trust, and should be told there to forget the old one. What waits on a device to be sent is kept meanwhile.`
}

func (c *authorityNewCommand) Run(term *terminal) error {
	file, err := c.file()
	if err != nil {
		return err
	}
	if !c.Yes {
		if !term.Asks {
			return errors.New("each device has to be told anew to trust this machine; --yes says that this is wanted")
		}
		fmt.Fprintf(term.Err, "Each device has to be told anew to trust this machine. Make another authority in %s? [y/N] ", file)
		answer, _ := bufio.NewReader(term.In).ReadString('\n') // no answer is no
		if answer = strings.ToLower(strings.TrimSpace(answer)); answer != "y" && answer != "yes" {
			return errors.New("nothing was changed")
		}
	}
	a, err := newAuthority(file, thisMachine().name, time.Now())
	if err != nil {
		return err
	}
	showAuthority(term, a)
	fmt.Fprintf(term.Out, "No device trusts it yet: open the page /trust on each.\n")
	return nil
}
