package discord

import (
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/valyala/fastjson"
)

// What the door lets in.
// https://discord.com/developers/docs/interactions/overview
const (
	// freshFor is how far a signature's time may be from ours, either way.
	freshFor = 5 * time.Minute
	// bodyMost is far more than a form of five full fields.
	bodyMost = 256 << 10
	// headersMost is plenty for what the platform and a proxy before me send.
	headersMost = 16 << 10
	// warnEvery is the least time between two warnings of a clock that is wrong.
	warnEvery = time.Minute
)

// door takes interactions in as signed HTTP requests, where the platform is told
// to bring them instead of sending them over the gateway.
type door struct {
	key  ed25519.PublicKey
	desk *desk
	now  func() time.Time

	mu     sync.Mutex
	warned time.Time // of a clock that is wrong
}

// parsePublicKey reads the application's public key as the portal shows it.
func parsePublicKey(text string) (ed25519.PublicKey, error) {
	raw, err := hex.DecodeString(strings.TrimSpace(text))
	if err != nil || len(raw) != ed25519.PublicKeySize {
		return nil, errors.New("the public key is not 64 hexadecimal digits: copy it from the General Information page of the developer portal")
	}
	return raw, nil
}

// listenAddress puts the loopback address where none is named: what listens is
// meant to stand behind a proxy that holds the certificate.
func listenAddress(text string) (string, error) {
	whole := strings.TrimSpace(text)
	if !strings.Contains(whole, ":") {
		whole = ":" + whole
	}
	host, port, err := net.SplitHostPort(whole)
	if n, bad := strconv.ParseUint(port, 10, 16); err != nil || bad != nil || n > 65535 {
		return "", fmt.Errorf("%q is not an address to listen on; try 127.0.0.1:8787", cut(text, 60))
	}
	return net.JoinHostPort(orDefault(host, "127.0.0.1"), port), nil
}

// CheckDoor tells, in one sentence, why interactions cannot be received at an
// address with a key; nil when they can.
func CheckDoor(address, key string) error {
	if _, err := listenAddress(address); err != nil {
		return err
	}
	_, err := parsePublicKey(key)
	return err
}

// ServeHTTP answers one interaction. Whatever is not signed, and signed lately, is
// told nothing but that.
func (d *door) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	arrived := d.now()
	if r.Method != http.MethodPost {
		w.Header().Set("Allow", http.MethodPost)
		refuse(w, http.StatusMethodNotAllowed)
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, bodyMost))
	if _, large := errors.AsType[*http.MaxBytesError](err); large {
		refuse(w, http.StatusRequestEntityTooLarge)
		return
	}
	if err != nil {
		refuse(w, http.StatusBadRequest)
		return
	}
	signed, ok := d.signed(r.Header, body)
	if ok && arrived.Sub(signed).Abs() > freshFor {
		d.mistimed(arrived, signed)
		ok = false
	}
	if !ok {
		refuse(w, http.StatusUnauthorized)
		return
	}
	if fastjson.GetInt(body, "type") == int(discordgo.InteractionPing) {
		write(w, "application/json", []byte(`{"type":1}`))
		return
	}
	a, problem := read(body, arrived)
	if problem != "" {
		d.desk.config.Log.Warn("interaction dropped", "reason", problem)
		refuse(w, http.StatusBadRequest)
		return
	}
	x := newExchange(d.desk, a, arrived)
	x.inline = newInline()
	go d.desk.receiveHTTP(x)
	x.inline.serve(w, arrived.Add(ackLimit))
}

// signed checks the platform's signature over the time and the body, and gives the
// time.
func (d *door) signed(header http.Header, body []byte) (at time.Time, ok bool) {
	stamp := header.Get("X-Signature-Timestamp")
	seconds, err := strconv.ParseInt(stamp, 10, 64)
	if err != nil {
		return at, false
	}
	signature, err := hex.DecodeString(header.Get("X-Signature-Ed25519"))
	if err != nil || len(signature) != ed25519.SignatureSize {
		return at, false
	}
	return time.Unix(seconds, 0), ed25519.Verify(d.key, append([]byte(stamp), body...), signature)
}

