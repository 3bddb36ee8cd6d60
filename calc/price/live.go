package price

import (
	"fmt"
	"maps"
)

// Live gives the entries that count, in their order and as they were last
// corrected: without what was undone or struck, and without the corrections,
// strikes and undos themselves. A struck out still stops its clock, and counts
// no time.
func Live(entries []Entry) []Entry {
	undone := map[int]bool{}
	for _, e := range entries {
		if e.Kind == EntryUndo {
			undone[e.Target] = true
		}
	}
	changed := map[int]Entry{} // by what they change, the last one
	for _, e := range entries {
		if !undone[e.Number] && (e.Kind == EntryCorrect || e.Kind == EntryStrike) {
			changed[e.Target] = e
		}
	}
	var live []Entry
	for _, e := range entries {
		if undone[e.Number] || e.aboutEntry() {
			continue
		}
		if change, ok := changed[e.Number]; ok {
			if e, ok = e.as(change); !ok {
				continue
			}
		}
		live = append(live, e)
	}
	return live
}

// as is the entry with a change made to it, and false when nothing is left.
func (e Entry) as(change Entry) (Entry, bool) {
	if change.Kind == EntryStrike {
		e.Seconds, e.Amount, e.Facts = 0, 0, maps.Clone(e.Facts)
		delete(e.Facts, FactDoubtful)
		return e, e.Kind == EntryOut
	}
	e.Day, e.Amount, e.Currency = change.Day, change.Amount, change.Currency
	e.Seconds, e.Millionths, e.Facts = change.Seconds, change.Millionths, change.Facts
	return e, true
}

// LastUndoable finds the newest entry that an undo would take back.
func LastUndoable(entries []Entry) (Entry, bool) {
	undone := map[int]bool{}
	for _, e := range entries {
		if e.Kind == EntryUndo {
			undone[e.Target] = true
		}
	}
	for i := len(entries) - 1; i >= 0; i-- {
		if e := entries[i]; e.Kind != EntryUndo && !undone[e.Number] {
			return e, true
		}
	}
	return Entry{}, false
}

// A ContradictionError is entries that cannot follow one another, such as a clock
// that is stopped and never ran.
type ContradictionError struct {
	// Number is the entry at which it shows.
	Number  int
	Problem string
}

// Error says it in a sentence without names or amounts.
func (e *ContradictionError) Error() string {
	return fmt.Sprintf("entry %d %s", e.Number, e.Problem)
}

func contradiction(e Entry, problem string) error {
	return &ContradictionError{Number: e.Number, Problem: problem}
}
