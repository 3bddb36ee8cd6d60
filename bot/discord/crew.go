package discord

import "sync"

// crew is a fixed number of workers before a bounded queue. Of those who have
// nothing to do the one that worked last is given the next, for its stack is still in
// the processor's memory: who takes turns, as at a channel, goes through them all.
type crew struct {
	serve   func(*exchange)
	workers sync.WaitGroup
	queue   chan *exchange

	mu     sync.Mutex
	closed bool
	// idle are the doors of those who wait, the latest last.
	idle []chan *exchange
}

func newCrew(workers, queue int, serve func(*exchange)) *crew {
	c := &crew{serve: serve, queue: make(chan *exchange, queue), idle: make([]chan *exchange, 0, workers)}
	for range workers {
		c.workers.Go(c.work)
	}
	return c
}

// take hands an exchange to a worker or queues it; false where there is no room, or
// no more is taken.
func (c *crew) take(x *exchange) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.closed {
		return false
	}
	if last := len(c.idle) - 1; last >= 0 {
		c.idle[last] <- x
		c.idle = c.idle[:last]
		return true
	}
	select {
	case c.queue <- x:
		return true
	default:
		return false
	}
}

func (c *crew) work() {
	door := make(chan *exchange, 1)
	for x := c.next(door); x != nil; x = c.next(door) {
		c.serve(x)
	}
}

// next is the next exchange, nil when there will be none.
func (c *crew) next(door chan *exchange) *exchange {
	c.mu.Lock()
	select {
	case x := <-c.queue:
		c.mu.Unlock()
		return x
	default:
	}
	if c.closed {
		c.mu.Unlock()
		return nil
	}
	c.idle = append(c.idle, door)
	c.mu.Unlock()
	return <-door
}

// close takes no further work; what is queued is still answered.
func (c *crew) close() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.closed = true
	for _, door := range c.idle {
		close(door)
	}
	c.idle = nil
}

// wait returns when the last worker has ended.
func (c *crew) wait() { c.workers.Wait() }
