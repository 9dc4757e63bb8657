package request

import (
	"crypto/sha256"
	"sync"
)

// goodKeys are digests of feed keys that were right lately.
type goodKeys struct {
	mu   sync.Mutex
	keys map[[sha256.Size]byte]bool
}

const mostGoodKeys = 4096

func (g *goodKeys) has(key [sha256.Size]byte) bool {
	g.mu.Lock()
	defer g.mu.Unlock()
	return g.keys[key]
}

func (g *goodKeys) remember(key [sha256.Size]byte) {
	g.mu.Lock()
	defer g.mu.Unlock()
	if len(g.keys) >= mostGoodKeys || g.keys == nil {
		g.keys = map[[sha256.Size]byte]bool{}
	}
	g.keys[key] = true
}

func (g *goodKeys) forget(key [sha256.Size]byte) {
	g.mu.Lock()
	defer g.mu.Unlock()
	delete(g.keys, key)
}
