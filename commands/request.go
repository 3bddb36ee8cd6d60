// Package commands holds every request the bot answers: its definition, its
// handler and all text that people read. It knows nothing of how a request came
// or how the reply is drawn: handlers take a Request, return a Reply or an
// error, and never send anything.
package commands

import "time"

// Request is one question as a transport hands it over. Option values are the
// text that was typed: lengths, times and money never travel as wire numbers.
type Request struct {
	// Delivery is unique to this delivery. A request that changes something has
	// its effect once for a delivery, however often it arrives.
	Delivery string
	// Community and Member name who asks, in the transport's own terms. They are
	// hashed before anything is stored, and never logged.
	Community, Member string
	// Locale is a BCP 47 tag such as "en-GB"; empty means English.
	Locale string
	// Host is true when the transport vouches that the member runs the community.
	Host bool
	// Path is the command's words joined by a space: "sale share".
	Path string
	// Options holds the typed text by option name.
	Options map[string]string
	// Time is when the request was made.
	Time time.Time

	// asked is the definition that the dispatcher found for Path, and command the one
	// whose sums are done: /charge asks /price, for one.
	asked, command *Command
	// admitted is true when the limits were asked already.
	admitted bool
	// used takes note of the member's settings that the answer rests on.
	used *[]string
}

// as is the request to another command for the sake of this one.
func (r Request) as(c Command, options map[string]string) Request {
	r.Path, r.Options, r.command = c.Path, options, &c
	return r
}
