package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"tallystick/bot/discord"
)

// loopback reads the address that metrics are given at. Nobody but this machine may
// reach it: what is counted there is nobody else's business.
func loopback(text string) (string, error) {
	host, port, err := net.SplitHostPort(text)
	if err != nil { // a port alone
		host, port = "", text
	}
	if n, err := strconv.ParseUint(port, 10, 16); err != nil || n == 0 {
		return "", errors.New("is not an address with a port")
	}
	switch ip, err := netip.ParseAddr(host); {
	case host == "", host == "localhost":
		host = "127.0.0.1"
	case err != nil || !ip.IsLoopback():
		return "", errors.New("is not on this machine alone")
	}
	return net.JoinHostPort(host, port), nil
}

// unwell says in one line why the program does not serve now; "" is that it does.
func (w watched) unwell(ctx context.Context) string {
	ctx, cancel := context.WithTimeout(ctx, collectLimit)
	defer cancel()
	lines := w.line.Connected()
	switch {
	case len(lines) == 0:
		return "not connected yet"
	case slices.Contains(lines, false):
		return fmt.Sprintf("shard %d of %d is not connected", slices.Index(lines, false), len(lines))
	case w.data.Answers(ctx) != nil:
		return "the database does not answer"
	}
	if trouble := w.disk(filepath.Dir(w.path)); trouble != nil {
		return trouble.Error() // members are told that nothing of theirs is kept
	}
	return ""
}

// watchPages are what is given: the metrics and the health, and nothing else.
func watchPages(w watched, registry *prometheus.Registry, log *slog.Logger) http.Handler {
	pages := http.NewServeMux()
	pages.Handle("GET /metrics", promhttp.HandlerFor(registry, promhttp.HandlerOpts{MaxRequestsInFlight: 4, Timeout: 5 * time.Second,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn)}))
	pages.HandleFunc("GET /healthz", func(rw http.ResponseWriter, r *http.Request) {
		rw.Header().Set("Content-Type", "text/plain; charset=utf-8")
		if why := w.unwell(r.Context()); why != "" {
			rw.WriteHeader(http.StatusServiceUnavailable)
			_, _ = fmt.Fprintln(rw, why)
			return
		}
		_, _ = fmt.Fprintln(rw, "ok")
	})
	return pages
}

// watchServer gives the pages at an address, from now on until it is ended.
type watchServer struct {
	server *http.Server
	ended  chan error
}

// watch begins to give the pages. The address is one that loopback read.
func watch(ctx context.Context, address string, pages http.Handler, log *slog.Logger) (*watchServer, error) {
	listener, err := new(net.ListenConfig).Listen(ctx, "tcp", address)
	if err != nil {
		if op, ok := errors.AsType[*net.OpError](err); ok {
			err = op.Err
		}
		return nil, &settingsError{[]string{fmt.Sprintf("TALLYSTICK_METRICS: nobody can listen at %q: %v. Try another port", address, err)}}
	}
	s := &watchServer{ended: make(chan error, 1), server: &http.Server{Handler: pages, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug),
		MaxHeaderBytes: 16 << 10, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 5 * time.Second, WriteTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}}
	log.Info("metrics and health", "address", listener.Addr())
	go func() { s.ended <- s.server.Serve(listener) }()
	return s, nil
}

// end lets the requests under way finish.
func (s *watchServer) end() {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
	defer cancel()
	if err := s.server.Shutdown(ctx); err != nil {
		_ = s.server.Close()
	}
	<-s.ended
}

// watch gives the metrics and the health of a room that is served as config says,
// where the settings ask for it, until the function that it returns is called.
func (p *process) watch(r *room, config *discord.Config) (end func(), err error) {
	if p.settings.Metrics == "" {
		return func() {}, nil
	}
	config.Status = &discord.Status{}
	w := watched{line: config.Status, data: r.store, path: filepath.Join(p.settings.Data, "server.db"), disk: diskTrouble, now: time.Now}
	meter, registry := newMeter(w)
	r.set.Observe(meter.observe)
	address, err := loopback(p.settings.Metrics)
	if err != nil {
		return nil, err
	}
	server, err := watch(p.ctx, address, watchPages(w, registry, p.log), p.log)
	if err != nil {
		return nil, err
	}
	return server.end, nil
}
