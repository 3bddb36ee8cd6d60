package discord

import (
	"sync"
	_ "unsafe" // for the name of the library's list

	"github.com/bwmarrin/discordgo"
)

// interactionEvent is the name of the events that are read here.
const interactionEvent = "INTERACTION_CREATE"

// providers is the library's own list of what each event is read into. It reads an
// interaction over four times, which takes eight times as long as our own reading, and
// gives up where a component is new to it; and nothing that it exports keeps it from
// that. What is not in the list it hands on as it came.
//
//go:linkname providers github.com/bwmarrin/discordgo.registeredInterfaceProviders
var providers map[string]discordgo.EventInterfaceProvider

// leaveUnread keeps the library from reading interactions, in the whole process.
var leaveUnread = sync.OnceFunc(func() { delete(providers, interactionEvent) })
