package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"tallystick/bot/console"
)

type askCommand struct {
	JSON bool     `help:"Print the reply as JSON."`
	Own  bool     `help:"Ask in your own community instead of the practice community."`
	Line []string `arg:"" help:"The line as you would type it, such as '/price hours:7h30 materials:84 rate:25'."`
}

// Run answers one line on standard output, whatever the answer is.
func (c *askCommand) Run(p *process) error {
	r, cfg, err := p.openConsole(c.Own)
	if err != nil {
		return err
	}
	defer func() { _ = r.store.Close() }()
	reply := console.Ask(p.ctx, cfg, strings.Join(c.Line, " "))
	if c.JSON {
		out := json.NewEncoder(p.stdout)
		out.SetEscapeHTML(false)
		if err := out.Encode(reply); err != nil {
			return fmt.Errorf("writing the reply: %w", err)
		}
		return ended(reply.Outcome())
	}
	cfg.Show(p.stdout, reply)
	return ended(reply.Outcome())
}
