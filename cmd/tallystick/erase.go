package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tallystick/calc/measure"
	"tallystick/commands"
	"tallystick/store"
)

type eraseCommand struct {
	Server     string   `help:"The server's id: erase what its members share there."`
	Member     []string `help:"A member's account id: erase all that is kept of them, in the server and in private messages. May be given several times."`
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
	if !p.serverIsThere() {
		return &settingsError{[]string{"there is no database of serve in TALLYSTICK_DATA, so there is nothing to erase"}}
	}
	r, err := p.openServer()
	if err != nil {
		return err
	}
	if c.Everything {
		if err := r.store.Close(); err != nil {
			return err
		}
		return c.eraseFiles(p)
	}
	defer func() { _ = r.store.Close() }()
	for _, member := range c.Member {
		if err := c.eraseMember(p, r, member); err != nil {
			return err
		}
	}
	if len(c.Member) > 0 {
		return nil
	}
	n, err := r.store.EraseCommunity(p.ctx, c.Server, time.Now())
	if errors.Is(err, store.ErrNotFound) {
		return &settingsError{[]string{"--server: nothing was ever kept of the server " + measure.Quote(c.Server)}}
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(p.stdout, "Erased: shared sales %d, previews %d, questions to the room %d.\n", n.Sales, n.Previews, n.Rooms)
	return err
}

// plan says what would be erased, or what is wrong with what was asked.
func (c *eraseCommand) plan(p *process) (string, error) {
	for _, id := range append([]string{c.Server}, c.Member...) {
		if strings.Trim(id, "0123456789") != "" {
			return "", &settingsError{[]string{fmt.Sprintf("%q is not an id. Try one such as 809876543210987654: the chat shows it with its developer mode on", measure.Quote(id))}}
		}
	}
	switch {
	case c.Everything && (c.Server != "" || len(c.Member) > 0):
		return "", &settingsError{[]string{"--everything is said with --server or --member. Say one of them"}}
	case c.Everything:
		return "  " + strings.Join(p.serverFiles(), "\n  "), nil
	case len(c.Member) > 0:
		return fmt.Sprintf("  all that is kept of the members named (%d), as their own /privacy forget would", len(c.Member)), nil
	case c.Server != "":
		return "  all sales, previews, questions to the room and shops that the server's members share.\n" +
			"Their job sheets and settings carry no mark of the server: they go with --member, or with --everything.", nil
	}
	return "", &settingsError{[]string{"say what to erase: --server ID, --member ID, or --everything"}}
}

// eraseMember has a member forgotten, by the same command that they have.
func (c *eraseCommand) eraseMember(p *process, r *room, member string) error {
	places := []string{directCommunity + member}
	if c.Server != "" {
		places = append(places, c.Server)
	}
	for _, community := range places {
		reply := r.set.Do(p.ctx, commands.Request{Delivery: random(16), Community: community, Member: member,
			Path: "privacy forget", Options: map[string]string{"confirm": "yes"}, Time: time.Now()})
		if reply.Outcome() != commands.Answered {
			return errors.New(reply.Sentence())
		}
		where := "in private messages"
		if community == c.Server {
			where = "in the server"
		}
		if _, err := fmt.Fprintf(p.stdout, "%s, %s: %s\n", member, where, reply.Title); err != nil {
			return err
		}
	}
	return nil
}

// serverFiles are all that serve keeps.
func (p *process) serverFiles() []string {
	base := filepath.Join(p.settings.Data, "server")
	return []string{base + ".db", base + ".db-wal", base + ".db-shm", base + ".db.seal", base + ".db.sums", base + ".db.lock", base + ".keys"}
}

func (p *process) serverIsThere() bool {
	_, err := os.Stat(p.serverFiles()[0])
	return err == nil
}

// eraseFiles deletes the keys first: without them what is left names nobody.
func (c *eraseCommand) eraseFiles(p *process) error {
	files := p.serverFiles()
	for i := range files {
		err := os.Remove(files[len(files)-1-i])
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("erasing: %w", err)
		}
	}
	_, err := fmt.Fprintln(p.stdout, "Erased. Backups are yours to erase too: the database's and the keys'.")
	return err
}
