package request

import (
	"fmt"
	"testing"
	"testing/synctest"
	"time"

	"pullbook/db/gate"
)

// A sheet of an outfit waits for the one before it, others' sheets do not; and who waits
// in vain, or after too many others, is told so.
func TestAnOutfitBringsInOneSheetAtATime(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		g, own, other := newImportGate(), gate.Of("own", 1), gate.Of("other", 1)
		end, err := g.Enter(t.Context(), importTurn, own)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := g.Enter(t.Context(), importTurn, own); err != gate.ErrShare {
			t.Errorf("a second sheet of the outfit: %v", err)
		}
		if _, err := g.Enter(t.Context(), 0, other); err != nil {
			t.Errorf("another outfit's: %v", err)
		}
		came := make(chan error)
		for range mostInLineToImport {
			go func() {
				end, err := g.Enter(t.Context(), importTurn, own)
				if err == nil {
					end()
				}
				came <- err
			}()
		}
		synctest.Wait()
		began := time.Now()
		if _, err := g.Enter(t.Context(), importTurn, own); err != gate.ErrShare || time.Since(began) > 0 {
			t.Errorf("one more than may wait, after %s: %v", time.Since(began), err)
		}
		end()
		for range mostInLineToImport {
			if err := <-came; err != nil {
				t.Errorf("one that waited its turn: %v", err)
			}
		}
		for i := range mostImports - 1 {
			if _, err := g.Enter(t.Context(), 0, gate.Of(fmt.Sprint(i), 1)); err != nil {
				t.Error(err)
			}
		}
		if _, err := g.Enter(t.Context(), importTurn, own); err != gate.ErrFull {
			t.Errorf("one more than come in at once: %v", err)
		}
	})
}
