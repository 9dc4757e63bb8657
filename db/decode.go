package db

import (
	"slices"
	"sync"

	"pullbook/domain/ledger"
)

// How many entries a decoder takes at a time: few at first, since often few are
// read, and later enough to make the hand-over cheap.
const (
	firstBatch  = 8
	decodeBatch = 512
)

// decoder reads entries' bodies on goroutines of its own.
type decoder struct {
	work  chan batch
	batch batch
	group sync.WaitGroup
}

// batch is entries with their contents one behind the other: a piece of memory
// each, and not one for every entry.
type batch struct {
	entries  []ledger.Entry
	contents []byte
	ends     []int
}

// newBatch has room for so many entries, and for their contents if they are about
// as long as usual.
func newBatch(size int) batch {
	const usualContent = 256
	return batch{entries: make([]ledger.Entry, 0, size), contents: make([]byte, 0, size*usualContent), ends: make([]int, 0, size)}
}

// decode reads the contents. What cannot be read closes the book to nobody: that entry
// stands in it as unreadable.
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
	d := &decoder{work: make(chan batch, 8), batch: newBatch(firstBatch)}
	for range 2 {
		d.group.Go(func() {
			for batch := range d.work {
				batch.decode()
			}
		})
	}
	return d
}

// next is an entry to be filled in but for its body, and then handed to add.
func (d *decoder) next() *ledger.Entry {
	if size := cap(d.batch.entries); len(d.batch.entries) == size {
		d.work <- d.batch
		d.batch = newBatch(min(2*size, decodeBatch))
	}
	d.batch.entries = d.batch.entries[:len(d.batch.entries)+1]
	return &d.batch.entries[len(d.batch.entries)-1]
}

// add takes the content of the entry that next gave; it keeps a copy.
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
