package main

import (
	"fmt"
	"io"
	"log/slog"
	"net/netip"
	"net/url"
	"strings"
	"time"
)

// databaseSettings say where the books are.
type databaseSettings struct {
	URL  string `name:"database-url" env:"PULLBOOK_DATABASE_URL,DATABASE_URL" placeholder:"URL" help:"PostgreSQL to keep the books in, such as postgres://user@host/database. Without one the program runs a private PostgreSQL."`
	Data string `name:"data" type:"path" env:"PULLBOOK_DATA" placeholder:"FOLDER" help:"Folder of the private PostgreSQL. Without one: /var/lib/pullbook for root, else the account's own state folder."`
	// BackupTo is with the database, since every command that opens it may bring it up to date.
	BackupTo []string `name:"backup-to" type:"path" env:"PULLBOOK_BACKUP_TO" placeholder:"FOLDERS" help:"Folders, such as one on a stick, into each of which a good backup goes every night while serve runs, and into the first of which one goes before a new schema."`
	// WithoutBackup: none is made before a new schema.
	WithoutBackup bool `kong:"-"`
	postgresSettings
}

// postgresSettings say which PostgreSQL programs to run.
type postgresSettings struct {
	BinDir  string `name:"pg-bindir" type:"path" env:"PULLBOOK_PG_BINDIR" placeholder:"FOLDER" help:"Folder with PostgreSQL's programs. Without one the program looks in PATH and the usual places for the newest that fits, at least 15."`
	Install bool   `name:"install-postgres" env:"PULLBOOK_INSTALL_POSTGRES" help:"If there is no PostgreSQL, install it with the platform's own command."`
}

// check refuses what can be no address of a database, without showing it: it
// may hold a password.
func (s databaseSettings) check() error {
	if s.URL != "" && !strings.HasPrefix(s.URL, "postgres://") && !strings.HasPrefix(s.URL, "postgresql://") {
		return fmt.Errorf("the database URL (--database-url, PULLBOOK_DATABASE_URL or DATABASE_URL) does not begin with postgres://; postgres://user@host/database would do")
	}
	return nil
}

// logSettings say what is logged, and how. Lines go to standard error.
type logSettings struct {
	Level  string `name:"log-level" env:"PULLBOOK_LOG_LEVEL" enum:"debug,info,warn,error" default:"${log_level}" help:"The least that is logged: debug, info, warn or error."`
	Format string `name:"log-format" env:"PULLBOOK_LOG_FORMAT" enum:"text,json" default:"text" help:"Form of the log: text or json."`
}

func (s logSettings) logger(w io.Writer) (*slog.Logger, error) {
	var level slog.Level
	if err := level.UnmarshalText([]byte(s.Level)); err != nil {
		return nil, err
	}
	options := &slog.HandlerOptions{Level: level}
	if s.Format == "json" {
		return slog.New(slog.NewJSONHandler(w, options)), nil
	}
	return slog.New(slog.NewTextHandler(w, options)), nil
}

