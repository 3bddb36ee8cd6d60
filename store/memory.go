package store

import "sync"

// A memory holds what was read most lately, so that a request need not ask the
// file again for what hardly ever changes. The file has this one Store, so what is
// written here is all that can change it.
//
// Whoever writes calls forget or clear after the transaction has ended and before
// they answer. What was being read meanwhile may be of before the write, and is
// then not kept.
type memory[K comparable, V any] struct {
	mu   sync.RWMutex
	held map[K]V
	most int
	// changes counts the writes.
	changes uint64
}

func newMemory[K comparable, V any](most int) *memory[K, V] {
	return &memory[K, V]{held: map[K]V{}, most: most}
}

// get gives what is held, or what read reads.
func (m *memory[K, V]) get(key K, read func() (V, error)) (V, error) {
	m.mu.RLock()
	value, there := m.held[key]
	before := m.changes
	m.mu.RUnlock()
	if there {
		return value, nil
	}
	value, err := read()
	if err != nil {
		return value, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.changes != before {
		return value, nil
	}
	if len(m.held) >= m.most {
		for any := range m.held { // one as good as another: it is read again when it is asked for
			delete(m.held, any)
			break
		}
	}
	m.held[key] = value
	return value, nil
}

func (m *memory[K, V]) forget(key K) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.changes++
	delete(m.held, key)
}

func (m *memory[K, V]) clear() {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.changes++
	clear(m.held)
}
