package discord

import (
	"bytes"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strconv"
	"syscall"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/valyala/fasthttp"
	"github.com/valyala/fasthttp/fasthttpproxy"
)

// courier brings the answers: the callbacks and the webhooks' requests, which are
// nearly all there is to send. The token in their own path opens them, so the bot's
// own token never goes along.
//
// The library has one way for every request: it copies a request's head again and
// again and hands it through two goroutines of its connection, which takes three
// times the processor's time of this one. It also keeps a rate-limit bucket for
// every address for ever, each locked for a whole request. There are none here: what
// one interaction used up is nothing to the next, and a 429 says itself how long to
// wait.
type courier struct {
	client *fasthttp.HostClient
	// root is the API's address without a slash at its end.
	root  string
	agent string
	limit time.Duration
}

const (
	// mostCards is what most answers with their headers fit into, in bytes: one write
	// to the system, not two.
	mostCards = 8 << 10
	// mostHeaders is plenty for the platform and what stands before it, in bytes.
	mostHeaders = 16 << 10
	// mostAnswer is far more than a message with all its parts, in bytes.
	mostAnswer = 4 << 20
	// keptIdle is how long a connection is kept that nobody uses.
	keptIdle = 90 * time.Second
)

// newCourier sends over at most parallel connections at the same time, each request
// bounded in time, through the proxy that the environment names. It follows no
// redirect.
func newCourier(to address, agent string, limit time.Duration, parallel int) (*courier, error) {
	secure := to.base.Scheme == "https"
	dialer := fasthttpproxy.Dialer{DialDualStack: true, Timeout: limit, ConnectTimeout: limit}
	dialer.DisableDNSResolution = true // Go's own dialer tries a host's addresses side by side
	dial, err := dialer.GetDialFuncForTLS(true, secure)
	if err != nil {
		return nil, fmt.Errorf("the proxy that the environment names: %w", err)
	}
	host := to.base.Host
	if to.base.Port() == "" {
		host = net.JoinHostPort(to.base.Hostname(), map[bool]string{true: "443", false: "80"}[secure])
	}
	return &courier{root: to.base.String() + to.root, agent: agent, limit: limit,
		client: &fasthttp.HostClient{Addr: host, IsTLS: secure, Dial: dial,
			// Many connections at once need not all begin from nothing.
			TLSConfig: &tls.Config{MinVersion: tls.VersionTLS12, ClientSessionCache: tls.NewLRUClientSessionCache(0)},
			MaxConns:  parallel, MaxConnWaitTimeout: limit,
			MaxIdleConnDuration: keptIdle, ConnPoolStrategy: fasthttp.LIFO, MaxIdemponentCallAttempts: 1,
			ReadTimeout: limit, WriteTimeout: limit, ReadBufferSize: mostHeaders, WriteBufferSize: mostCards,
			MaxResponseBodySize: mostAnswer, DisablePathNormalizing: true, NoDefaultUserAgentHeader: true, SecureErrorLogMessage: true}}, nil
}

// callbackPath is where an interaction is answered first, and webhookPath where its
// answer is changed and followed.
// https://discord.com/developers/docs/interactions/receiving-and-responding
func callbackPath(id, token string) string {
	return "/interactions/" + url.PathEscape(id) + "/" + url.PathEscape(token) + "/callback"
}

func webhookPath(application, token string) string {
	return "/webhooks/" + url.PathEscape(application) + "/" + url.PathEscape(token)
}

// bring makes one request. What the platform says to a success is not looked at;
// what else it says becomes one of the library's errors.
func (c *courier) bring(method, path, contentType string, body []byte) error {
	req, resp := fasthttp.AcquireRequest(), fasthttp.AcquireResponse()
	defer fasthttp.ReleaseRequest(req)
	defer fasthttp.ReleaseResponse(resp)
	req.Header.SetMethod(method)
	req.SetRequestURI(c.root + path)
	req.Header.SetUserAgent(c.agent)
	if len(body) > 0 { // a type without a body is refused
		req.Header.SetContentType(contentType)
		req.SetBodyRaw(body)
	}
	if err := c.client.DoTimeout(req, resp, c.limit); err != nil {
		return lostError{err}
	}
	if code := resp.StatusCode(); code < 200 || code > 299 {
		return refused(code, resp.Body())
	}
	return nil
}

// lostError is a request of which nobody knows whether it arrived.
type lostError struct{ error }

func (e lostError) Unwrap() error { return e.error }

// stale is true where the other side seems to have closed the connection while
// nobody used it: it is most likely that the request was not read.
func stale(err error) bool {
	return errors.Is(err, fasthttp.ErrConnectionClosed) || errors.Is(err, syscall.ECONNRESET) || errors.Is(err, syscall.EPIPE)
}

// refused is an answer that is no success, as the library tells of it.
func refused(code int, body []byte) error {
	if code == http.StatusTooManyRequests {
		limit := &discordgo.TooManyRequests{}
		if err := json.Unmarshal(body, limit); err != nil {
			return err // of the edge before the platform: it names no time to wait
		}
		return &discordgo.RateLimitError{RateLimit: &discordgo.RateLimit{TooManyRequests: limit}}
	}
	status := strconv.Itoa(code) + " " + http.StatusText(code)
	refusal := &discordgo.RESTError{Response: &http.Response{StatusCode: code, Status: status}, ResponseBody: bytes.Clone(body)}
	var said *discordgo.APIErrorMessage
	if json.Unmarshal(body, &said) == nil {
		refusal.Message = said
	}
	return refusal
}
