package local

import (
	"context"
	"errors"
	"fmt"
	"time"
)

// Restart starts the server again after it ended by itself, as after a full disk.
// The server redoes what was committed. Restart and Stop must not be called at once.
func (s *Server) Restart(ctx context.Context) error {
	select {
	case <-s.Done():
	default:
		return errors.New("PostgreSQL still runs")
	}
	return s.launchUntil(ctx)
}

// launchUntil starts the server, and waits for one that was killed to be gone. On a
// full disk the room that was kept for this is freed first.
func (s *Server) launchUntil(ctx context.Context) error {
	disk, err := DiskOf(s.dataDir)
	if err == nil && disk.Full() {
		err = s.giveReserve()
	}
	if err != nil {
		return fmt.Errorf("make room for PostgreSQL: %w", err)
	}
	for deadline := time.Now().Add(staleRetry); ; {
		err := s.launch(ctx, s.opts, s.acct)
		if err == nil {
			return nil
		}
		if !errors.Is(err, errStale) || time.Now().After(deadline) {
			return err
		}
		select {
		case <-ctx.Done():
			return errors.Join(ctx.Err(), err)
		case <-time.After(100 * time.Millisecond):
		}
	}
}

// Tend keeps the room that gives way when the disk is full. It is cheap, and to be
// called now and then.
func (s *Server) Tend() error { return s.keepReserve() }
