package api

import (
	"time"

	"pullbook/domain/ledger"
)

// writtenDown keeps the cells that are written to it, for another to have later.
type writtenDown struct{ later []func(cells) }

func (w *writtenDown) to(out cells) {
	for _, write := range w.later {
		write(out)
	}
}

func (w *writtenDown) keep(write func(cells)) { w.later = append(w.later, write) }

func (w *writtenDown) begin()     {}
func (w *writtenDown) end() error { return nil }
func (w *writtenDown) size() int  { return 0 }

func (w *writtenDown) text(x string)            { w.keep(func(out cells) { out.text(x) }) }
func (w *writtenDown) id(x ledger.ID)           { w.keep(func(out cells) { out.id(x) }) }
func (w *writtenDown) whole(x int64)            { w.keep(func(out cells) { out.whole(x) }) }
func (w *writtenDown) day(x ledger.Date)        { w.keep(func(out cells) { out.day(x) }) }
func (w *writtenDown) instant(x time.Time)      { w.keep(func(out cells) { out.instant(x) }) }
func (w *writtenDown) yes(x bool)               { w.keep(func(out cells) { out.yes(x) }) }
func (w *writtenDown) none()                    { w.keep(func(out cells) { out.none() }) }
func (w *writtenDown) decimal(x float64, n int) { w.keep(func(out cells) { out.decimal(x, n) }) }
