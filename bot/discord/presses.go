package discord

import (
	"sync"
	"time"
)

// presses keeps a button that is pressed twice from being answered twice: while
// the first press is being answered, and for a moment after it.
type presses struct {
	mu sync.Mutex
	// until is when a key may be pressed again; the zero time while it is answered.
	until map[string]time.Time
}

// pressWindow is how long after a press the same press again counts as a bounce of
// the thumb.
const pressWindow = 3 * time.Second

// pressesMost is how many keys are held before those whose time is over are dropped.
const pressesMost = 1024

// begin is false for a press that repeats another.
func (p *presses) begin(key string, now time.Time) bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	if until, there := p.until[key]; there && (until.IsZero() || now.Before(until)) {
		return false
	}
	if len(p.until) >= pressesMost {
		for k, until := range p.until {
			if !until.IsZero() && !now.Before(until) {
				delete(p.until, k)
			}
		}
	}
	if p.until == nil {
		p.until = map[string]time.Time{}
	}
	p.until[key] = time.Time{}
	return true
}

// end says that a press has been answered.
func (p *presses) end(key string, until time.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.until[key] = until
}
