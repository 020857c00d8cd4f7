package lend

import "sync"

// Memo keeps what has been worked out, up to a number of answers; then it begins
// anew. It may be used concurrently. What it gives is shared: nobody may change it.
type Memo[K comparable, V any] struct {
	Most int
	mu   sync.Mutex
	kept map[K]V
}

// Of is the answer for k: the one that is kept, or what work gives.
func (m *Memo[K, V]) Of(k K, work func() V) V {
	m.mu.Lock()
	defer m.mu.Unlock()
	v, ok := m.kept[k]
	if ok {
		return v
	}
	if len(m.kept) >= m.Most || m.kept == nil {
		m.kept = map[K]V{}
	}
	v = work()
	m.kept[k] = v
	return v
}
