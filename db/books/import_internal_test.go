package books

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
		l := &live{importing: semaphore.NewWeighted(allOfImporting)}
		if !l.importing.TryAcquire(allOfImporting) {
			t.Fatal("the gate is taken")
		}
		began := time.Now()
		if err := l.waitForImport(t.Context(), 1); fault.CodeOf(err) != fault.Busy || time.Since(began) != mostWaitForImport {
			t.Errorf("after %s: %v", time.Since(began), err)
		}
		time.AfterFunc(mostWaitForImport/2, func() { l.importing.Release(allOfImporting) })
		if err := l.waitForImport(t.Context(), 1); err != nil {
			t.Error(err)
		}
	})
}
