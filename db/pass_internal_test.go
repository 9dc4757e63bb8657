package db

import (
	"testing"
	"testing/synctest"
	"time"

	"golang.org/x/sync/semaphore"

	"pullbook/domain/fault"
)

// An entry waits for an import for a stated moment, and is told to come again then.
func TestAnEntryWaitsForAnImportForAMoment(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		l := &live{gate: semaphore.NewWeighted(wholeGate)}
		if !l.gate.TryAcquire(wholeGate) {
			t.Fatal("the gate is taken")
		}
		began := time.Now()
		if err := l.pass(t.Context()); fault.CodeOf(err) != fault.Busy || time.Since(began) != mostWait {
			t.Errorf("after %s: %v", time.Since(began), err)
		}
		time.AfterFunc(mostWait/2, func() { l.gate.Release(wholeGate) })
		if err := l.pass(t.Context()); err != nil {
			t.Error(err)
		}
	})
}
