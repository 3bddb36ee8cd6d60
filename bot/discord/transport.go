package discord

import (
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"
)

// mostCards is what most answers with their headers fit into, in bytes.
const mostCards = 8 << 10

// newClient makes the one HTTP client of a connection: bounded in time, never
// following a redirect (the token stays with the API's host), and keeping enough
// idle connections for all workers.
func newClient(to address, timeout time.Duration, parallel int) *http.Client {
	wire := http.DefaultTransport.(*http.Transport).Clone()
	wire.MaxIdleConnsPerHost = parallel
	wire.MaxIdleConns = 2 * parallel
	wire.WriteBufferSize = mostCards // one write to the system, not two
	return &http.Client{
		Timeout:       timeout,
		Transport:     rewrite{to: to, next: plainly{wire}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

// rewrite sends what the library addresses to the platform to the configured
// address, and nothing else anywhere.
type rewrite struct {
	to   address
	next http.RoundTripper
}

var errElsewhere = errors.New("a request to an address outside the API was held back")

func (r rewrite) RoundTrip(req *http.Request) (*http.Response, error) {
	rest, ok := strings.CutPrefix(req.URL.String(), discordgo.EndpointAPI)
	if !ok {
		if req.Body != nil {
			_ = req.Body.Close()
		}
		return nil, errElsewhere
	}
	out := req.Clone(req.Context())
	there, err := r.to.base.Parse(r.to.root + "/" + rest)
	if err != nil {
		return nil, err
	}
	out.URL, out.Host = there, there.Host
	// These routes are opened by the token in their own path. With the bot's token
	// they count against its global limit, and the token travels for nothing.
	if strings.HasPrefix(rest, "interactions/") || strings.HasPrefix(rest, "webhooks/") {
		out.Header.Del("Authorization")
	}
	return r.next.RoundTrip(out)
}

// plainly hides from the library what it would act on by itself, without regard
// to any context. Rate-limit headers: it would sleep on them, and a bucket name
// here serves one interaction after another, which do not share their limits; a
// 429 still comes through as an error with its waiting time. A 502: it would
// repeat it at once and then forget the status. api.send heeds both.
type plainly struct{ next http.RoundTripper }

func (p plainly) RoundTrip(req *http.Request) (*http.Response, error) {
	resp, err := p.next.RoundTrip(req)
	if err != nil {
		return nil, err
	}
	for name := range resp.Header {
		if strings.HasPrefix(name, "X-Ratelimit-") {
			delete(resp.Header, name)
		}
	}
	if resp.StatusCode == http.StatusBadGateway {
		resp.StatusCode = http.StatusServiceUnavailable
	}
	return resp, nil
}
