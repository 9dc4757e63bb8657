package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"pullbook/api"
	"pullbook/api/deliver"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/progress"
)

type serveCommand struct {
	databaseSettings
	serviceSettings
	nightlySettings
	logSettings `set:"log_level=info"`
}

func (c *serveCommand) Help() string {
	return `Serves until Ctrl-C or SIGTERM stops it, and then finishes the requests in flight. The pages are at /, the contract at /docs, liveness and readiness at /livez and /readyz, and the metrics, for this machine and for those whom --metrics-from and --metrics-token name, at /metrics. If a proxy stands before the service, name the proxy with --trusted-proxies.

The program brings the private PostgreSQL up to date by itself. A database given by its URL needs "pullbook migrate".`
}

func (c *serveCommand) Run(ctx context.Context, term *terminal) error {
	log, err := c.logger(term.log())
	if err != nil {
		return err
	}
	// Every setting is looked at before a port is taken.
	if err := c.databaseSettings.check(); err != nil {
		return err
	}
	if err := c.nightlySettings.check(); err != nil {
		return err
	}
	if err := c.folderIn(c.Data); err != nil {
		return err
	}
	program, err := os.Executable()
	if err != nil {
		return err
	}
	var backups *nightly
	return serve(ctx, c.serviceSettings, log, func() (*store, error) {
		opened, err := c.open(ctx, term, log)
		if err == nil {
			backups = newNightly(c.BackupTo, c.nightlySettings, opened.folder, log, byProgram(program, c.databaseSettings, opened.folder, c.keepSettings))
			if len(c.BackupTo) > 0 || opened.server != nil {
				opened.backups = backups.told
			}
		}
		return opened, err
	}, func(ctx context.Context, s *service) error {
		fmt.Fprintf(term.Out, "pullbook serves on %s\nThe page is at %s/ and the contract at %s/docs. Stop with Ctrl-C.\n", s.base, s.base, s.base)
		if err := s.tellDevices(term); err != nil {
			return err
		}
		var beside sync.WaitGroup
		beside.Go(func() { s.openTheBook(ctx, term) })
		backups.run(ctx)
		beside.Wait()
		return nil
	})
}

// service is the program at work.
type service struct {
	store *store
	// base is the address for clients on this machine, http://127.0.0.1:8080.
	base string
	// certificates are shown over HTTPS; nil where there is none.
	certificates certificates
	books        *books.Books
	log          *slog.Logger
}

// openTheBook opens the book of the only outfit before somebody asks for it. Which of several
// outfits will be at work nobody knows: each of them has its book opened by whoever comes first.
func (s *service) openTheBook(ctx context.Context, term *terminal) {
	began := time.Now()
	entries, err := s.openOnly(ctx, term)
	switch {
	case err != nil && ctx.Err() == nil:
		s.log.Warn("the book could not be opened; whoever comes first opens it", "error", err)
	case entries > 0:
		s.log.Info("the book is open", "entries", entries, "seconds", time.Since(began).Round(10*time.Millisecond).Seconds())
	}
}

func (s *service) openOnly(ctx context.Context, term *terminal) (entries int64, err error) {
	operator, err := s.store.operator(ctx)
	if err != nil {
		return 0, err
	}
	outfits, err := operator.Outfits(ctx)
	operator.Close()
	if err != nil || len(outfits) != 1 {
		return 0, err
	}
	watched, done := term.watch(ctx, "Opening "+brief(outfits[0].Name), progress.Opening)
	defer done()
	return s.books.Ready(watched, outfits[0].ID)
}

// readOnOfPrivate is how long reading goes on while the private PostgreSQL is away:
// longer than beside other processes, since nothing else can change its books meanwhile.
const readOnOfPrivate = 12 * time.Hour

// finishWithin is how long requests in flight may take once the program is
// asked to stop.
const finishWithin = 10 * time.Second

// serve runs the service until ctx ends or something fails, calling meanwhile
// beside it as soon as requests are answered. Everything that was opened is
// closed on return.
func serve(ctx context.Context, settings serviceSettings, log *slog.Logger, open func() (*store, error), meanwhile func(context.Context, *service) error) (err error) {
	if err := settings.check(); err != nil {
		return err
	}
	listeners, err := settings.listen()
	if err != nil {
		return err
	}
	defer closeAll(listeners)
	if !settings.tlsSettings.on() {
		warnInTheClear(log, listeners[0].Addr())
	}
	books, err := open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, books.close()) }()
	if err := books.ready(ctx); err != nil {
		return err
	}
	if err := within(ctx, books.owner(), func(tx pgx.Tx) error { return protected(ctx, tx) }); err != nil {
		return err
	}
	certificates, err := settings.certificates(portOf(listeners[0].Addr()), log)
	if err != nil {
		return err
	}
	return serveOn(ctx, listeners, settings, &service{store: books, base: baseURL(listeners[0].Addr(), certificates != nil), certificates: certificates, log: log}, meanwhile)
}

// listen takes the addresses that the settings name. With HTTPS the machine itself reaches the
// service over plain HTTP too, for which it needs an address of its own.
func (s serviceSettings) listen() (all []net.Listener, err error) {
	take := func(flag, address string) {
		var l net.Listener
		if err == nil {
			l, err = net.Listen("tcp", address)
		}
		if l != nil {
			all = append(all, l)
		} else if err != nil {
			err = fmt.Errorf("cannot listen on %s: %w; --%s chooses another address", address, err, flag)
		}
	}
	take("addr", s.address())
	if err == nil && s.tlsSettings.on() {
		if at, is := all[0].Addr().(*net.TCPAddr); is && !at.IP.IsUnspecified() && !at.IP.IsLoopback() {
			take("addr", net.JoinHostPort("127.0.0.1", portOf(at)))
		}
	}
	if err == nil && s.HTTPAddr != "" {
		take("http-addr", s.HTTPAddr)
	}
	if err != nil {
		closeAll(all)
		return nil, err
	}
	return all, nil
}

