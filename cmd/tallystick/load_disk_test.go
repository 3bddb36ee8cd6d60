package main

import (
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/bwmarrin/discordgo"
)

// lastingPages makes one page of a file last for each clock, and does nothing else: the
// least that an answer may wait for that goes out once its entry is on the disk. The
// pages are there before and are written over in turn, as those of a journal are.
func lastingPages() func(i *discordgo.Interaction) {
	const page, pages = 4096, 1000
	path := filepath.Join(os.Getenv("TALLYSTICK_DATA"), "pages")
	content := make([]byte, page*pages)
	err := os.MkdirAll(filepath.Dir(path), 0o700)
	if err == nil {
		err = os.WriteFile(path, content, 0o600)
	}
	f, problem := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil || problem != nil || f.Sync() != nil {
		panic("the pages cannot be written")
	}
	var turn sync.Mutex
	at := 0
	return func(i *discordgo.Interaction) {
		if i.ApplicationCommandData().Name != "piece" {
			return
		}
		turn.Lock()
		defer turn.Unlock()
		at++
		content[at%page]++
		if _, err := f.WriteAt(content[:page], int64(at%pages)*page); err != nil {
			panic(err)
		}
		if err := f.Sync(); err != nil {
			panic(err)
		}
	}
}

// go test ./cmd/tallystick -run TheDisk -load -v
//
// It holds no bar: it says what of the clocks' bars the disk alone takes, with one
// request at a time, where nobody shares a write with anybody.
func TestWhatTheDiskAloneTakesOfTheClocks(t *testing.T) {
	if !*loads {
		t.Skip("a measurement that takes the whole machine; -load runs it")
	}
	durable, bare := startChild(t, "durable"), startChild(t, "bare")
	const rounds, count = 9, 1224
	m := everything(t)
	durable.round(m, count/2, 1) // warm
	bare.round(m, count/2, 1)
	var ours, theirs []figures
	for range rounds {
		ours = append(ours, durable.round(m, count, 1))
		theirs = append(theirs, bare.round(m, count, 1))
	}
	a, b := middle(ours), middle(theirs)
	t.Logf("a bare handler that makes one page last for each clock, 1 in flight: %.0f/s p99 %v beside %.0f/s p99 %v: throughput %.2f, p99 %.2f times",
		a.rate, a.p99, b.rate, b.p99, a.rate/b.rate, float64(a.p99)/float64(b.p99))
}
