package db

import (
	"errors"
	"sync"

	"pullbook/domain/ledger"
)

// decodeBatch is how many entries a decoder takes at a time: enough to make the
// hand-over cheap.
const decodeBatch = 512

// decoder reads entries' bodies on goroutines of its own.
type decoder struct {
	work  chan []undecoded
	batch []undecoded
	group sync.WaitGroup
	mu    sync.Mutex
	errs  []error
}

type undecoded struct {
	entry   *ledger.Entry
	content []byte
}

func newDecoder() *decoder {
	d := &decoder{work: make(chan []undecoded, 8)}
	for range 2 {
		d.group.Go(func() {
			for batch := range d.work {
				for _, u := range batch {
					if err := u.entry.SetContent(u.content); err != nil {
						d.mu.Lock()
						d.errs = append(d.errs, err)
						d.mu.Unlock()
					}
				}
			}
		})
	}
	return d
}

func (d *decoder) add(e *ledger.Entry, content []byte) {
	d.batch = append(d.batch, undecoded{e, content})
	if len(d.batch) == decodeBatch {
		d.work <- d.batch
		d.batch = make([]undecoded, 0, decodeBatch)
	}
}

// wait ends the decoder. It is called once.
func (d *decoder) wait() error {
	if len(d.batch) > 0 {
		d.work <- d.batch
	}
	close(d.work)
	d.group.Wait()
	return errors.Join(d.errs...)
}
