package discord

import (
	"sync"
	"sync/atomic"
)

// Status tells from beside how the bot stands while Run serves. The zero value is
// that of one that has not begun. Its methods may be called at the same time.
type Status struct {
	mu        sync.Mutex
	connected []bool
	queue     func() (waiting, room int)
	turned    atomic.Uint64
	mistimed  atomic.Uint64
}

// Connected tells of each shard whether its line to the gateway is ready. Behind
// the HTTP door there is one, ready while it listens. It is empty before Run.
func (s *Status) Connected() []bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]bool(nil), s.connected...)
}

// Queue tells how many requests wait for a worker, and how many can.
func (s *Status) Queue() (waiting, room int) {
	s.mu.Lock()
	queue := s.queue
	s.mu.Unlock()
	if queue == nil {
		return 0, 0
	}
	return queue()
}

// TurnedAway tells how many requests found no place in the queue, or none among
// those that are worked out, in time.
func (s *Status) TurnedAway() uint64 { return s.turned.Load() }

// Mistimed tells how many requests the HTTP door refused that the platform had
// signed, for the time that they were signed at.
func (s *Status) Mistimed() uint64 { return s.mistimed.Load() }

func (s *Status) begin(lines int, queue func() (waiting, room int)) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.connected, s.queue = make([]bool, lines), queue
}

func (s *Status) set(line int, connected bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.connected[line] = connected
}
