package discord

import "sync"

// remembered is how many deliveries are known again, so that one replayed after
// a resumed connection is answered once.
const remembered = 4096

// recent knows the last few deliveries.
type recent struct {
	mu   sync.Mutex
	ring []string
	at   int
	has  map[string]bool
}

func newRecent(size int) *recent {
	return &recent{ring: make([]string, size), has: make(map[string]bool, size)}
}

// add is false for a delivery that is already known.
func (r *recent) add(delivery string) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.has[delivery] {
		return false
	}
	delete(r.has, r.ring[r.at])
	r.ring[r.at], r.has[delivery] = delivery, true
	r.at = (r.at + 1) % len(r.ring)
	return true
}
