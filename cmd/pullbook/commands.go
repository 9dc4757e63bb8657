package main

import "github.com/alecthomas/kong"

// commands is what the program can do, as typed on the command line.
type commands struct {
	Serve         serveCommand         `cmd:"" help:"Keep the books: serve the pages, the contract and the HTTP interface."`
	Demo          demoCommand          `cmd:"" help:"Make up an outfit with two seasons, and serve it."`
	Outfit        outfitCommands       `cmd:"" help:"The beekeeping businesses whose books are kept here."`
	Person        personCommands       `cmd:"" help:"The people of an outfit, and what each may do."`
	Token         tokenCommands        `cmd:"" help:"The secrets by which programs and people sign in."`
	FeedKey       feedKeyCommands      `cmd:"" help:"The keys in the addresses that spreadsheets refresh from."`
	Authority     authorityCommands    `cmd:"" help:"This machine's own authority, by which devices on the network trust it."`
	Import        importCommand        `cmd:"" help:"Read a sheet of older records into an outfit's book."`
	Export        exportCommand        `cmd:"" help:"Write everything of an outfit into one file, for another installation or for people."`
	ImportArchive importArchiveCommand `cmd:"" name:"import-archive" help:"Read what export wrote."`
	Audit         auditCommand         `cmd:"" help:"Check that no entry is missing or altered and every gram is accounted for."`
	Backup        backupCommand        `cmd:"" help:"Write everything into one file."`
	Restore       restoreCommand       `cmd:"" help:"Read a backup into an empty database."`
	Migrate       migrateCommand       `cmd:"" help:"Bring a database up to date with this program."`
	Install       installCommand       `cmd:"" help:"Make this program a service that starts with the machine."`
	Update        updateCommand        `cmd:"" help:"Put this program in place of the installed one."`
	Uninstall     uninstallCommand     `cmd:"" help:"Take the service away, and leave the book."`
	Health        healthCommand        `cmd:"" help:"Ask a running pullbook whether it is ready."`
	Version       versionCommand       `cmd:"" help:"Say which pullbook this is."`
}

const description = `The book behind a honey house: what was pulled, run, moved, filled, measured and sold, and what that comes to.

Without a database URL the program runs a private PostgreSQL of its own, which keeps its rows in a folder between starts. Start with "pullbook demo", or make an outfit of your own:

  pullbook outfit add "Sedge Hollow Honey" --time-zone America/Winnipeg
  pullbook person add Tamsin --role manager
  pullbook token add Tamsin
  pullbook serve`

func newParser(options ...kong.Option) (*kong.Kong, error) {
	return kong.New(&commands{}, append([]kong.Option{
		kong.Name("pullbook"),
		kong.Description(description),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, FlagsLast: true, WrapUpperBound: 100, NoAppDescFormat: true}),
	}, options...)...)
}