func closeAll(listeners []net.Listener) {
	for _, l := range listeners {
		l.Close()
	}
}

// serveOn answers requests over a database that is up to date.
func serveOn(ctx context.Context, listeners []net.Listener, settings serviceSettings, s *service, meanwhile func(context.Context, *service) error) error {
	d, err := db.Open(ctx, s.store.urlFor(db.ServiceRole), db.ServiceRole, settings.Connections)
	if err != nil {
		return err
	}
	defer d.Close()
	if s.store.server != nil {
		d.Away.ReadOnFor = readOnOfPrivate
	}
	books.LetGarbageLie(garbage(memoryToUse()))
	books := books.Open(d, settings.OpenBooks)
	s.books = books
	d.Room = s.store.mayStore
	config := settings.config(s.log)
	config.Serving, config.Backups = ctx, s.store.backups
	if s.store.server != nil {
		config.Room = s.store.room
	}
	if s.certificates != nil {
		config.Own = s.certificates.own()
	}
	handler, err := api.New(d, books, config)
	if err != nil {
		books.Close()
		return err
	}
	front := settings.frontOf(listeners, handler, s.certificates, s.log)
	ended := make(chan error, len(front.servers)+1)
	front.start(ended)
	if s.certificates != nil {
		s.certificates.begin()
	}
	s.log.Info("serving", "addr", listeners[0].Addr().String(), "https", s.certificates != nil)
	beside, stopBeside := context.WithCancel(ctx)
	defer stopBeside()
	if settings.Name != notAnnounced && isBeyond(listeners) {
		go announce(beside, settings.thisMachine, portOf(listeners[0].Addr()), s.certificates != nil, s.log)
	}
	sending := make(chan struct{})
	go func() {
		defer close(sending)
		deliver.New(d, books, config).Run(beside)
	}()
	go func() {
		if err := meanwhile(beside, s); err != nil && beside.Err() == nil {
			ended <- err
		}
	}()
	why := s.await(ctx, ended)
	stopBeside()
	<-sending // it has the books
	finished, cancel := context.WithTimeout(context.Background(), finishWithin)
	defer cancel()
	if err := front.forEach(func(server *http.Server) error { return server.Shutdown(finished) }); err != nil {
		// Handlers may still be at work on the books: leave those open.
		return errors.Join(why, fmt.Errorf("some requests were not finished within %v: %w", finishWithin, err), front.forEach((*http.Server).Close))
	}
	books.Close()
	s.log.Info("stopped")
	return why
}

// await returns when the service has to end, and why; nil where it was asked to.
// A private PostgreSQL that ended by itself is started again meanwhile.
func (s *service) await(ctx context.Context, ended <-chan error) error {
	tend := time.NewTicker(tendEvery)
	defer tend.Stop()
	for {
		var postgresEnded <-chan struct{}
		if s.store.server != nil {
			postgresEnded = s.store.server.Done()
		}
		select {
		case <-ctx.Done():
			s.log.Info("stopping; requests in flight are finished first")
			return nil
		case err := <-ended:
			return err
		case <-postgresEnded:
			s.startPostgresAgain(ctx)
		case <-tend.C:
			s.store.tend(s.log)
		}
	}
}

func (s serviceSettings) config(log *slog.Logger) request.Config {
	config := request.DefaultConfig()
	config.MaxBodyBytes = s.MaxBodyKiB << 10
	config.RequestTimeout = s.RequestTimeout
	config.Concurrent = s.Concurrent
	config.PublicURL = strings.TrimRight(s.PublicURL, "/")
	// They were read when the settings were checked.
	config.TrustedProxies, _ = networks("trusted-proxies", s.TrustedProxies)
	config.MetricsFrom, _ = networks("metrics-from", s.MetricsFrom)
	config.MetricsToken = s.MetricsToken
	config.DeliverTo, _ = networks("deliver-to", s.DeliverTo)
	config.Log = log
	config.Version = programVersion()
	config.Memory = memoryToUse()
	return config
}

func (s serviceSettings) server(handler http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           handler,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       s.RequestTimeout,
		WriteTimeout:      2 * s.RequestTimeout, // the reading and the answering of one request
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
}

// warnInTheClear says so where tokens can be read on the way.
func warnInTheClear(log *slog.Logger, addr net.Addr) {
	if tcp, ok := addr.(*net.TCPAddr); ok && !tcp.IP.IsLoopback() {
		log.Warn("listening beyond this machine without TLS: tokens can be read on the way; start with --tls own, or put a proxy with TLS in front", "addr", addr.String())
	}
}

// baseURL is where clients on this machine reach the listener, over plain HTTP: with HTTPS it
// listens at 127.0.0.1 too.
func baseURL(addr net.Addr, secure bool) string {
	tcp, ok := addr.(*net.TCPAddr)
	if ok && (tcp.IP.IsUnspecified() || secure && !tcp.IP.IsLoopback()) {
		return fmt.Sprintf("http://127.0.0.1:%d", tcp.Port)
	}
	return "http://" + addr.String()
}
