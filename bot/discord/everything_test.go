package discord

import (
	"bytes"
	"fmt"
	"log"
	"os"
	"strings"
	"sync"
	"testing"
)

// everything is what was logged, and every error that Run returned, in all tests of
// this package together.
var everything collection

type collection struct {
	mu   sync.Mutex
	text bytes.Buffer
}

// Write never fails.
func (c *collection) Write(p []byte) (int, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.text.Write(p)
}

// TestMain lets all tests run and then looks through everything they wrote for a
// token: the bot's, an interaction's (which is its webhook's too), and for what
// members typed. The standard logger, to which the library would turn, is read too.
func TestMain(m *testing.M) {
	log.SetOutput(&everything)
	code := m.Run()
	everything.mu.Lock()
	text := everything.text.String()
	everything.mu.Unlock()
	for _, secret := range []string{fakeToken, "for-tests", "interaction-token", secretWord} {
		if i := strings.Index(text, secret); i >= 0 {
			fmt.Printf("FAIL: a secret was written: %q\n", text[max(0, i-200):min(len(text), i+100)])
			code = 1
		}
	}
	if code == 0 && len(text) < 10_000 && !strings.Contains(strings.Join(os.Args, " "), "-test.run") && !testing.Short() {
		fmt.Println("FAIL: hardly anything was written, so nothing was looked through")
		code = 1
	}
	os.Exit(code)
}