// mistimed counts a request that the platform did sign, at a time too far from ours,
// and warns, seldom: somebody may bring one old request again and again.
func (d *door) mistimed(arrived, signed time.Time) {
	config := d.desk.config
	config.Status.mistimed.Add(1)
	d.mu.Lock()
	due := d.warned.IsZero() || arrived.Sub(d.warned).Abs() >= warnEvery
	if due {
		d.warned = arrived
	}
	d.mu.Unlock()
	if due {
		config.Log.Warn("interaction refused: it was signed too far from this machine's clock; set the clock",
			"minutes", int64(signed.Sub(arrived).Round(time.Minute)/time.Minute))
	}
}

// receiveHTTP hands on what the door took in. A delivery that comes twice is asked
// twice, so that it gets its answer again; the commands see to it by its id that it
// has one effect.
func (d *desk) receiveHTTP(x *exchange) {
	defer func() {
		if p := recover(); p != nil {
			d.config.Log.Error("panic on arrival", "cause", p)
		}
	}()
	d.take(x)
}

func refuse(w http.ResponseWriter, status int) { http.Error(w, http.StatusText(status), status) }

func write(w http.ResponseWriter, contentType string, body []byte) error {
	w.Header().Set("Content-Type", contentType)
	w.Header().Set("Content-Length", strconv.Itoa(len(body)))
	if _, err := w.Write(body); err != nil {
		return err
	}
	return http.NewResponseController(w).Flush()
}

// inline carries an acknowledgement to the request that waits for it.
type inline struct {
	body chan []byte
	sent chan error
	// gone is closed when nobody waits any more.
	gone chan struct{}
}

func newInline() *inline {
	return &inline{body: make(chan []byte), sent: make(chan error, 1), gone: make(chan struct{})}
}

var errNobodyWaits = errors.New("the request that brought it waits no more")

// say answers the request and returns when the answer is on its way.
func (l *inline) say(body callback) error {
	encoded, err := json.Marshal(body)
	if err != nil {
		return err
	}
	select {
	case l.body <- encoded:
		return <-l.sent
	case <-l.gone:
		return errNobodyWaits
	}
}

// serve waits for the acknowledgement and writes it.
func (l *inline) serve(w http.ResponseWriter, until time.Time) {
	defer close(l.gone)
	timer := time.NewTimer(time.Until(until))
	defer timer.Stop()
	select {
	case body := <-l.body:
		l.sent <- write(w, "application/json", body)
	case <-timer.C:
		refuse(w, http.StatusServiceUnavailable)
	}
}

// listen serves the door until ctx ends, then lets the requests under way finish.
func (d *door) listen(ctx context.Context, address string) error {
	listener, err := new(net.ListenConfig).Listen(ctx, "tcp", address)
	if err != nil {
		if ctx.Err() != nil {
			return nil
		}
		return fmt.Errorf("listening for interactions: %w", err)
	}
	config := d.desk.config
	if ip, ok := listener.Addr().(*net.TCPAddr); ok && !ip.IP.IsLoopback() {
		config.Log.Warn("interactions are received beyond this machine: a proxy with a certificate must stand before me", "address", listener.Addr())
	}
	server := &http.Server{Handler: d, MaxHeaderBytes: headersMost, ErrorLog: slog.NewLogLogger(config.Log.Handler(), slog.LevelDebug),
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 15 * time.Second, IdleTimeout: 2 * time.Minute}
	config.Log.Info("listening for interactions", "address", listener.Addr())
	config.Status.set(0, true)
	defer config.Status.set(0, false)
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(listener) }()
	select {
	case err := <-ended:
		return fmt.Errorf("receiving interactions: %w", err)
	case <-ctx.Done():
	}
	d.desk.crew.close()
	last, cancel := context.WithTimeout(context.Background(), config.Timing.Drain)
	defer cancel()
	if err := server.Shutdown(last); err != nil {
		_ = server.Close()
	}
	<-ended
	return nil
}
