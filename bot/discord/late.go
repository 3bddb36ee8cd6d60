package discord

// late is true where an interaction seems to be too old to be acknowledged: it was
// missed while the line was down and is sent again, or else this machine's clock is
// wrong. The request that brings one to the door waits for its answer.
func (x *exchange) late() bool {
	return x.inline == nil && x.arrived.Sub(x.ask.request.Time) > ackLimit
}

// heard announces the answer at once, and is false where the platform does not take
// that. The member has seen nothing then and asks again, so nothing must have been done.
func (x *exchange) heard() bool {
	x.announce()
	<-x.deferred // also where the clock was first
	return x.taken
}
