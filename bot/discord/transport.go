package discord

import (
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/bwmarrin/discordgo"
)

// newClient makes the HTTP client of what is asked with the bot's token, the courier
// brings the rest: bounded in time and never following a redirect (the token stays
// with the API's host).
func newClient(to address, timeout time.Duration) *http.Client {
	return &http.Client{
		Timeout:       timeout,
		Transport:     rewrite{to: to, next: plainly{http.DefaultTransport.(*http.Transport).Clone()}},
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
	return r.next.RoundTrip(out)
}

// plainly hides from the library what it would act on by itself, without regard
// to any context. Rate-limit headers: it would sleep on them; a 429 still comes
// through as an error with its waiting time. A 502: it would repeat it at once and
// then forget the status. api.repeat heeds both.
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
