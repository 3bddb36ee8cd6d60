package discord

import (
	"context"
	"net/http"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

// ackLimit is how long after its arrival an interaction can be acknowledged; the
// platform's three seconds less the way there and back.
// https://discord.com/developers/docs/interactions/receiving-and-responding
const ackLimit = 2800 * time.Millisecond

// answerLimit is how long the token of an interaction is good.
const answerLimit = 15 * time.Minute

// callback is the body that answers an interaction first.
type callback struct {
	Type discordgo.InteractionResponseType `json:"type"`
	Data any                               `json:"data,omitempty"`
}

// exchange is one interaction on its way to one answer. Either the answer comes
// in time and is the acknowledgement, or the clock acknowledges with "thinking"
// and the answer replaces that.
type exchange struct {
	desk    *desk
	ask     ask
	arrived time.Time

	mu    sync.Mutex
	begun bool // an acknowledgement is made or being made
	clock *time.Timer
	// deferred is closed when the clock's acknowledgement has ended; nil when the
	// clock has not struck.
	deferred chan struct{}
	// hidden is true when the "thinking" is shown to the asker alone.
	hidden bool
}

func newExchange(d *desk, a ask, arrived time.Time) *exchange {
	return &exchange{desk: d, ask: a, arrived: arrived}
}

// startClock counts from the arrival, so that waiting in the queue counts too.
func (x *exchange) startClock() {
	if x.ask.kind == completion {
		return // cannot be deferred
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	x.clock = time.AfterFunc(x.desk.config.Timing.Defer-time.Since(x.arrived), x.think)
}

// think acknowledges without an answer. What may turn out private is hidden; so
// is the answer to a press, whose card is not always the presser's.
func (x *exchange) think() {
	x.mu.Lock()
	if x.begun {
		x.mu.Unlock()
		return
	}
	x.begun = true
	done := make(chan struct{})
	private, known := x.desk.private[x.ask.request.Path]
	x.deferred, x.hidden = done, private || !known || x.ask.kind == press
	x.mu.Unlock()
	defer close(done)
	body := callback{Type: discordgo.InteractionResponseDeferredChannelMessageWithSource}
	if x.hidden {
		body.Data = message{Flags: discordgo.MessageFlagsEphemeral, AllowedMentions: noMentions()}
	}
	if err := x.acknowledge(body); err != nil {
		x.fail("deferring", err)
	}
}

// answer sends a reply, once.
func (x *exchange) answer(reply commands.Reply) { x.show(render(reply, x.ask.request)) }

func (x *exchange) show(pages []message) {
	x.mu.Lock()
	deferred, begun := x.deferred, x.begun
	x.begun = true
	if x.clock != nil {
		x.clock.Stop()
	}
	x.mu.Unlock()
	switch {
	case deferred != nil:
		<-deferred
		x.replace(pages)
	case !begun:
		x.first(pages)
	}
}

// first answers with the acknowledgement itself.
func (x *exchange) first(pages []message) {
	err := x.acknowledge(callback{discordgo.InteractionResponseChannelMessageWithSource, pages[0]})
	if status(err) == http.StatusBadRequest {
		x.fail("answering", err)
		pages = []message{unsendable()}
		err = x.acknowledge(callback{discordgo.InteractionResponseChannelMessageWithSource, pages[0]})
	}
	if err != nil {
		x.fail("answering", err)
		return
	}
	x.follow(pages[1:])
}

// replace answers after "thinking". A private answer must not appear where all
// could see the thinking, so that is taken away first.
func (x *exchange) replace(pages []message) {
	private := pages[0].Flags&discordgo.MessageFlagsEphemeral != 0
	if private && !x.hidden {
		if err := x.webhook(http.MethodDelete, "/messages/@original", nil); err != nil && status(err) != http.StatusNotFound {
			x.fail("taking the thinking away", err)
			// A message that is in its place keeps the next one apart from it.
			if err := x.edit(sentence("The answer went to the asker alone.")); err != nil {
				x.fail("filling the thinking", err)
				return
			}
		}
		x.follow(pages)
		return
	}
	err := x.edit(pages[0])
	if status(err) == http.StatusBadRequest {
		x.fail("answering", err)
		pages = []message{unsendable()}
		err = x.edit(pages[0])
	}
	if err != nil {
		x.fail("answering", err)
		return
	}
	if x.hidden {
		for i := range pages {
			pages[i].Flags |= discordgo.MessageFlagsEphemeral
		}
	}
	x.follow(pages[1:])
}

// follow sends the pages after the first, in order, and stops at one that fails.
func (x *exchange) follow(pages []message) {
	for _, page := range pages {
		if err := x.webhook(http.MethodPost, "?wait=true", page); err != nil {
			x.fail("sending a further page", err)
			return
		}
	}
}

func (x *exchange) edit(page message) error {
	page.Flags = 0 // who sees a message cannot be changed later
	return x.webhook(http.MethodPatch, "/messages/@original", page)
}

// turnAway answers what there is no room for.
func (x *exchange) turnAway() {
	if x.ask.kind != completion {
		x.show([]message{busy()})
		return
	}
	x.offer(nil)
}

// acknowledge sends the callback. That it is acknowledged already means that an
// earlier try had arrived after all.
func (x *exchange) acknowledge(body callback) error {
	ctx, cancel := context.WithTimeout(context.Background(), ackLimit+x.desk.config.Timing.Request)
	defer cancel()
	address := discordgo.EndpointInteractionResponse(x.ask.id, x.ask.token)
	_, err := x.desk.api.send(ctx, http.MethodPost, address, body, x.arrived.Add(ackLimit))
	if code(err) == discordgo.ErrCodeInteractionHasAlreadyBeenAcknowledged {
		return nil
	}
	return err
}

func (x *exchange) webhook(method, tail string, body any) error {
	ctx, cancel := context.WithTimeout(context.Background(), tries*(longestWait+x.desk.config.Timing.Request))
	defer cancel()
	address := discordgo.EndpointWebhookToken(x.ask.application, x.ask.token) + tail
	_, err := x.desk.api.send(ctx, method, address, body, x.arrived.Add(answerLimit))
	return err
}

func (x *exchange) fail(doing string, err error) {
	x.desk.config.Log.Error("the platform did not take it", "doing", doing, "command", x.ask.known(x.desk), "cause", err)
}
