package main

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"tallystick/calc/pool"
	"tallystick/commands"
)

// What the program under load says on its standard output, a line each: what it is
// about to do, and what it has answered.
type crashLine struct {
	// Asked is set before a request is made, Answered once its answer is there, and
	// Refused where the answer was that it cannot be done.
	Asked, Answered, Refused bool
	Request                  crashRequest
	// Sale is the number that a shared sale was answered with.
	Sale int
}

// A crashRequest is a request with a mark that its effect is found by.
type crashRequest struct {
	Mark, Member, Path string
	Options            map[string]string
	// About is the mark of the clock that an out stops.
	About string
	// Day is the day of a release; it comes from no member.
	Day int
}

const crashCommunity = "812345678901234777"

// crashWorkers is how many members write at once.
const crashWorkers = 24

// crashing is the program under a load that only being killed ends. Over standard
// input it is told what to do first: requests that came before, again.
func crashing() {
	settings, err := readSettings(os.Environ(), "")
	stopOn(err)
	p := &process{ctx: context.Background(), settings: settings, log: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelError}))}
	r, err := p.openServer()
	stopOn(err)
	c := &crasher{room: r, round: os.Getenv("TALLYSTICK_TEST_ROUND")}
	first, err := io.ReadAll(os.Stdin)
	stopOn(err)
	var again []crashRequest
	stopOn(json.Unmarshal(first, &again))
	day, err := strconv.Atoi(os.Getenv("TALLYSTICK_TEST_DAY"))
	stopOn(err)
	for _, request := range again {
		c.do(request)
	}
	fmt.Println("ready")
	go c.release(day)
	var all sync.WaitGroup
	for worker := range crashWorkers {
		all.Go(func() { c.work(worker) })
	}
	all.Wait()
}

func stopOn(err error) {
	if err != nil {
		fmt.Fprintln(os.Stderr, "crash:", err)
		os.Exit(1)
	}
}

type crasher struct {
	room   *room
	round  string
	mu     sync.Mutex // of standard output
	serial atomic.Int64
}

func (c *crasher) say(line crashLine) {
	raw, err := json.Marshal(line)
	stopOn(err)
	c.mu.Lock()
	defer c.mu.Unlock()
	_, err = os.Stdout.Write(append(raw, '\n'))
	stopOn(err)
}

// do makes a request and says what was answered.
func (c *crasher) do(request crashRequest) commands.Reply {
	if request.Day > 0 {
		c.releaseOf(request)
		return commands.Reply{}
	}
	c.say(crashLine{Asked: true, Request: request})
	reply := c.room.set.Do(context.Background(), commands.Request{
		Delivery: request.Mark, Community: crashCommunity, Member: request.Member,
		Path: request.Path, Options: request.Options, Time: time.Now(),
	})
	switch reply.Outcome() {
	case commands.Answered:
	case commands.WasFault:
		stopOn(fmt.Errorf("%s of %s: %s", request.Path, request.Member, reply.Sentence()))
	default:
		c.say(crashLine{Refused: true, Request: request})
		return reply
	}
	line := crashLine{Answered: true, Request: request}
	if request.Options["confirm"] != "" {
		_, number, _ := strings.Cut(reply.Title, ", as your sale ")
		var err error
		line.Sale, err = strconv.Atoi(number)
		stopOn(err)
	}
	c.say(line)
	return reply
}

// work is a member who opens a piece and then clocks, notes, shares and
// agrees, without a pause.
func (c *crasher) work(worker int) {
	member := fmt.Sprint("member ", worker)
	mark := func() string { return fmt.Sprintf("r%s-%d-%d", c.round, worker, c.serial.Add(1)) }
	ask := func(path, about string, options map[string]string) commands.Reply {
		m := mark()
		if path == "piece time" || path == "piece clock in" {
			options["stage"] = m
		}
		return c.do(crashRequest{Mark: m, Member: member, Path: path, Options: options, About: about})
	}
	ask("piece clock out", "", map[string]string{}) // of a clock that ran when the last round ended
	for n := 0; ; n++ {
		if n%200 == 0 {
			ask("piece open", "", map[string]string{"name": "piece of " + c.round})
		}
		switch rand.IntN(8) {
		case 0, 1:
			m := mark()
			c.do(crashRequest{Mark: m, Member: member, Path: "piece clock in", Options: map[string]string{"stage": m}})
			ask("piece clock out", m, map[string]string{})
		case 2, 3:
			ask("piece time", "", map[string]string{"worked": "1h30"})
		case 4, 5:
			c.share(member, mark())
		case 6:
			m := mark()
			c.do(crashRequest{Mark: m, Member: "new " + m, Path: "privacy opt-in", Options: map[string]string{"agree": "yes"}})
		case 7:
			ask("settings set", "", map[string]string{"rate": strconv.Itoa(20 + n%30)})
		}
	}
}

// share shares a sale whose price and days nobody else has.
func (c *crasher) share(member, mark string) {
	n := c.serial.Add(1)
	round, _ := strconv.ParseInt(c.round, 10, 64)
	options := map[string]string{
		"price": strconv.FormatInt(100+n%900, 10), "days": strconv.FormatInt(1+(round%25)*39+n/900, 10),
		"category": usualCategories[n%5], "board-feet": "10",
	}
	preview := c.room.set.Do(context.Background(), commands.Request{Delivery: mark + "p", Community: crashCommunity, Member: member,
		Path: "sale share", Options: options, Time: time.Now()})
	if preview.Outcome() != commands.Answered {
		return
	}
	c.do(crashRequest{Mark: mark, Member: member, Path: "sale share", Options: preview.Actions[0].Options,
		About: options["price"] + " in " + options["days"]})
}

// release makes a release for one day after another, and rebuilds the file.
func (c *crasher) release(day int) {
	for n := 0; ; n++ {
		c.releaseOf(crashRequest{Mark: fmt.Sprint("release ", day+n), Day: day + n})
		if n%8 == 7 {
			stopOn(c.room.store.Vacuum(context.Background()))
		}
		time.Sleep(time.Duration(20+rand.IntN(100)) * time.Millisecond)
	}
}

func (c *crasher) releaseOf(request crashRequest) {
	c.say(crashLine{Asked: true, Request: request})
	stopOn(c.room.store.RunRelease(context.Background(), crashCommunity, pool.Day(request.Day), pool.StandardRules()))
	c.say(crashLine{Answered: true, Request: request})
}

// readCrashLines gives the whole lines that came out of the program.
func readCrashLines(from io.Reader, line func(crashLine), ready func()) error {
	lines := bufio.NewReader(from)
	for {
		text, err := lines.ReadBytes('\n')
		if err != nil { // what is left is no whole line, so it was not answered
			return nil
		}
		if string(text) == "ready\n" {
			ready()
			continue
		}
		var one crashLine
		if err := json.Unmarshal(text, &one); err != nil {
			return fmt.Errorf("%q: %w", text, err)
		}
		line(one)
	}
}
