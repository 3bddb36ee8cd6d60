package discord

import (
	"sync"
	_ "unsafe" // for the name of the library's list

	"github.com/bwmarrin/discordgo"
)

// interactionEvent is the name of the events that are read here.
const interactionEvent = "INTERACTION_CREATE"

// providers is the library's own list of what each event is read into. Its reading of
// an interaction goes over the text four times, takes twice as long as ours of all
// that is used here, and gives up where a component is new to it; and nothing that it
// exports keeps it from reading. A version of the library without the list shows as a
// panic when the first session is made.
//
//go:linkname providers github.com/bwmarrin/discordgo.registeredInterfaceProviders
var providers map[string]discordgo.EventInterfaceProvider

// leaveUnread has the library hand on interactions as they came.
var leaveUnread = sync.OnceFunc(func() { providers[interactionEvent] = &unread{} })

// unread is what an event is read into that is left as it came.
type unread struct{}

// Type is the events' name.
func (*unread) Type() string { return interactionEvent }

// New is called for each event.
func (u *unread) New() any { return u }

// UnmarshalJSON leaves the text alone.
func (*unread) UnmarshalJSON([]byte) error { return nil }
