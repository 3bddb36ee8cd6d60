package discord

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"slices"
	"strings"

	"github.com/bwmarrin/discordgo"
)

// Change is what registering does, or would do, to one command as members see it.
type Change struct {
	// What is Added, Removed or Changed.
	What string
	// Command is its first word.
	Command string
}

// What may happen to a command.
const (
	Added   = "added"
	Removed = "removed"
	Changed = "changed"
)

// Register compares the commands of config.Set with those the platform has, and
// unless dry is true sends them when there is a difference. It returns the
// differences by command, in order of their names.
func Register(ctx context.Context, config Config, dry bool) ([]Change, error) {
	c, err := config.checked()
	if err != nil {
		return nil, err
	}
	clean := redactor{c.Token}
	c.Log = slog.New(redacting{c.Log.Handler(), clean})
	to, err := c.address()
	if err != nil {
		return nil, clean.err(err)
	}
	body, err := registration(c.Set)
	if err != nil {
		return nil, fmt.Errorf("deriving the registration: %w", err)
	}
	client := newClient(to, c.Timing.Request)
	defer client.CloseIdleConnections()
	rest, err := newAPI(c, to, client, 1)
	if err != nil {
		return nil, clean.err(err)
	}
	r := registrar{api: rest, log: c.Log, body: body}
	changes, err := r.compare(ctx, dry)
	if stop := hopeless(err); stop != nil {
		err = stop
	}
	return changes, clean.err(err)
}

func (r *registrar) compare(ctx context.Context, dry bool) ([]Change, error) {
	address, present, readable, err := r.present(ctx, "")
	if err != nil {
		return nil, err
	}
	if !readable { // another's form: all of it goes
		present = nil
	}
	changes, err := changesOf(present, r.body)
	if err != nil || dry || len(changes) == 0 {
		return changes, err
	}
	return changes, r.overwrite(ctx, address)
}

// changesOf tells what becomes of each command.
func changesOf(present, wanted []*registered) ([]Change, error) {
	before, err := byNames(present)
	if err != nil {
		return nil, err
	}
	after, err := byNames(wanted)
	if err != nil {
		return nil, err
	}
	var changes []Change
	for name, body := range after {
		switch was, there := before[name]; {
		case !there:
			changes = append(changes, Change{Added, name})
		case !bytes.Equal(was, body):
			changes = append(changes, Change{Changed, name})
		}
	}
	for name := range before {
		if _, stays := after[name]; !stays {
			changes = append(changes, Change{Removed, name})
		}
	}
	slices.SortFunc(changes, func(a, b Change) int { return strings.Compare(a.Command, b.Command) })
	return changes, nil
}

// byNames is each command in the form in which two are compared. A menu entry of
// another kind with the same name is another command.
func byNames(list []*registered) (map[string][]byte, error) {
	out := map[string][]byte{}
	for _, r := range list {
		if r == nil {
			continue
		}
		body, err := canonical([]*registered{r})
		if err != nil {
			return nil, err
		}
		name := r.Name
		if r.Type != discordgo.ChatApplicationCommand {
			name = fmt.Sprintf("%s (kind %d)", r.Name, r.Type)
		}
		out[name] = body
	}
	return out, nil
}
