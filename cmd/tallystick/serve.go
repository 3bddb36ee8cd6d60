package main

import (
	"context"
	"log/slog"
	"os"
	"runtime"
	"runtime/debug"
	"sync"
	"time"

	"tallystick/bot/discord"
	"tallystick/store"
)

type serveCommand struct{}

// releaseEvery is how often the clock is looked at for a release that is due. They
// are due once a month; looking more often only shortens the wait after a start.
const releaseEvery = time.Hour

// roomForGarbage lets garbage grow to four times what is alive before it is
// collected: at 5 MB alive some 25 MB in all, and marking takes under 2 % of the
// processor time under load instead of 5 %. Whoever sets GOGC has it their way.
func roomForGarbage() {
	const usual, ours = 100, 400
	if set := debug.SetGCPercent(ours); set != usual {
		debug.SetGCPercent(set)
	}
}

// roomForWaiting lets Go run on one thread more than there are processors: the one
// that waits for the disk to make a post last holds its place for as long, and with
// two places that is half of them. Whoever sets GOMAXPROCS has it their way.
func roomForWaiting() {
	if os.Getenv("GOMAXPROCS") == "" {
		runtime.GOMAXPROCS(runtime.GOMAXPROCS(0) + 1)
	}
}

// Run serves until it is told to stop, and makes the releases as they fall due.
func (serveCommand) Run(p *process) error {
	if _, err := p.settings.token(); err != nil {
		return err
	}
	p.log.Info("the data is kept here", "folder", whole(p.settings.Data))
	r, err := p.openServer()
	if err != nil {
		return err
	}
	defer func() { _ = r.store.Close() }()
	r.set.Limit(p.settings.limits())
	config, err := p.discord(r.set)
	if err != nil {
		return err
	}
	roomForGarbage()
	roomForWaiting()
	discord.RouteLibraryLog(p.log)
	unwatch, err := p.watch(r, &config)
	if err != nil {
		return err
	}
	defer unwatch()
	ctx, stop := context.WithCancel(p.ctx)
	var releases sync.WaitGroup
	releases.Go(func() { keepReleasing(ctx, r.store, p.log, time.NewTicker(releaseEvery).C) })
	err = discord.Run(ctx, config)
	stop()
	releases.Wait()
	if err != nil {
		return hopelessError{err}
	}
	return nil
}

// hopelessError is an end of serving that trying again cannot change: its text says
// what the host has to put right.
type hopelessError struct{ error }

// openServer opens the database of the server's members.
func (p *process) openServer() (*room, error) {
	return p.open(server, store.Community{Currency: p.settings.Currency, Categories: usualCategories})
}

// keepReleasing makes the releases that are due, and closes the rooms whose time is
// over, at once and at every tick.
func keepReleasing(ctx context.Context, s *store.Store, log *slog.Logger, ticks <-chan time.Time) {
	for now := time.Now(); ; {
		ran, err := s.ReleaseDue(ctx, now)
		if err == nil {
			_, err = s.CloseRooms(ctx, now)
		}
		switch {
		case ctx.Err() != nil:
			return
		case err != nil:
			log.Error("release failed; the next tick tries again", "cause", err)
		case ran > 0:
			log.Info("released", "communities", ran)
		}
		select {
		case <-ctx.Done():
			return
		case now = <-ticks:
		}
	}
}
