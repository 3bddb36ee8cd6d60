package discord

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"
)

// registrar registers the commands once in a run, and only when what the platform
// has differs: new names count against a daily limit.
type registrar struct {
	api         *api
	log         *slog.Logger
	body        []*registered
	retry, most time.Duration
	// hopeless is told what no further attempt can change.
	hopeless func(error)

	once sync.Once
	done sync.WaitGroup
}

// begin starts the registration after the first READY. It goes on beside the
// serving, for commands registered earlier work meanwhile.
func (r *registrar) begin(ctx context.Context, application string) {
	r.once.Do(func() {
		r.done.Go(func() { r.run(ctx, application) })
	})
}

func (r *registrar) wait() { r.done.Wait() }

// run tries until it is done, ctx ends, or trying again is pointless.
func (r *registrar) run(ctx context.Context, application string) {
	wait := r.retry
	for {
		changed, err := r.publish(ctx, application)
		switch {
		case err == nil:
			r.log.Info("commands registered", "count", len(r.body), "changed", changed)
			return
		case ctx.Err() != nil:
			return
		case hopeless(err) != nil:
			r.hopeless(hopeless(err))
			return
		case status(err) == http.StatusBadRequest || status(err) == http.StatusForbidden || status(err) == http.StatusNotFound:
			r.log.Error("the platform refuses the commands; those it has stay", "cause", err)
			return
		}
		r.log.Warn("registering the commands failed and is tried again", "cause", err, "wait", wait)
		if !pause(ctx, wait) {
			return
		}
		wait = min(2*wait, r.most)
	}
}

// publish compares and, when there is a difference, overwrites all at once.
func (r *registrar) publish(ctx context.Context, application string) (changed bool, err error) {
	address, present, readable, err := r.present(ctx, application)
	if err != nil {
		return false, err
	}
	if readable { // what I cannot read is not as I want it
		if same, err := equal(present, r.body); err != nil || same {
			return false, err
		}
	}
	return true, r.overwrite(ctx, address)
}

// present is what the platform has now, and where.
func (r *registrar) present(ctx context.Context, application string) (address string, list []*registered, readable bool, err error) {
	if application == "" {
		if application, err = r.whoAmI(ctx); err != nil {
			return "", nil, false, err
		}
	}
	address = discordgo.EndpointApplicationGlobalCommands(application)
	answer, err := r.api.ask(ctx, http.MethodGet, address, nil, forever())
	if err != nil {
		return "", nil, false, fmt.Errorf("reading the registered commands: %w", err)
	}
	readable = json.Unmarshal(answer, &list) == nil
	return address, list, readable, nil
}

func (r *registrar) overwrite(ctx context.Context, address string) error {
	if _, err := r.api.ask(ctx, http.MethodPut, address, r.body, forever()); err != nil {
		return fmt.Errorf("registering the commands: %w", err)
	}
	return nil
}

// forever is long enough for a request that nobody waits for.
func forever() time.Time { return time.Now().Add(24 * time.Hour) }

// whoAmI asks for the application's id, when READY did not tell it.
func (r *registrar) whoAmI(ctx context.Context) (string, error) {
	answer, err := r.api.ask(ctx, http.MethodGet, discordgo.EndpointApplication("@me"), nil, time.Now().Add(longestWait))
	if err != nil {
		return "", fmt.Errorf("asking for the application's id: %w", err)
	}
	var me struct {
		ID string `json:"id"`
	}
	if err := json.Unmarshal(answer, &me); err != nil {
		return "", fmt.Errorf("asking for the application's id: %w", err)
	}
	if me.ID == "" {
		return "", errors.New("asking for the application's id: the answer holds none")
	}
	return me.ID, nil
}

// equal compares two registrations whatever the order of their commands and
// contexts. The order of options is what members see and counts.
func equal(a, b []*registered) (bool, error) {
	x, err := canonical(a)
	if err != nil {
		return false, err
	}
	y, err := canonical(b)
	return bytes.Equal(x, y), err
}

func canonical(list []*registered) ([]byte, error) {
	sorted := make([]registered, 0, len(list))
	for _, r := range list {
		if r == nil {
			continue
		}
		one := *r
		one.Contexts = slices.Sorted(slices.Values(one.Contexts))
		sorted = append(sorted, one)
	}
	slices.SortFunc(sorted, func(a, b registered) int {
		return cmp.Or(cmp.Compare(a.Type, b.Type), strings.Compare(a.Name, b.Name))
	})
	return json.Marshal(sorted)
}
