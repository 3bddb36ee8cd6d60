package commands

import (
	"container/list"
	"fmt"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// A Limit is how much is answered: Burst requests at once, and one more for each
// Every that passes after. A zero Burst is no limit.
type Limit struct {
	Burst int
	Every time.Duration
}

// Limits are how much is asked before a request is refused. The zero value is no
// limit at all, as in a terminal, which has one user.
type Limits struct {
	// Member holds for each member of a community, and Community for all of its
	// members together. What they refuse says when to ask again.
	Member, Community Limit
	// Completion holds for a member's completions, which come with every key. What
	// it refuses is an empty list.
	Completion Limit
}

const (
	// membersWatched and communitiesWatched are how many are kept count of at once;
	// the one seen longest ago makes room, and begins anew.
	membersWatched     = 20_000
	communitiesWatched = 4_000
	// promiseHolds is how long after its time a promise to answer holds.
	promiseHolds = time.Minute
)

// limits keep count of who asked how much. Ids are in memory only.
type limits struct {
	mu                             sync.Mutex
	members, communities, complete watch
}

func newLimits(l Limits) *limits {
	return &limits{members: newWatch(l.Member, membersWatched), communities: newWatch(l.Community, communitiesWatched),
		complete: newWatch(l.Completion, membersWatched)}
}

type memberKey struct{ community, member string }

// refuse tells, in a sentence, for how long a request has to wait; "" is that it
// need not. The sentence is a promise: who asks again after that time is answered,
// whatever others have asked since.
func (l *limits) refuse(req Request, now time.Time) string {
	l.mu.Lock()
	defer l.mu.Unlock()
	if !l.members.limit.on() && !l.communities.limit.on() {
		return ""
	}
	member := l.members.of(memberKey{req.Community, req.Member}, now)
	if wait := member.promise.Sub(now); wait > 0 {
		return member.told(wait)
	}
	promised := now.Sub(member.promise) < promiseHolds
	own := member.rate.ReserveN(now, 1)
	if wait := own.DelayFrom(now); wait > 0 && !promised {
		own.CancelAt(now)
		member.promise, member.crowd = now.Add(wait), false
		return member.told(wait)
	}
	if promised && member.crowd { // the community's share is taken already
		member.promise = time.Time{}
		return ""
	}
	wait := l.communities.of(req.Community, now).rate.ReserveN(now, 1).DelayFrom(now)
	if wait > 0 && !promised {
		own.CancelAt(now)
		member.promise, member.crowd = now.Add(wait), true
		return member.told(wait)
	}
	member.promise = time.Time{}
	return ""
}

// suggests tells whether a completion is answered now.
func (l *limits) suggests(req Request, now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	return !l.complete.limit.on() || l.complete.of(memberKey{req.Community, req.Member}, now).rate.AllowN(now, 1)
}

// A watch keeps count for a bounded number of keys. A key that has not asked for as
// long as it takes to be free again is as good as a new one, and is let go.
type watch struct {
	limit Limit
	most  int
	by    map[any]*list.Element
	order *list.List // the one seen last is in front
}

type watched struct {
	key  any
	rate *rate.Limiter
	seen time.Time
	// promise is from when on a member who was refused is answered, and crowd is
	// whether it was for the community's sake.
	promise time.Time
	crowd   bool
}

func newWatch(limit Limit, most int) watch {
	return watch{limit: limit, most: most, by: map[any]*list.Element{}, order: list.New()}
}

func (l Limit) on() bool { return l.Burst > 0 }

func (l Limit) limiter() *rate.Limiter {
	if !l.on() {
		return rate.NewLimiter(rate.Inf, 0)
	}
	return rate.NewLimiter(rate.Every(l.Every), l.Burst)
}

// of is what is kept of a key.
func (w *watch) of(key any, now time.Time) *watched {
	for at := w.order.Back(); at != nil; at = w.order.Back() {
		last := at.Value.(*watched)
		idle := now.Sub(last.seen) >= time.Duration(w.limit.Burst)*w.limit.Every && now.Sub(last.promise) >= promiseHolds
		if len(w.by) < w.most && !idle {
			break
		}
		w.order.Remove(at)
		delete(w.by, last.key)
	}
	at, known := w.by[key]
	if !known {
		at = w.order.PushFront(&watched{key: key, rate: w.limit.limiter()})
		w.by[key] = at
	}
	w.order.MoveToFront(at)
	found := at.Value.(*watched)
	found.seen = now
	return found
}

// told says when to ask again, in whole seconds and never too early.
func (w *watched) told(wait time.Duration) string {
	seconds := (wait + time.Second - 1) / time.Second
	if w.crowd {
		return fmt.Sprintf("Many are asking here at once, and I take them in turn. Try again in %d s.", seconds)
	}
	return fmt.Sprintf("That is more at once than I answer one member. Try again in %d s.", seconds)
}
