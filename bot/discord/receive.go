package discord

import (
	"context"
	"time"

	"github.com/bwmarrin/discordgo"

	"tallystick/commands"
)

// desk takes interactions in and has them answered by a fixed number of workers.
type desk struct {
	config Config
	api    *api
	files  fetcher
	// known are the commands by path.
	known   map[string]commands.Command
	seen    *recent
	presses presses
	// handlers bounds how many requests are worked out at the same time.
	handlers chan struct{}
	// reading bounds how many requests with files are under way at the same time.
	reading chan struct{}
	// lanes bounds how many requests are turned away at the same time.
	lanes chan struct{}

	crew *crew
	// working ends the handlers' contexts.
	working context.Context
	stop    context.CancelFunc
}

func newDesk(c Config, rest *api, files fetcher) *desk {
	d := &desk{config: c, api: rest, files: files, known: map[string]commands.Command{}, seen: newRecent(remembered),
		handlers: make(chan struct{}, c.Handlers), reading: make(chan struct{}, filesAtOnce), lanes: make(chan struct{}, busyLanes)}
	d.working, d.stop = context.WithCancel(context.Background())
	for _, command := range c.Set.Commands() {
		d.known[command.Path] = command
	}
	d.crew = newCrew(c.Workers, c.Queue, d.serve)
	return d
}

// receive is the one event handler. The library calls it from the loop that reads the
// line and lets a panic end the process, so it hands the work on without waiting, and
// recovers.
func (d *desk) receive(e *discordgo.Event) {
	arrived := time.Now()
	defer func() {
		if p := recover(); p != nil {
			d.config.Log.Error("panic on arrival", "cause", p)
		}
	}()
	ask, problem := read(e.RawData, arrived)
	if problem != "" {
		d.config.Log.Warn("interaction dropped", "reason", problem)
		return
	}
	if !d.seen.add(ask.request.Delivery) {
		d.config.Log.Info("interaction dropped", "reason", "it was delivered before")
		return
	}
	d.take(newExchange(d, ask, arrived))
}

// take queues an exchange, or turns it away.
func (d *desk) take(x *exchange) {
	if x.ask.kind == press && x.ask.card != nil && !x.form {
		if !d.presses.begin(x.ask.card.key, x.arrived) {
			d.aside(x, "pressed twice", x.wave)
			return
		}
		x.pressed = true
	}
	if !d.crew.take(x) {
		d.config.Status.turned.Add(1)
		d.aside(x, "turned away: the queue is full or closed", x.turnAway)
		return
	}
	x.startClock() // only what will be answered may be told to wait
}

// aside answers outside the queue, where there is a lane for it, and does not wait.
func (d *desk) aside(x *exchange, why string, answer func()) {
	select {
	case d.lanes <- struct{}{}:
	default:
		d.config.Log.Warn("interaction dropped", "reason", "the queue is full and so are the lanes for saying so")
		x.again = true
		x.end()
		return
	}
	go func() {
		defer x.end()
		defer func() {
			<-d.lanes
			if p := recover(); p != nil {
				d.config.Log.Error("panic aside", "cause", p)
			}
		}()
		d.config.Log.Warn(why, "command", x.ask.known(d))
		answer()
	}()
}

// serve answers one request. Set.Do keeps the handlers' panics; this keeps ours.
func (d *desk) serve(x *exchange) {
	defer x.end()
	defer func() {
		if p := recover(); p != nil {
			fault := d.fault(x, p)
			if x.ask.kind == completion {
				return // has answered with what it had
			}
			x.answer(commands.Reply{Private: true, Fault: fault})
		}
	}()
	if x.ask.kind == completion {
		x.complete()
		return
	}
	ctx, cancel := context.WithDeadline(d.working, x.arrived.Add(d.config.Timing.Handler))
	defer cancel()
	if x.ask.refusal != "" {
		x.answer(commands.Reply{Private: true, Refusal: &commands.Refusal{Sentence: x.ask.refusal}})
		return
	}
	if x.form {
		x.openForm()
		return
	}
	if x.late() && !x.heard() {
		x.again = true
		d.config.Log.Warn("interaction dropped", "reason", "it came too late to be answered", "command", x.ask.known(d), "age", x.arrived.Sub(x.ask.request.Time))
		return
	}
	out := worked{note: func() {}}
	defer func() { out.note() }() // once the answer is on its way
	if !d.workOut(ctx, x, &out) {
		d.config.Status.turned.Add(1)
		x.turnAway()
		return
	}
	x.answerWith(out.reply, out.picture)
}

// worked is what came of a request.
type worked struct {
	reply   commands.Reply
	picture shownPicture
	note    func()
}

// workOut has a request answered; false means that ctx ended before there was room.
func (d *desk) workOut(ctx context.Context, x *exchange, out *worked) bool {
	req := x.ask.request
	if len(x.ask.files) > 0 {
		var refused *commands.Reply
		if req, refused = d.config.Set.Admit(ctx, req); refused != nil {
			out.reply = *refused
			return true
		}
		if !admit(ctx, d.reading) {
			return false
		}
		defer func() { <-d.reading }()
		var mistake *commands.Mistake
		if req, mistake = d.fetch(ctx, req, x.ask.files); mistake != nil {
			out.reply = commands.Reply{Private: true, Mistake: mistake}
			return true
		}
	}
	return d.handle(ctx, func() {
		out.reply, out.note = d.config.Set.Answer(ctx, req)
		var err error
		if out.picture, err = draw(out.reply.Picture, x.ask.request, x.ask.picture); err != nil {
			out.reply = commands.Reply{Private: true, Fault: d.fault(x, err)}
		}
	})
}

// fault notes what went wrong on our side, and gives what the member is told of it.
func (d *desk) fault(x *exchange, cause any) *commands.Fault {
	fault := &commands.Fault{Reference: d.config.Reference()}
	d.config.Log.Error("fault", "command", x.ask.known(d), "reference", fault.Reference, "cause", cause)
	return fault
}

// handle runs a handler when there is room for it; false means that ctx ended
// first. A worker that waits for the platform afterwards keeps nobody from the room.
func (d *desk) handle(ctx context.Context, run func()) bool {
	if !admit(ctx, d.handlers) {
		return false
	}
	defer func() { <-d.handlers }()
	run()
	return true
}

// admit takes a place where there is one, also when ctx has ended; else it waits, and
// false means that ctx ended first.
func admit(ctx context.Context, places chan struct{}) bool {
	select {
	case places <- struct{}{}:
		return true
	default:
	}
	select {
	case places <- struct{}{}:
		return true
	case <-ctx.Done():
		return false
	}
}

// finish waits for the work in flight, and for those being turned away. Shortly before
// the limit the handlers' contexts end, so that what hangs can still be answered for.
func (d *desk) finish(limit time.Duration) {
	done := make(chan struct{})
	go func() {
		defer close(done)
		d.crew.wait()
		for range cap(d.lanes) { // who holds one is being turned away
			d.lanes <- struct{}{}
		}
	}()
	begun := time.Now()
	early := time.AfterFunc(limit*4/5, d.stop)
	defer early.Stop()
	defer d.stop()
	timer := time.NewTimer(limit)
	defer timer.Stop()
	select {
	case <-done:
		d.config.Log.Info("work in flight is finished", "took", time.Since(begun))
	case <-timer.C:
		d.config.Log.Error("work in flight was left unfinished", "queued", len(d.crew.queue))
	}
}