// serviceSettings bound what the service does.
type serviceSettings struct {
	tlsSettings
	Addr           string        `name:"addr" env:"PULLBOOK_ADDR" placeholder:"HOST:PORT" help:"Address to listen on. Without one: 127.0.0.1:8080, or port 8080 of all addresses with HTTPS. To listen beyond this machine without HTTPS, put TLS in front: tokens travel in the clear."`
	Name           string        `name:"mdns" env:"PULLBOOK_MDNS" placeholder:"NAME" help:"Name by which devices on the local network find the service, as NAME.local, where it listens beyond this machine. Without one: the machine's own name. off: announce nothing."`
	PublicURL      string        `name:"public-url" env:"PULLBOOK_PUBLIC_URL" placeholder:"URL" help:"Address under which others reach the service, such as https://book.example. Lots' sheets and labels carry it. Without one: the address or name of this machine by which somebody opened the page."`
	Connections    int           `name:"connections" env:"PULLBOOK_CONNECTIONS" default:"16" help:"Connections to the database, at most."`
	OpenBooks      int           `name:"open-books" env:"PULLBOOK_OPEN_BOOKS" default:"64" help:"Books kept open in memory, at most; one for each outfit at work."`
	Concurrent     int           `name:"concurrent" env:"PULLBOOK_CONCURRENT" default:"256" help:"Requests served at once, at most. The service asks the rest to try again. An outfit has a quarter of them, strangers together a quarter."`
	MaxBodyKiB     int64         `name:"max-body-kib" env:"PULLBOOK_MAX_BODY_KIB" default:"6400" help:"Size of a request's body, at most, in KiB."`
	RequestTimeout time.Duration `name:"request-timeout" env:"PULLBOOK_REQUEST_TIMEOUT" default:"30s" help:"Time that one request may take."`
	TrustedProxies []string      `name:"trusted-proxies" env:"PULLBOOK_TRUSTED_PROXIES" placeholder:"NETWORKS" help:"Proxies before the service, such as 127.0.0.1,10.0.0.0/8. The service believes X-Forwarded-For and X-Forwarded-Proto from them and from nobody else."`
	MetricsFrom    []string      `name:"metrics-from" env:"PULLBOOK_METRICS_FROM" default:"127.0.0.0/8,::1" placeholder:"NETWORKS" help:"Networks that may read /metrics, such as 127.0.0.1,192.168.7.0/24. What a proxy passes on counts only if the proxy is trusted."`
	DeliverTo      []string      `name:"deliver-to" env:"PULLBOOK_DELIVER_TO" placeholder:"NETWORKS" help:"Networks of this machine that the evening's page may be sent to, such as 127.0.0.1 for a mail server that runs here. Without one, mail and web hooks reach every machine but this one."`
	MetricsToken   string        `name:"metrics-token" env:"PULLBOOK_METRICS_TOKEN" placeholder:"TOKEN" help:"Token, of 16 characters or more, that may read /metrics from anywhere, sent as Authorization: Bearer."`
}

// networks reads addresses and networks, as 10.0.0.0/8 or ::1.
func networks(flag string, texts []string) (all []netip.Prefix, err error) {
	for _, text := range texts {
		text = strings.TrimSpace(text)
		if text == "" {
			continue
		}
		network, err := netip.ParsePrefix(text)
		if address, single := netip.ParseAddr(text); single == nil {
			network, err = netip.PrefixFrom(address, address.BitLen()), nil
		}
		if err != nil || network.Addr().Zone() != "" {
			return nil, fmt.Errorf("--%s has %q, which is no address and no network; 10.0.0.7 or 10.0.0.0/8 would be", flag, text)
		}
		all = append(all, network.Masked())
	}
	return all, nil
}

// address is where the service listens. With HTTPS that is what other devices reach.
func (s serviceSettings) address() string {
	switch {
	case s.Addr != "":
		return s.Addr
	case s.tlsSettings.on():
		return ":8080"
	}
	return "127.0.0.1:8080"
}

func (s serviceSettings) check() error {
	if err := s.tlsSettings.check(); err != nil {
		return err
	}
	if err := s.checkName(); err != nil {
		return err
	}
	if err := s.checkPublicURL(); err != nil {
		return err
	}
	if _, err := networks("trusted-proxies", s.TrustedProxies); err != nil {
		return err
	}
	if _, err := networks("metrics-from", s.MetricsFrom); err != nil {
		return err
	}
	if _, err := networks("deliver-to", s.DeliverTo); err != nil {
		return err
	}
	if n := len(s.MetricsToken); n > 0 && n < leastMetricsToken {
		return fmt.Errorf("--metrics-token has %d characters; %d are the least, so that nobody guesses it", n, leastMetricsToken)
	}
	for _, limit := range []struct {
		flag  string
		value int64
		least int64
	}{
		{"connections", int64(s.Connections), leastConnections},
		{"open-books", int64(s.OpenBooks), 1},
		{"concurrent", int64(s.Concurrent), 1},
		{"max-body-kib", s.MaxBodyKiB, 1},
		{"request-timeout", int64(s.RequestTimeout), int64(time.Second)},
	} {
		if limit.value < limit.least {
			if limit.flag == "request-timeout" {
				return fmt.Errorf("--request-timeout is %v; one second (1s) is the least", s.RequestTimeout)
			}
			return fmt.Errorf("--%s is %d; %d is the least", limit.flag, limit.value, limit.least)
		}
	}
	return nil
}

func (s serviceSettings) checkPublicURL() error {
	if s.PublicURL == "" {
		return nil
	}
	u, err := url.Parse(s.PublicURL)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return fmt.Errorf("--public-url is %q; a scheme and a host are needed and nothing else, as https://book.example", s.PublicURL)
	}
	return nil
}

const leastMetricsToken = 16

// leastConnections lets entries be stored while reports are read.
const leastConnections = 4
