package discord

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"log/slog"
	"net"
	"strconv"
	"testing"

	"github.com/bwmarrin/discordgo"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// fullCard is an answer with about as much in it as a price has.
func fullCard() commands.Reply {
	figure := func(label, text string) commands.Figure { return commands.Figure{Label: label, Text: text} }
	reply := commands.Reply{Title: "Price of one bench",
		Figures: []commands.Figure{figure("Break-even", "$128.94"), figure("Target price", "$495.83 (rounded up)"), figure("Asking price", "$563.44"), figure("Left at the asking price", "$421.90, $29.61 an hour")},
		Tables: []commands.Table{{Title: "What each price pays", Columns: []string{"Price", "Left", "An hour"},
			Rows: [][]string{{"$128.94", "$0.00", "$0.00"}, {"$310.00", "$175.81", "$12.34"}, {"$495.83", "$356.25", "$25.00"}, {"$563.44", "$421.90", "$29.61"}}}},
		Notes: []string{"Fees of 2.9 % and $0.30 are taken from each price.", "The asking price leaves the target after 12 % of haggle."},
		Actions: []commands.Action{{Label: "Try another price", Path: "price", Options: map[string]string{"hours": "14.25", "materials": "124.90", "rate": "25"}, Asks: true},
			{Label: "Keep it as a piece", Path: "piece open", Options: map[string]string{"rate": "25"}, Asks: true}},
		Picture: commands.NewPicture("prices.png", "bars of prices", func() ([]byte, error) { return []byte("the picture"), nil })}
	reply.Picture.Again = &commands.Action{Label: "Show the picture", Path: "price", Options: map[string]string{"hours": "14.25", "materials": "124.90", "rate": "25"}}
	return reply
}

// thanks answers every request alike and keeps nothing: what is measured beside it is
// ours. It is told of each answer.
func thanks(b *testing.B) (address string, answered chan struct{}) {
	listener, err := new(net.ListenConfig).Listen(b.Context(), "tcp", "127.0.0.1:0")
	require.NoError(b, err)
	b.Cleanup(func() { _ = listener.Close() })
	answered = make(chan struct{}, 1)
	go func() {
		for {
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			go func() {
				defer func() { _ = conn.Close() }()
				for in := bufio.NewReaderSize(conn, 16<<10); ; answered <- struct{}{} {
					if !skipRequest(in) {
						return
					}
					if _, err := io.WriteString(conn, "HTTP/1.1 204 No Content\r\n\r\n"); err != nil {
						return
					}
				}
			}()
		}
	}()
	return "http://" + listener.Addr().String(), answered
}

func skipRequest(in *bufio.Reader) bool {
	length := 0
	for {
		line, err := in.ReadSlice('\n')
		if err != nil {
			return false
		}
		if line = bytes.TrimSpace(line); len(line) == 0 {
			_, err := in.Discard(length)
			return err == nil
		}
		if value, ok := bytes.CutPrefix(line, []byte("Content-Length: ")); ok {
			for _, digit := range value {
				length = 10*length + int(digit-'0')
			}
		}
	}
}

// go test ./bot/discord -run '^$' -bench Way -benchmem
//
// BenchmarkAnAnswersWay is what lies between an event as the library hands it on and
// its answer at the platform: everything but the command itself. The platform is a
// loop that answers every request alike.
func BenchmarkAnAnswersWay(b *testing.B) {
	address, answered := thanks(b)
	reply := fullCard()
	set, err := commands.NewSet([]commands.Command{saying("price", func(context.Context, commands.Request) (commands.Reply, error) { return reply, nil },
		word("hours", false), word("materials", false), word("rate", false), word("fee", false))},
		slog.New(slog.NewTextHandler(io.Discard, nil)), func() string { return "F" })
	require.NoError(b, err)
	d := benchDesk(b, Config{Token: fakeToken, API: address, Set: set})
	var serial int64
	next := func() *discordgo.Event {
		serial++
		id := strconv.FormatInt(serial, 10)
		return &discordgo.Event{Type: interactionEvent, RawData: []byte(`{"id":"` + id + `","application_id":"` + fakeApplication + `","type":2,"token":"interaction-token-` + id +
			`","guild_id":"4001","locale":"en-GB","member":{"permissions":"0","user":{"id":"3001","username":"ann"}},"data":{"id":"7","name":"price","type":1,"options":[` +
			`{"name":"hours","type":3,"value":"14.25"},{"name":"materials","type":3,"value":"124.90"},{"name":"rate","type":3,"value":"25"},{"name":"fee","type":3,"value":"2.9%"}]}}`)}
	}
	b.ReportAllocs()
	for b.Loop() {
		d.receive(next())
		<-answered
	}
}

// BenchmarkLayingOut is the part of it that makes a reply into a body.
func BenchmarkLayingOut(b *testing.B) {
	reply, req := fullCard(), commands.Request{Community: "4001", Member: "3001", Path: "price"}
	var room bytes.Buffer
	b.ReportAllocs()
	for b.Loop() {
		picture, err := draw(reply.Picture, req, false)
		require.NoError(b, err)
		pages := renderFor(reply, req, commands.Command{Path: "price"}, picture)
		room.Reset()
		_, _, err = parcel(callback{discordgo.InteractionResponseChannelMessageWithSource, pages[0]}, &room)
		require.NoError(b, err)
	}
}

func benchDesk(b *testing.B, c Config) *desk {
	c, err := c.checked()
	require.NoError(b, err)
	c.Log = slog.New(redacting{slog.NewTextHandler(io.Discard, nil), redactor{c.Token}})
	to, err := parseAddress(c.API)
	require.NoError(b, err)
	rest, err := newAPI(c, to, newClient(to, c.Timing.Request), 4)
	require.NoError(b, err)
	d := newDesk(c, rest, newFetcher(to, c))
	b.Cleanup(func() {
		d.crew.close()
		d.finish(c.Timing.Drain)
	})
	return d
}
