package discord

import (
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
	// form is true when the answer is a form.
	form bool
	// pressed is true when the desk's presses wait to hear of the end.
	pressed bool
	// again is true when who pressed is to press again: it had no effect.
	again bool
	// inline, when it is not nil, takes the acknowledgement as the answer to the
	// request that brought the interaction.
	inline *inline

	mu    sync.Mutex
	begun bool // an acknowledgement is made or being made
	clock *time.Timer
	// deferred is closed when the first acknowledgement has ended; nil when there
	// was none without an answer in it.
	deferred chan struct{}
	// taken is true when that was taken by the platform.
	taken bool
	// hidden is true when the "thinking" is shown to the asker alone, and quiet when
	// nothing is shown and the card that was pressed stands as it was.
	hidden, quiet bool
}

func newExchange(d *desk, a ask, arrived time.Time) *exchange {
	if a.kind == press || a.kind == submission {
		a.request.Options = longNames(d.known[a.request.Path], a.request.Options)
	}
	return &exchange{desk: d, ask: a, arrived: arrived, form: d.wantsForm(a)}
}

// startClock counts from the arrival, so that waiting in the queue counts too.
func (x *exchange) startClock() {
	if x.ask.kind == completion || x.form {
		return // cannot be deferred
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.begun {
		return
	}
	x.clock = time.AfterFunc(x.desk.config.Timing.Defer-time.Since(x.arrived), x.announce)
}

// announce acknowledges that there will be an answer.
func (x *exchange) announce() { x.think(x.desk.config.Set.Private(x.ask.request), x.ask.card != nil) }

// begin is true for the one who acknowledges first.
func (x *exchange) begin() bool {
	x.mu.Lock()
	defer x.mu.Unlock()
	first := !x.begun
	x.begun = true
	if x.clock != nil {
		x.clock.Stop()
	}
	return first
}

// end is called when the exchange is over.
func (x *exchange) end() {
	if !x.pressed {
		return
	}
	until := x.arrived.Add(pressWindow)
	if x.again {
		until = x.arrived
	}
	x.desk.presses.end(x.ask.card.key, until)
}

// think acknowledges without an answer, once. What may turn out private is hidden.
// A press is acknowledged quietly: its card stays, and the answer may take the
// card's place or stand beside it.
func (x *exchange) think(hidden, quiet bool) {
	x.mu.Lock()
	if x.begun {
		x.mu.Unlock()
		return
	}
	x.begun = true
	done := make(chan struct{})
	x.deferred, x.hidden, x.quiet = done, hidden && !quiet, quiet
	x.mu.Unlock()
	defer close(done)
	body := callback{Type: discordgo.InteractionResponseDeferredChannelMessageWithSource}
	switch {
	case x.quiet:
		body.Type = discordgo.InteractionResponseDeferredMessageUpdate
	case x.hidden:
		body.Data = message{Flags: discordgo.MessageFlagsEphemeral, AllowedMentions: noMentions()}
	}
	x.taken = x.acknowledgeOr(body, "deferring")
}

// answer sends a reply, once.
func (x *exchange) answer(reply commands.Reply) { x.answerWith(reply, shownPicture{}) }

// answerWith sends a reply with its picture.
func (x *exchange) answerWith(reply commands.Reply, picture shownPicture) {
	x.again = reply.Fault != nil || reply.Again
	x.show(renderFor(reply, x.ask.request, x.desk.known[x.ask.request.Path], picture), x.updates(reply))
}

// updates is true when the reply takes the place of the card that was pressed.
// What is private never takes the place of what all can see.
func (x *exchange) updates(reply commands.Reply) bool {
	return (reply.Update || x.ask.picture) && reply.Outcome() == commands.Answered && x.ask.card != nil && (x.ask.card.hidden || !reply.Private)
}

func (x *exchange) show(pages []message, inPlace bool) {
	if x.inline != nil && len(pages[0].files) > 0 {
		// A file is sent where the platform documents it: after the acknowledgement.
		x.think(pages[0].private(), inPlace)
	}
	first := x.begin()
	switch {
	case first:
		x.first(pages, inPlace)
	case x.deferred != nil:
		<-x.deferred
		x.replace(pages, inPlace)
	}
}

// first answers with the acknowledgement itself.
func (x *exchange) first(pages []message, inPlace bool) {
	body := callback{discordgo.InteractionResponseChannelMessageWithSource, pages[0]}
	if inPlace {
		body = callback{discordgo.InteractionResponseUpdateMessage, pages[0].inPlace()}
	}
	err := x.acknowledge(body)
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

// replace answers after an acknowledgement. A private answer must not appear where
// all could see the thinking, so that is taken away first.
func (x *exchange) replace(pages []message, inPlace bool) {
	switch {
	case x.quiet && !inPlace:
		x.follow(pages)
		return
	case !x.quiet && pages[0].private() && !x.hidden:
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
	var err error
	if inPlace {
		err = x.webhook(http.MethodPatch, "/messages/@original", pages[0].inPlace())
	} else {
		err = x.edit(pages[0])
	}
	if status(err) == http.StatusBadRequest {
		x.fail("answering", err)
		pages = []message{unsendable()}
		if x.quiet {
			x.follow(pages)
			return
		}
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

// follow sends further messages, in order, and stops at one that is refused. One that
// may have been lost is not sent again, for it may also have arrived: those after it
// say by their numbers where it would be.
func (x *exchange) follow(pages []message) {
	for _, page := range pages {
		err := x.webhook(http.MethodPost, "?wait=true", page)
		if err == nil {
			continue
		}
		x.fail("sending a further page", err)
		if _, lost := worthRepeating(err); !lost {
			return
		}
	}
}

func (x *exchange) edit(page message) error {
	page.Flags = 0 // who sees a message cannot be changed later
	return x.webhook(http.MethodPatch, "/messages/@original", page)
}

// wave acknowledges a press that repeats another, and shows nothing.
func (x *exchange) wave() { x.think(false, true) }

// turnAway answers what there is no room for.
func (x *exchange) turnAway() {
	x.again = true
	if x.ask.kind != completion {
		x.show([]message{busy()}, false)
		return
	}
	x.offer(nil)
}

// acknowledge sends the callback. That it is acknowledged already means that an
// earlier try had arrived after all.
func (x *exchange) acknowledge(body callback) error {
	if x.inline != nil {
		return x.inline.say(body)
	}
	err := x.desk.api.bring(http.MethodPost, callbackPath(x.ask.id, x.ask.token), body, x.arrived.Add(ackLimit))
	if code(err) == discordgo.ErrCodeInteractionHasAlreadyBeenAcknowledged {
		return nil
	}
	return err
}

// acknowledgeOr logs where it could not, and tells.
func (x *exchange) acknowledgeOr(body callback, doing string) (taken bool) {
	err := x.acknowledge(body)
	if err != nil {
		x.fail(doing, err)
	}
	return err == nil
}

// What an acknowledgement that was an answer to a request leaves to the platform
// may take a moment to be known there.
const (
	settlingTries = 4
	settlingPause = 100 * time.Millisecond
)

func (x *exchange) webhook(method, tail string, body any) error {
	path := webhookPath(x.ask.application, x.ask.token) + tail
	bring := x.desk.api.bring
	if method == http.MethodPost { // a message more each time
		bring = x.desk.api.bringOnce
	}
	for try := 1; ; try++ {
		err := bring(method, path, body, x.arrived.Add(answerLimit))
		if x.inline == nil || status(err) != http.StatusNotFound || try == settlingTries {
			return err
		}
		time.Sleep(time.Duration(try) * settlingPause)
	}
}

func (x *exchange) fail(doing string, err error) {
	x.desk.config.Log.Error("the platform did not take it", "doing", doing, "command", x.ask.known(x.desk), "cause", err)
}
