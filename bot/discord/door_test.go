package discord

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/commands"
)

// signing is the platform's side of the HTTP door.
type signing struct {
	*running
	address string
	key     ed25519.PrivateKey
}

// openDoor starts a bot that receives interactions as signed requests.
func openDoor(t *testing.T, f *fake, change func(*Config), list ...commands.Command) *signing {
	t.Helper()
	public, private, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	r := start(t, f, func(c *Config) {
		c.Listen, c.PublicKey = "0", hex.EncodeToString(public)
		if change != nil {
			change(c)
		}
	}, list...)
	r.waitForLog("listening for interactions")
	found := regexp.MustCompile(`address=(127\.0\.0\.1:\d+)`).FindStringSubmatch(r.log.String())
	require.NotNil(t, found, "without a host it listens on loopback")
	return &signing{r, found[1], private}
}

// request is a signed request.
func (s *signing) request(body []byte, at time.Time) *http.Request {
	req, err := http.NewRequestWithContext(context.Background(), http.MethodPost, "http://"+s.address+"/any/path", bytes.NewReader(body))
	require.NoError(s.t, err)
	stamp := fmt.Sprint(at.Unix())
	req.Header.Set("X-Signature-Timestamp", stamp)
	req.Header.Set("X-Signature-Ed25519", hex.EncodeToString(ed25519.Sign(s.key, append([]byte(stamp), body...))))
	return req
}

func (s *signing) send(req *http.Request) (int, []byte) {
	s.t.Helper()
	resp, err := http.DefaultClient.Do(req)
	require.NoError(s.t, err)
	defer func() { _ = resp.Body.Close() }()
	body, err := io.ReadAll(resp.Body)
	require.NoError(s.t, err)
	return resp.StatusCode, body
}

// bring brings an interaction and gives the answer as a call.
func (s *signing) bring(e event) call {
	s.t.Helper()
	raw, err := json.Marshal(e)
	require.NoError(s.t, err)
	status, body := s.send(s.request(raw, time.Now()))
	require.Equal(s.t, http.StatusOK, status, "%s", body)
	c := call{Method: http.MethodPost, Path: e.callback()}
	require.NoError(s.t, json.Unmarshal(body, &c.Body))
	s.checkMessage(c, body)
	return c
}

func TestTheDoorAnswersThePlatformsPing(t *testing.T) {
	t.Parallel()
	s := openDoor(t, newFake(t), nil, length())
	status, body := s.send(s.request([]byte(`{"type":1,"id":"1","application_id":"2","token":"t"}`), time.Now()))
	assert.Equal(t, http.StatusOK, status)
	assert.JSONEq(t, `{"type":1}`, string(body))
	s.waitForLog("commands registered")
}

func TestTheDoorLetsNothingInThatIsNotSignedAndFresh(t *testing.T) {
	t.Parallel()
	s := openDoor(t, newFake(t), nil, length())
	raw, err := json.Marshal(asked("length", nil))
	require.NoError(t, err)
	change := func(how func(*http.Request)) *http.Request {
		req := s.request(raw, time.Now())
		how(req)
		return req
	}
	_, stranger, err := ed25519.GenerateKey(nil)
	require.NoError(t, err)
	stamp := fmt.Sprint(time.Now().Unix())
	for name, c := range map[string]struct {
		req  *http.Request
		want int
	}{
		"no signature":        {change(func(r *http.Request) { r.Header.Del("X-Signature-Ed25519") }), http.StatusUnauthorized},
		"no time":             {change(func(r *http.Request) { r.Header.Del("X-Signature-Timestamp") }), http.StatusUnauthorized},
		"a time that is none": {change(func(r *http.Request) { r.Header.Set("X-Signature-Timestamp", "noon") }), http.StatusUnauthorized},
		"another time":        {change(func(r *http.Request) { r.Header.Set("X-Signature-Timestamp", fmt.Sprint(time.Now().Unix()-1)) }), http.StatusUnauthorized},
		"no hexadecimal":      {change(func(r *http.Request) { r.Header.Set("X-Signature-Ed25519", "signed, honestly") }), http.StatusUnauthorized},
		"a short signature":   {change(func(r *http.Request) { r.Header.Set("X-Signature-Ed25519", "00ff") }), http.StatusUnauthorized},
		"another's signature": {change(func(r *http.Request) {
			r.Header.Set("X-Signature-Ed25519", hex.EncodeToString(ed25519.Sign(stranger, append([]byte(stamp), raw...))))
		}), http.StatusUnauthorized},
		"another body": {change(func(r *http.Request) {
			r.Body = io.NopCloser(strings.NewReader(strings.Replace(string(raw), "3001", "3002", 1)))
			r.ContentLength = int64(len(raw))
		}), http.StatusUnauthorized},
		"six minutes old":         {s.request(raw, time.Now().Add(-6*time.Minute)), http.StatusUnauthorized},
		"from six minutes on":     {s.request(raw, time.Now().Add(6*time.Minute)), http.StatusUnauthorized},
		"far too large":           {s.request(bytes.Repeat([]byte("x"), bodyMost+1), time.Now()), http.StatusRequestEntityTooLarge},
		"not to be read":          {s.request([]byte(`{"id":7}`), time.Now()), http.StatusBadRequest},
		"nothing":                 {s.request(nil, time.Now()), http.StatusBadRequest},
		"null":                    {s.request([]byte("null"), time.Now()), http.StatusBadRequest},
		"of a kind I do not know": {s.request([]byte(`{"id":"1","type":77,"token":"t","application_id":"2","user":{"id":"3"},"data":{}}`), time.Now()), http.StatusBadRequest},
		"not brought":             {change(func(r *http.Request) { r.Method = http.MethodGet }), http.StatusMethodNotAllowed},
	} {
		got, body := s.send(c.req)
		assert.Equal(t, c.want, got, name)
		assert.Equal(t, http.StatusText(c.want)+"\n", string(body), "%s is told nothing more", name)
	}
	title, _ := s.bring(asked("length", nil)).message()
	assert.Equal(t, "x", title)
}

