package main

import (
	"time"

	"tallystick/calc/measure"
	"tallystick/commands"
)

// What a burst and the time to the next request may be set to.
const (
	burstMost  = 100_000
	everyLeast = time.Millisecond
	everyMost  = time.Hour
)

// completionLimit is more than anybody types: a completion comes with every key.
var completionLimit = commands.Limit{Burst: 60, Every: 100 * time.Millisecond}

// limits are what the members of a server are held to. A terminal has none.
func (s settings) limits() commands.Limits {
	return commands.Limits{Member: commands.Limit{Burst: s.MemberBurst, Every: s.MemberEvery},
		Community: commands.Limit{Burst: s.CommunityBurst, Every: s.CommunityEvery}, Completion: completionLimit}
}

func (s settings) checkLimits(problems *settingsError, known map[string]string) {
	for _, one := range []struct {
		name  string
		burst int
		every time.Duration
		works [2]string
	}{
		{"TALLYSTICK_MEMBER", s.MemberBurst, s.MemberEvery, [2]string{"30", "1s"}},
		{"TALLYSTICK_COMMUNITY", s.CommunityBurst, s.CommunityEvery, [2]string{"300", "50ms"}},
	} {
		if one.burst < 0 || one.burst > burstMost {
			problems.add("%s_BURST: %d is not between 0, for no limit, and %d. Try %s", one.name, one.burst, burstMost, one.works[0])
		}
		if one.every < everyLeast || one.every > everyMost {
			problems.add("%s_EVERY: %s is not between %v and %v. Try %s", one.name, measure.Quote(known[one.name+"_EVERY"]), everyLeast, everyMost, one.works[1])
		}
	}
}
