package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strings"
	"time"

	"tallystick/calc/measure"
	"tallystick/commands"
	"tallystick/store"
)

type eraseCommand struct {
	Server     string   `help:"The server's id: erase what its members share there."`
	Member     []string `help:"A member's account id: erase all that is kept of them in private messages, and in the server that --server names. May be given several times."`
	Everything bool     `help:"Erase the whole database of serve, with its keys."`
	Yes        bool     `help:"Do it. Without it, only what would be erased is said."`
}

// directCommunity is the community of who writes to the bot in private.
const directCommunity = "direct"

// Run erases, for a host who closes down, or for a member who has left and cannot
// ask for it in the chat any more.
func (c *eraseCommand) Run(p *process) error {
	plan, err := c.plan(p)
	if err != nil {
		return err
	}
	if !c.Yes {
		_, err := fmt.Fprintf(p.stdout, "This erases, for good:\n%s\nNothing was erased. Members can take what is theirs with /piece export as:json and /privacy export first. Add --yes to do it.\n", plan)
		return err
	}
	if c.Everything {
		return c.eraseFiles(p)
	}
	r, err := p.openServer()
	if err != nil {
		return err
	}
	defer func() { _ = r.store.Close() }()
	if len(c.Member) > 0 {
		return c.eraseMembers(p, r)
	}
	n, err := r.store.EraseCommunity(p.ctx, c.Server, time.Now())
	if errors.Is(err, store.ErrNotFound) {
		return &settingsError{[]string{"--server: nothing was ever kept of the server " + measure.Quote(c.Server)}}
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "Erased: shared sales %d, previews %d, questions to the room %d.\nOlder backups still hold them: erase those, or say this again after a restore.\n", n.Sales, n.Previews, n.Rooms)
	return err
}

// plan says what would be erased, or what is wrong with what was asked.
func (c *eraseCommand) plan(p *process) (string, error) {
	for _, id := range append([]string{c.Server}, c.Member...) {
		if strings.Trim(id, "0123456789") != "" {
			return "", &settingsError{[]string{fmt.Sprintf("%q is not an id. Try one such as 809876543210987654: the chat shows it with its developer mode on", measure.Quote(id))}}
		}
	}
	there := p.serverFilesThere()
	switch {
	case c.Everything && (c.Server != "" || len(c.Member) > 0):
		return "", &settingsError{[]string{"--everything is said with --server or --member. Say one of them"}}
	case !c.Everything && c.Server == "" && len(c.Member) == 0:
		return "", &settingsError{[]string{"say what to erase: --server ID, --member ID, or --everything"}}
	case len(there) == 0 || !c.Everything && there[0] != p.serverFiles()[0]:
		return "", &settingsError{[]string{fmt.Sprintf("there is no database %q, so there is nothing to erase: TALLYSTICK_DATA names the folder", p.serverFiles()[0])}}
	case c.Everything:
		return "  " + strings.Join(there, "\n  "), nil
	case len(c.Member) > 0 && c.Server != "":
		return fmt.Sprintf("  all that is kept of %s in the server %s and in private messages, as their own /privacy forget would in both.\n"+
			"What is kept of them in another server stays: say it again with --server and its id.", strings.Join(c.Member, ", "), c.Server), nil
	case len(c.Member) > 0: // the ids of servers are scrambled, so that nobody can go through them
		return fmt.Sprintf("  all that is kept of %s in private messages, as their own /privacy forget would there.\n"+
			"What is kept of them in a server stays: say it with --server and its id, for each server.", strings.Join(c.Member, ", ")), nil
	}
	return "  all sales, previews, questions to the room and shops that the server's members share.\n" +
		"Their job sheets and settings carry no mark of the server: they go with --member, or with --everything.", nil
}

// eraseMembers has members forgotten, by the same command that they have.
func (c *eraseCommand) eraseMembers(p *process, r *room) error {
	kept := false
	for _, member := range c.Member {
		for _, place := range []struct{ community, name, advice string }{
			{directCommunity + member, "in private messages", ""},
			{c.Server, "in the server " + c.Server, " Look whether both ids are right."},
		} {
			if place.community == "" {
				continue
			}
			reply := r.set.Do(p.ctx, commands.Request{Delivery: random(16), Community: place.community, Member: member,
				Path: "privacy forget", Options: map[string]string{"confirm": "yes"}, Time: time.Now()})
			if reply.Outcome() != commands.Answered {
				return errors.New(reply.Sentence())
			}
			said := "forgotten."
			if reply.Title == commands.NothingToForget {
				said = "nothing was kept." + place.advice
			} else {
				kept = true
			}
			if _, err := fmt.Fprintf(p.stdout, "%s, %s: %s\n", member, place.name, said); err != nil {
				return err
			}
		}
	}
	if c.Server == "" {
		if _, err := fmt.Fprintln(p.stdout, "What is kept of them in a server stays: say it with --server and its id, for each server."); err != nil {
			return err
		}
	}
	if !kept {
		return outcome(exitMistake) // the lines say it
	}
	_, err := fmt.Fprintln(p.stdout, "Older backups still hold what was erased: erase those, or say this again after a restore.")
	return err
}

// serverFiles are all that serve keeps, the keys last.
func (p *process) serverFiles() []string {
	files := p.files(server).Files()
	return append(files[1:], files[0])
}

// serverFilesThere are those of them that are there.
func (p *process) serverFilesThere() []string {
	return slices.DeleteFunc(p.serverFiles(), func(file string) bool {
		_, err := os.Lstat(file)
		return err != nil
	})
}

// eraseFiles deletes the keys first: without them what is left names nobody.
func (c *eraseCommand) eraseFiles(p *process) error {
	files := p.serverFiles()
	if slices.Contains(p.serverFilesThere(), files[0]) {
		r, err := p.openServer() // refused while somebody else has it open
		if err != nil {
			return err
		}
		if err := r.store.Close(); err != nil {
			return err
		}
	}
	for _, file := range slices.Backward(files) {
		if err := os.Remove(file); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("erasing: %w", err)
		}
	}
	_, err := fmt.Fprintln(p.stdout, "Erased. Backups are yours to erase too: the database's and the keys'.")
	return err
}
