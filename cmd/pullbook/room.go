package main

import (
	"context"
	"log/slog"
	"time"

	"pullbook/api/request"
	"pullbook/db"
)

const (
	// tendEvery is how often the disk is looked at for the log.
	tendEvery = time.Minute
	// restartWithin is how long the private PostgreSQL may take to redo what was
	// committed, and restartAfter how long after a failed try there is another.
	restartWithin = 5 * time.Minute
	restartAfter  = 2 * time.Second
)

// room is how much is left on the disk of the private PostgreSQL.
func (s *store) room() request.Room {
	disk, err := s.disk()
	if err != nil {
		return request.Room{} // a disk that cannot be looked at refuses by itself
	}
	return request.Room{Folder: disk.Folder, FreeBytes: disk.Free, Low: disk.Low(), Full: disk.Full()}
}

// mayStore refuses what is to be stored while the disk has no room, before
// PostgreSQL runs out of it: without room it ends.
func (s *store) mayStore() error {
	if s.disk == nil {
		return nil
	}
	if room := s.room(); room.Full {
		return db.ErrFull(room.Folder)
	}
	return nil
}

// tend keeps some room back, and warns before there is none.
func (s *store) tend(log *slog.Logger) {
	if s.server == nil {
		return
	}
	if room := s.room(); room.Low {
		log.Warn("little room is left on the disk of the book; free some by moving other files away, and delete none in its folder", "folder", room.Folder, "free_mb", room.FreeBytes/1e6, "reading_only", room.Full)
	}
	if err := s.server.Tend(); err != nil {
		log.Warn("no room can be kept back for a full disk", "error", err)
	}
}

// startPostgresAgain returns when the private PostgreSQL answers again, or ctx ends.
// Meanwhile what is read is answered as it was, and nothing is recorded.
func (s *service) startPostgresAgain(ctx context.Context) {
	s.log.Error("the private PostgreSQL ended by itself; it is started again, and everything acknowledged is in its folder")
	for ctx.Err() == nil {
		within, cancel := context.WithTimeout(ctx, restartWithin)
		err := s.store.server.Restart(within)
		cancel()
		if err == nil {
			s.log.Info("the private PostgreSQL answers again")
			return
		}
		s.log.Error("the private PostgreSQL does not start; it is tried again", "error", err, "room_mb", s.store.room().FreeBytes/1e6, "folder", s.store.server.DataDir())
		select {
		case <-ctx.Done():
		case <-time.After(restartAfter):
		}
	}
}
