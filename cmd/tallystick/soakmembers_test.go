package main

import (
	"fmt"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
)

// soakMembers are the members of many servers. Each lives through the same steps,
// has themselves forgotten, and somebody new comes in their place, so that what is
// kept of all of them together stays as much.
type soakMembers struct {
	platform *soakPlatform
	born     atomic.Int64

	mu      sync.Mutex
	rooms   map[string]string // an open room of a server
	counts  map[string]int    // by what became of it
	strange map[string]int    // what was refused
}

const (
	soakServers   = 60
	soakPerServer = 8
)

func newSoakMembers(p *soakPlatform) *soakMembers {
	return &soakMembers{platform: p, rooms: map[string]string{}, counts: map[string]int{}, strange: map[string]int{}}
}

func soakServer(n int) string { return strconv.Itoa(712345678901230000 + n) }

// A soakLife is where somebody is in their life.
type soakLife struct {
	server, who string
	step        int
	told        map[string]string // what answers said that later steps need
}

func (m *soakMembers) birth(server string) *soakLife {
	return &soakLife{server: server, who: strconv.FormatInt(912345678901230000+m.born.Add(1), 10), told: map[string]string{}}
}

// soakStep is a request, and what of its answer is needed later.
type soakStep struct {
	path    string
	options []string // names and values; {name} is what an answer told
	learn   string   // a name for what find finds
	find    *regexp.Regexp
}

var (
	findConfirm = regexp.MustCompile(`confirm with ([0-9A-Z]{6})`)
	findDraft   = regexp.MustCompile(`room ask\|[^|]*\|([0-9A-Z]{6})\|`)
	findRoom    = regexp.MustCompile(`room close\|[^"]*\|([0-9A-Z]{6})\|`)
	findWipe    = regexp.MustCompile(`confirm:(all-[0-9]+)`)
)

// soakSteps are a member's life.
var soakSteps = []soakStep{
	{path: "help"},
	{path: "settings set", options: []string{"rate", "25", "lowest-rate", "18", "haggle", "10%"}},
	{path: "convert", options: []string{"value", `7' 8-1/2"`, "to", "mm"}},
	{path: "boardfeet", options: []string{"boards", "6 @ 5/8 x 3-1/2 x 40 in"}},
	{path: "price", options: []string{"materials", "124.90", "fee", "2.9%", "fixed-fee", "0.30"}},
	{path: "price", options: []string{"hours", "14.25", "materials", "124.90", "fee", "2.9%", "fixed-fee", "0.30"}},
	{path: "weight", options: []string{"species", "white oak", "size", "48 x 14 x 1 in"}},
	{path: "piece open", options: []string{"name", "Harbour bench", "category", "bench", "rate", "25", "fee", "2.9%"}},
	{path: "piece clock in", options: []string{"stage", "milling"}},
	{path: "piece show"},
	{path: "piece clock out"},
	{path: "piece time", options: []string{"worked", "9h30", "stage", "joinery"}},
	{path: "piece cost", options: []string{"kind", "part", "what", "slides", "paid", "18.40"}},
	{path: "piece clock in", options: []string{"stage", "finishing"}},
	{path: "piece clock out"},
	{path: "piece undo"},
	{path: "lot add", options: []string{"what", "ash", "paid", "100", "board-feet", "20"}},
	{path: "piece stock share", options: []string{"lot", "1", "take", "8"}},
	{path: "piece post", options: []string{"price", "480", "where", "fair"}},
	{path: "piece offer", options: []string{"who", "Blue van", "amount", "390"}},
	{path: "piece list"},
	{path: "piece sold", options: []string{"price", "430"}},
	{path: "sale share", options: []string{"piece", "1"}, learn: "confirm", find: findConfirm},
	{path: "sale share", options: []string{"confirm", "{confirm}"}},
	{path: "sale share", options: []string{"price", "120", "category", "keepsake-box", "boards", "3 @ 1x6x24 in"}, learn: "second", find: findConfirm},
	{path: "sale share", options: []string{"confirm", "{second}"}},
	{path: "sale mine"},
	{path: "market show", options: []string{"category", "bench"}},
	{path: "market show"},
	{path: "charge", options: []string{"about", "hall bench 48x14x18 elm, 14h15, 84 materials + 11.50 glue and oil, want 25/h, shop takes 30%"}, learn: "draft", find: findDraft},
	{path: "room ask", options: []string{"draft", "{draft}"}, learn: "room", find: findRoom},
	{path: "room answer", options: []string{"room", "{other}", "price", "{price}"}},
	{path: "room show", options: []string{"room", "{room}"}},
	{path: "piece trail"},
	{path: "piece learn"},
	{path: "piece export"},
	{path: "piece export", options: []string{"as", "csv"}},
	{path: "settings show"},
	{path: "settings venue", options: []string{"name", "fair", "fee", "3%"}},
	{path: "privacy show"},
	{path: "privacy export"},
	{path: "sale withdraw", options: []string{"sale", "1"}},
	{path: "room close", options: []string{"room", "{room}"}},
	{path: "piece wipe", learn: "wipe", find: findWipe},
	{path: "piece wipe", options: []string{"confirm", "{wipe}"}},
	{path: "privacy opt-out"},
	{path: "privacy forget", options: []string{"confirm", "yes"}},
}

// live takes a member one step on, and tells whether their life is over.
func (m *soakMembers) live(l *soakLife) (over bool) {
	step := soakSteps[l.step]
	l.step++
	over = l.step == len(soakSteps)
	options := map[string]string{}
	for i := 0; i < len(step.options); i += 2 {
		value := step.options[i+1]
		if name, ok := strings.CutPrefix(value, "{"); ok {
			if value = m.known(l, strings.TrimSuffix(name, "}")); value == "" {
				m.count("nothing to ask", "")
				return over
			}
		}
		options[step.options[i]] = value
	}
	answer, err := m.platform.ask(l.server, l.who, step.path, options)
	switch {
	case err != nil:
		m.count("unanswered", step.path)
	case strings.Contains(answer, "Something went wrong"):
		m.count("fault", step.path+": "+answer)
	case strings.Contains(answer, "I am busy"), strings.Contains(answer, "try again in"), strings.Contains(answer, "Try again in"):
		m.count("busy", "")
	case !strings.Contains(answer, `"embeds":[{`):
		m.count("refused", fmt.Sprint(step.path, ": ", answer[:min(160, len(answer))]))
	default:
		m.count("answered", "")
	}
	if step.find != nil {
		if found := step.find.FindStringSubmatch(answer); found != nil {
			l.told[step.learn] = found[1]
			if step.learn == "room" {
				m.mu.Lock()
				m.rooms[l.server] = found[1]
				m.mu.Unlock()
			}
		} else {
			m.count("not understood", step.path+": "+answer[:min(160, len(answer))])
		}
	}
	return over
}

// known is what a member knows by a name.
func (m *soakMembers) known(l *soakLife, name string) string {
	switch name {
	case "price":
		return strconv.Itoa(300 + rand.IntN(200))
	case "other":
		m.mu.Lock()
		defer m.mu.Unlock()
		if room := m.rooms[l.server]; room != l.told["room"] {
			return room
		}
		return ""
	}
	return l.told[name]
}

func (m *soakMembers) count(what, detail string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.counts[what]++
	if detail != "" && len(m.strange) < 50 {
		m.strange[what+": "+detail]++
	}
}

func (m *soakMembers) counted(what string) int {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.counts[what]
}