func TestARequestSignedAtAnotherTimeIsCountedAndTheClockIsBlamedOnceAMinute(t *testing.T) {
	t.Parallel()
	status := &Status{}
	s := openDoor(t, newFake(t), func(c *Config) { c.Status = status }, length())
	raw, err := json.Marshal(asked("length", nil))
	require.NoError(t, err)
	for _, off := range []time.Duration{-7 * time.Minute, -7 * time.Minute, 20 * time.Minute} {
		got, _ := s.send(s.request(raw, time.Now().Add(off)))
		assert.Equal(t, http.StatusUnauthorized, got)
	}
	forged := s.request(raw, time.Now().Add(-7*time.Minute))
	forged.Header.Set("X-Signature-Ed25519", strings.Repeat("00", ed25519.SignatureSize))
	got, _ := s.send(forged)
	assert.Equal(t, http.StatusUnauthorized, got)
	assert.EqualValues(t, 3, status.Mistimed(), "what nobody signed says nothing of the clock")
	warned := regexp.MustCompile(`(?m)^.* level=WARN .*$`).FindAllString(s.log.String(), -1)
	require.Len(t, warned, 1)
	assert.Regexp(t, `^time=\S+ level=WARN msg="interaction refused: it was signed too far from this machine's clock; set the clock" minutes=-7$`, warned[0], "it names nobody")
}

func TestTheClockIsBlamedAgainAfterAMinute(t *testing.T) {
	t.Parallel()
	var log bytes.Buffer
	d := &door{desk: &desk{config: Config{Status: &Status{}, Log: slog.New(slog.NewTextHandler(&log, nil))}}}
	begin := time.Date(2026, time.March, 2, 9, 0, 0, 0, time.UTC)
	for _, after := range []time.Duration{0, time.Second, warnEvery - 1, warnEvery, warnEvery + time.Second} {
		d.mistimed(begin.Add(after), begin.Add(after-time.Hour))
	}
	assert.Equal(t, 2, strings.Count(log.String(), "minutes=-60"))
}

func TestTheDoorAnswersCommandsCompletionsFormsAndPresses(t *testing.T) {
	t.Parallel()
	priced := asking("price", always(commands.Reply{Title: "Price", Private: true}), "hours")
	priced.Options = append(priced.Options, species(func(_ context.Context, _ commands.Request, typed string) ([]commands.Choice, error) {
		return []commands.Choice{{Value: typed + "h"}}, nil
	}))
	s := openDoor(t, newFake(t), nil, priced, stepping(true))
	c := s.bring(completing("price", "species", "as", map[string]string{"hours": "8"}))
	assert.Equal(t, []any{map[string]any{"name": "ash", "value": "ash"}}, c.Body["data"].(map[string]any)["choices"])
	id, _ := s.bring(asked("price", nil)).opened(t)
	c = s.bring(sentIn(id, map[string]string{"hours": "8"}, nil))
	assert.True(t, c.hidden())
	card := s.bring(asked("step", map[string]string{"at": "4"}))
	c = s.bring(pressed(card.buttons()["More"]).hide())
	assert.Equal(t, 7.0, c.Body["type"])
	s.quiet()
}

