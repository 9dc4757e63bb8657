package local

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"sync"
	"syscall"
	"time"
)

// Server is a running private PostgreSQL. Its methods may be called at once
// from several goroutines, except Stop.
type Server struct {
	bin             Binaries
	dataDir         string
	socketDir       string
	socketTemporary bool
	lock            *os.File
	log             *serverLog
	opts            Options
	acct            *account
	disk            diskLook

	mu       sync.Mutex // guards postgres, which Restart replaces
	postgres *process
	stopped  bool
}

func (s *Server) running() *process {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.postgres
}

func (s *Server) setPostgres(p *process) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.postgres = p
}

// URL connects as Superuser to the database "postgres".
func (s *Server) URL() string { return s.URLFor(Superuser, "postgres") }

// URLFor connects as role to database, both of which must exist. Only the
// account of the server and root reach the socket, so no password is asked.
func (s *Server) URLFor(role, database string) string { return socketURL(s.socketDir, role, database) }

func socketURL(socketDir, role, database string) string {
	u := url.URL{
		Scheme:   "postgres",
		User:     url.User(role),
		Path:     "/" + database,
		RawQuery: url.Values{"host": {socketDir}, "port": {socketPort}}.Encode(),
	}
	return u.String()
}

// Binaries are the programs of the server's own version, for backups.
func (s *Server) Binaries() Binaries { return s.bin }

// DataDir is the folder that keeps the rows, free of links.
func (s *Server) DataDir() string { return s.dataDir }

// PID is the process id of the server.
func (s *Server) PID() int { return s.running().pid() }

// Done is closed when the server has ended, by Stop or by itself. After a Restart
// it is another one.
func (s *Server) Done() <-chan struct{} { return s.running().done }

// Stop ends the sessions that are still open and shuts the server down in
// order, in seconds. When ctx ends first, the server is stopped at once and the
// next start recovers; no acknowledged row is lost either way. A second call
// does nothing. It fails when the server did not end in order.
func (s *Server) Stop(ctx context.Context) error {
	if s.stopped {
		return nil
	}
	s.stopped = true
	s.log.setQuiet(true)
	return errors.Join(s.shutDown(ctx), s.release())
}

func (s *Server) shutDown(ctx context.Context) error {
	postgres := s.running()
	postgres.signal(syscall.SIGINT)
	select {
	case <-postgres.done:
	case <-ctx.Done():
		postgres.signal(syscall.SIGQUIT)
		select {
		case <-postgres.done:
		case <-time.After(10 * time.Second): // twice what PostgreSQL gives its sessions
			postgres.signal(syscall.SIGKILL)
			<-postgres.done
		}
	}
	if postgres.err != nil {
		return fmt.Errorf("PostgreSQL did not stop in order (the next start recovers): %w", postgres.err)
	}
	return nil
}

// release gives the data folder up.
func (s *Server) release() error {
	var err error
	if s.socketTemporary {
		err = os.RemoveAll(s.socketDir)
	}
	return errors.Join(err, unlockDir(s.lock))
}
