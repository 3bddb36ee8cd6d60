package commands

import (
	"errors"

	"tallystick/store"
)

// unkept is the answer where the host's disk, and not a fault of ours, was in the
// way, and false where it was not. The log has the cause and the reference.
func (s *Set) unkept(path string, err error) (Reply, bool) {
	var why string
	switch {
	case errors.Is(err, store.ErrNoRoom):
		why = "my disk is full"
	case errors.Is(err, store.ErrReadOnly):
		why = "my records cannot be written to"
	default:
		return Reply{}, false
	}
	reference := s.reference()
	s.log.Error("nothing can be kept", "command", path, "reference", reference, "cause", err)
	return Reply{Private: true, Refusal: &Refusal{"I could not keep this: " + why +
		". Nothing was changed. Tell the host, with the reference " + reference + "; try again later."}}, true
}
