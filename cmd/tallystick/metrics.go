package main

import (
	"context"
	"os"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"tallystick/commands"
)

// unknownCommand is the label of every request for a command that there is not:
// no label is ever what a member typed.
const unknownCommand = "unknown"

// connection is what the transport tells of itself.
type connection interface {
	Connected() []bool
	Queue() (waiting, room int)
	TurnedAway() uint64
	Mistimed() uint64
}

// database is what the store tells of itself.
type database interface {
	Answers(ctx context.Context) error
	LastRelease(ctx context.Context) (time.Time, bool, error)
}

// watched is what the metrics and the health are made of.
type watched struct {
	line connection
	data database
	// path is the database file; its journal stands beside it.
	path string
	// disk says of a folder why nothing can be written there, nil where it can.
	disk func(folder string) error
	now  func() time.Time
}

// meter counts the requests.
type meter struct {
	requests *prometheus.CounterVec
	took     *prometheus.HistogramVec
}

// newMeter makes a registry of our own and what is counted in it. The names are
// listed in DEVELOPERS.md.
func newMeter(w watched) (*meter, *prometheus.Registry) {
	m := &meter{
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "tallystick_requests_total",
			Help: "Requests answered, by command and outcome (ok, mistake, refused, fault)."}, []string{"command", "outcome"}),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "tallystick_request_seconds",
			Help:    "Time from a request to its answer, before it is sent.",
			Buckets: []float64{.0005, .001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 10}}, []string{"command"}),
	}
	registry := prometheus.NewRegistry()
	registry.MustRegister(m.requests, m.took, newGauges(w), collectors.NewGoCollector(), collectors.NewBuildInfoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m, registry
}

// observe counts one request.
func (m *meter) observe(seen commands.Observed) {
	command := seen.Path
	if command == "" {
		command = unknownCommand
	}
	m.requests.WithLabelValues(command, string(seen.Outcome)).Inc()
	m.took.WithLabelValues(command).Observe(seen.Took.Seconds())
}

// gauges are looked at when somebody asks for them.
type gauges struct {
	watched
	queue, room, turned, mistimed, line, age, size, journal *prometheus.Desc
}

func newGauges(w watched) *gauges {
	described := func(name, help string, labels ...string) *prometheus.Desc {
		return prometheus.NewDesc("tallystick_"+name, help, labels, nil)
	}
	return &gauges{watched: w,
		queue:    described("queue_length", "Requests that wait for a worker."),
		room:     described("queue_capacity", "Requests that can wait for a worker."),
		turned:   described("turned_away_total", "Requests that found no place in the queue."),
		mistimed: described("mistimed_total", "Signed requests refused by the HTTP door, for a time too far from this machine's."),
		line:     described("gateway_connected", "1 where a shard's line to the gateway is ready, else 0.", "shard"),
		age:      described("release_age_seconds", "Time since the newest release of the community that has waited longest; not there before a first release."),
		size:     described("database_bytes", "Size of the database file."),
		journal:  described("journal_bytes", "Size of the database's journal."),
	}
}

// Describe lists what may be collected.
func (g *gauges) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{g.queue, g.room, g.turned, g.mistimed, g.line, g.age, g.size, g.journal} {
		to <- d
	}
}

// collectLimit is how long a look at the database may take.
const collectLimit = time.Second

// Collect looks. What cannot be told is left out.
func (g *gauges) Collect(to chan<- prometheus.Metric) {
	gauge := func(d *prometheus.Desc, value float64, labels ...string) {
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, value, labels...)
	}
	waiting, room := g.watched.line.Queue()
	gauge(g.queue, float64(waiting))
	gauge(g.room, float64(room))
	to <- prometheus.MustNewConstMetric(g.turned, prometheus.CounterValue, float64(g.watched.line.TurnedAway()))
	to <- prometheus.MustNewConstMetric(g.mistimed, prometheus.CounterValue, float64(g.watched.line.Mistimed()))
	for shard, connected := range g.watched.line.Connected() {
		up := 0.0
		if connected {
			up = 1
		}
		gauge(g.line, up, strconv.Itoa(shard))
	}
	ctx, cancel := context.WithTimeout(context.Background(), collectLimit)
	defer cancel()
	if day, any, err := g.data.LastRelease(ctx); err == nil && any {
		gauge(g.age, g.now().Sub(day).Seconds())
	}
	for file, d := range map[string]*prometheus.Desc{g.path: g.size, g.path + "-wal": g.journal} {
		if info, err := os.Stat(file); err == nil {
			gauge(d, float64(info.Size()))
		}
	}
}
