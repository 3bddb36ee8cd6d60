package main

import (
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"tallystick/bot/console"
	"tallystick/commands"
	"tallystick/store"
)

// usualCategories are what a community's log is sorted by until its host changes it.
var usualCategories = []string{
	"bed", "bench", "bookcase", "cabinet", "chair", "desk", "frame", "garden-seat", "keepsake-box",
	"planter", "serving-board", "shelf", "side-table", "stool", "table", "toy", "turned-piece", "other",
}

// room is one database with the commands over it.
type room struct {
	store *store.Store
	set   *commands.Set
}

// open opens a database of the data folder by its name.
func (p *process) open(name string, defaults store.Community) (*room, error) {
	if err := p.haveFolder(); err != nil {
		return nil, err
	}
	files := p.files(name)
	files.Defaults = defaults
	s, err := store.Open(p.ctx, files)
	if err != nil {
		return nil, err
	}
	set, err := commands.New(commands.Config{Store: s, Log: p.log, Bare: p.settings.bare(), Reference: reference})
	if err != nil {
		_ = s.Close()
		return nil, fmt.Errorf("building the commands: %w", err)
	}
	return &room{store: s, set: set}, nil
}

// Where a person in a terminal speaks.
const (
	practice = "practice"
	own      = "own"
	self     = "self"
)

// openConsole opens the practice community, or the maker's own.
func (p *process) openConsole(alone bool) (*room, console.Config, error) {
	name, defaults := practice, practiceCommunity()
	if alone {
		name, defaults = own, store.Community{Currency: p.settings.Currency, Categories: usualCategories}
	}
	r, err := p.open(name, defaults)
	if err != nil {
		return nil, console.Config{}, err
	}
	if !alone {
		if err := fillPractice(p.ctx, r.store, time.Now()); err != nil {
			_ = r.store.Close()
			return nil, console.Config{}, err
		}
	}
	if _, err := r.store.ReleaseDue(p.ctx, time.Now()); err != nil {
		_ = r.store.Close()
		return nil, console.Config{}, fmt.Errorf("making the releases that are due: %w", err)
	}
	if _, err := r.store.CloseRooms(p.ctx, time.Now()); err != nil {
		_ = r.store.Close()
		return nil, console.Config{}, fmt.Errorf("closing the rooms whose time is over: %w", err)
	}
	return r, console.Config{
		Set: r.set, Community: name, Member: self, Locale: p.settings.locale,
		Delivery: func() string { return random(16) }, Now: time.Now, Pictures: filepath.Join(p.settings.Data, "pictures"),
	}, nil
}

// reference marks a fault: four characters are enough to find it in a day's log.
func reference() string { return strings.ToUpper(random(2)) }

func random(bytes int) string {
	b := make([]byte, bytes)
	_, _ = rand.Read(b) // never fails, see crypto/rand
	return hex.EncodeToString(b)
}
