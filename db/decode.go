package db

import (
	"slices"
	"sync"

	"pullbook/domain/ledger"
)

// How many entries a decoder takes at a time: few at first, since often few are read, and
// more later, so that handing over is cheap.
const (
	firstBatch  = 8
	decodeBatch = 512
)

// decoder reads entries' bodies on goroutines of its own.
type decoder struct {
	work  chan batch
	batch batch
	group sync.WaitGroup
	// spare has the contents' memory of batches that were decoded, which is used again.
	spare chan batch
}

// batch is entries, with their contents one behind the other in one piece of memory.
type batch struct {
	entries  []ledger.Entry
	contents []byte
	ends     []int
}

// newBatch returns a batch with room for so many entries of usual length.
func newBatch(size int) batch {
	const usualContent = 256
	return batch{entries: make([]ledger.Entry, 0, size), contents: make([]byte, 0, size*usualContent), ends: make([]int, 0, size)}
}

// decode reads the contents. An entry that cannot be read stands in the book as unreadable.
func (b batch) decode() {
	from := 0
	for i, end := range b.ends {
		e := &b.entries[i]
		if err := e.SetContent(b.contents[from:end]); err != nil {
			e.Spoil(slices.Clone(b.contents[from:end]), err.Error())
		}
		from = end
	}
}

func newDecoder() *decoder {
	d := &decoder{work: make(chan batch, 8), batch: newBatch(firstBatch), spare: make(chan batch, 16)}
	for range 2 {
		d.group.Go(func() {
			for b := range d.work {
				b.decode()
				select {
				case d.spare <- batch{contents: b.contents[:0], ends: b.ends[:0]}:
				default: // it has enough of them
				}
			}
		})
	}
	return d
}

// another returns a batch with room for so many entries.
func (d *decoder) another(size int) batch {
	select {
	case b := <-d.spare:
		b.entries = make([]ledger.Entry, 0, size)
		return b
	default:
		return newBatch(size)
	}
}

// next returns an entry for the caller to fill in, except for its body. The caller then
// hands the content to add.
func (d *decoder) next() *ledger.Entry {
	if size := cap(d.batch.entries); len(d.batch.entries) == size {
		d.work <- d.batch
		d.batch = d.another(min(2*size, decodeBatch))
	}
	d.batch.entries = d.batch.entries[:len(d.batch.entries)+1]
	return &d.batch.entries[len(d.batch.entries)-1]
}

// add copies the content of the entry that next returned.
func (d *decoder) add(content []byte) {
	d.batch.contents = append(d.batch.contents, content...)
	d.batch.ends = append(d.batch.ends, len(d.batch.contents))
}

// wait ends the decoder. It is called once.
func (d *decoder) wait() {
	d.work <- d.batch
	close(d.work)
	d.group.Wait()
}