func TestAFileGoesBehindTheDoorsAcknowledgement(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.delivered = failing(isEdit, answer{status: http.StatusNotFound, body: `{"message":"Unknown Webhook","code":10015}`})
	s := openDoor(t, f, nil, stepping(true))
	e := asked("step", map[string]string{"at": "1"})
	c := s.bring(e)
	assert.Equal(t, 5.0, c.Body["type"])
	assert.True(t, c.hidden())
	first, second := s.next(), s.next()
	assert.Equal(t, e.original(), first.Path)
	assert.Equal(t, first.Body, second.Body, "the platform may need a moment to know its own answer")
	assert.NotEmpty(t, second.Files)

	e = pressed(encoded(t, "step", "at", "1")).hide()
	assert.Equal(t, map[string]any{"type": 6.0}, s.bring(e).Body)
	c = s.next()
	assert.Equal(t, e.original(), c.Path)
	assert.NotEmpty(t, c.Files)
}

func encoded(t *testing.T, path, name, value string) string {
	id, fits := encodeAction(commands.Action{Path: path, Options: map[string]string{name: value}}, "")
	require.True(t, fits)
	return id
}

func TestASlowAnswerAtTheDoorIsDeferredAndThenPutInItsPlace(t *testing.T) {
	t.Parallel()
	release := make(chan struct{})
	s := openDoor(t, newFake(t), soon, saying("slow", slowly(release, commands.Reply{Title: "done"})))
	e := asked("slow", nil)
	assert.Equal(t, 5.0, s.bring(e).Body["type"])
	close(release)
	c := s.next()
	assert.Equal(t, e.original(), c.Path)
	title, _ := c.message()
	assert.Equal(t, "done", title)
}

func TestADeliveryBroughtTwiceGetsItsAnswerTwice(t *testing.T) {
	t.Parallel()
	s := openDoor(t, newFake(t), nil, length())
	e := asked("length", nil)
	assert.Equal(t, s.bring(e).Body, s.bring(e).Body)
}

func TestTheDoorFinishesItsWorkWhenItIsClosed(t *testing.T) {
	t.Parallel()
	release, running := make(chan struct{}), make(chan struct{})
	s := openDoor(t, newFake(t), nil, saying("slow", func(context.Context, commands.Request) (commands.Reply, error) {
		close(running)
		<-release
		return commands.Reply{Title: "done"}, nil
	}))
	raw, err := json.Marshal(asked("slow", nil))
	require.NoError(t, err)
	req := s.request(raw, time.Now())
	answered := make(chan string, 1)
	go func() {
		resp, err := http.DefaultClient.Do(req)
		if !assert.NoError(t, err) {
			answered <- ""
			return
		}
		defer func() { _ = resp.Body.Close() }()
		body, _ := io.ReadAll(resp.Body)
		answered <- string(body)
	}()
	<-running
	s.cancel()
	close(release)
	require.NoError(t, s.stopped())
	assert.Contains(t, <-answered, "done")
}

func TestADoorThatCannotBeOpenedIsSaid(t *testing.T) {
	t.Parallel()
	key := strings.Repeat("ab", 32)
	for address, want := range map[string]string{
		"tomorrow":        `"tomorrow`,
		"127.0.0.1:x":     "is not an address to listen on; try 127.0.0.1:8787",
		"127.0.0.1:70000": "is not an address to listen on",
	} {
		require.ErrorContains(t, CheckDoor(address, key), want)
	}
	for _, address := range []string{"8787", ":8787", "127.0.0.1:8787", "[::1]:0"} {
		require.NoError(t, CheckDoor(address, key))
	}
	require.ErrorContains(t, CheckDoor("8787", key[1:]), "the public key is not 64 hexadecimal digits")
	s := openDoor(t, newFake(t), nil, length())
	err := Run(context.Background(), Config{Token: fakeToken, API: s.server.URL, Set: emptySet(t), Listen: s.address, PublicKey: key})
	require.ErrorContains(t, err, "listening for interactions")
}
