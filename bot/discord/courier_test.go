package discord

import (
	"bufio"
	"crypto/x509"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/valyala/fasthttp"
)

// bringing is an api whose requests go to f.
func bringing(t *testing.T, f *fake, limit time.Duration) *api {
	to, err := parseAddress(f.server.URL)
	require.NoError(t, err)
	c, err := Config{Token: fakeToken, Set: emptySet(t), Timing: Timing{Request: limit}}.checked()
	require.NoError(t, err)
	rest, err := newAPI(c, to, newClient(to, limit), 4)
	require.NoError(t, err)
	return rest
}

// The library keeps a bucket of 481 bytes for every address it ever sent to, and
// would wait out in the next request what the answer to one says is used up.
func TestManyInteractionsDoNotFillTheMemory(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	rest := bringing(t, f, patience)
	d := &desk{config: Config{}, api: rest}
	var addresses []string
	for i := range 200 {
		e := asked("length", nil)
		x := newExchange(d, ask{id: fmt.Sprint(i), application: fakeApplication, token: e["token"].(string)}, time.Now())
		x.turnAway()
		assert.Equal(t, callbackPath(x.ask.id, x.ask.token), f.next().Path)
		addresses = append(addresses, discordgo.EndpointInteractionResponse(x.ask.id, x.ask.token))
	}
	for _, address := range addresses {
		assert.Equal(t, 1, rest.session.Ratelimiter.GetBucket(address).Remaining, "a bucket that was used has none remaining")
	}
	assert.Equal(t, 1, rest.courier.client.ConnsCount(), "all over one connection")
}

func TestAConnectionThatWasClosedWhileNobodyUsedItLosesNoAnswer(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	rest := bringing(t, f, patience)
	rest.pause = time.Hour // whoever waits once has waited too long
	body := sentence("hello")
	for i := range 20 {
		path := callbackPath(fmt.Sprint(i), "interaction-token-x")
		require.NoError(t, rest.bring(http.MethodPost, path, callback{Type: 4, Data: body}, time.Now().Add(ackLimit)))
		assert.Equal(t, path, f.next().Path)
		f.quiet()
		f.server.CloseClientConnections()
	}
}

func TestAnswersTravelEncryptedToWhomeverTheCertificateNamesAlone(t *testing.T) {
	t.Parallel()
	server := httptest.NewUnstartedServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		assert.Equal(t, "/api/v9/webhooks/1/interaction-token-x/messages/@original", r.URL.Path)
		w.WriteHeader(http.StatusNoContent)
	}))
	server.Config.ErrorLog = log.New(io.Discard, "", 0)
	server.StartTLS()
	t.Cleanup(server.Close)
	rest := bringing(t, &fake{t: t, server: server}, patience)
	path := webhookPath("1", "interaction-token-x") + "/messages/@original"
	err := rest.courier.bring(http.MethodPatch, path, "application/json", []byte("{}"))
	require.ErrorContains(t, err, "certificate")

	trusted := bringing(t, &fake{t: t, server: server}, patience)
	trusted.courier.client.TLSConfig.RootCAs = x509.NewCertPool()
	trusted.courier.client.TLSConfig.RootCAs.AddCert(server.Certificate())
	for range 3 {
		require.NoError(t, trusted.courier.bring(http.MethodPatch, path, "application/json", []byte("{}")))
	}
	assert.Equal(t, 1, trusted.courier.client.ConnsCount())
}

func TestAPlatformThatClosesWithoutAWordIsGivenUp(t *testing.T) {
	t.Parallel()
	var asked atomic.Int64
	server := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {
		asked.Add(1)
		panic(http.ErrAbortHandler)
	}))
	t.Cleanup(server.Close)
	rest := bringing(t, &fake{t: t, server: server}, patience)
	rest.pause = time.Millisecond
	err := rest.bring(http.MethodPost, callbackPath("1", "interaction-token-x"), callback{Type: 6}, time.Now().Add(patience))
	require.ErrorAs(t, err, &lostError{})
	assert.EqualValues(t, tries, asked.Load())
}

func TestAPlatformThatDoesNotAnswerIsWaitedForNoLongerThanALimit(t *testing.T) {
	t.Parallel()
	ended := make(chan struct{})
	server := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { <-ended }))
	t.Cleanup(server.Close)
	t.Cleanup(func() { close(ended) })
	rest := bringing(t, &fake{t: t, server: server}, 50*time.Millisecond)
	begun := time.Now()
	err := rest.courier.bring(http.MethodPost, callbackPath("1", "interaction-token-x"), "", nil)
	require.ErrorIs(t, err, fasthttp.ErrTimeout)
	_, again := worthRepeating(err)
	assert.True(t, again)
	assert.Less(t, time.Since(begun), patience)
}

func TestAnIDOrTokenCannotLeadElsewhere(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "/interactions/1%2F..%2F2/a%3Fb%0D%0Ac/callback", callbackPath("1/../2", "a?b\r\nc"))
	assert.Equal(t, "/webhooks/1%20/t%23", webhookPath("1 ", "t#"))
}

// It changes the environment, so it does not run beside others.
func TestAnswersGoThroughTheProxyOfTheEnvironment(t *testing.T) {
	listener, err := new(net.ListenConfig).Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = listener.Close() })
	lines := make(chan string, 2)
	go func() {
		conn, err := listener.Accept()
		if err != nil {
			return
		}
		defer func() { _ = conn.Close() }()
		in := bufio.NewReader(conn)
		for _, said := range []string{"HTTP/1.1 200 Connected\r\n\r\n", "HTTP/1.1 204 No Content\r\n\r\n"} {
			req, err := http.ReadRequest(in)
			if err != nil {
				return
			}
			lines <- req.Method + " " + req.Host
			_, _ = io.WriteString(conn, said)
		}
	}()
	t.Setenv("HTTP_PROXY", "http://"+listener.Addr().String())
	to, err := parseAddress("http://chat.example.org")
	require.NoError(t, err)
	c, err := newCourier(to, "agent", patience, 1)
	require.NoError(t, err)
	t.Cleanup(c.client.CloseIdleConnections)
	require.NoError(t, c.bring(http.MethodDelete, webhookPath("1", "interaction-token-x"), "", nil))
	assert.Equal(t, "CONNECT chat.example.org:80", <-lines)
	assert.Equal(t, "DELETE chat.example.org", <-lines)

	t.Setenv("HTTP_PROXY", "gopher://127.0.0.1:1")
	_, err = newCourier(to, "agent", patience, 1)
	require.Error(t, err)
	assert.True(t, strings.HasPrefix(err.Error(), "the proxy that the environment names: "))
}
