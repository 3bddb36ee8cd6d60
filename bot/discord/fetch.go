package discord

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"tallystick/commands"
)

// sentFile is a file that a member put to an option: where it lies, and not yet what
// is in it.
type sentFile struct {
	Name string
	Size int64
	URL  string
}

// fileMost is how much of a member's file is read, in bytes: far more than anybody's
// job sheets have.
const fileMost = 8 << 20

// filesAtOnce is how many requests with files are under way at the same time: what is
// in a file is held until its request has been worked out.
const filesAtOnce = 2

// fileHosts are where the platform keeps files.
// https://discord.com/developers/docs/reference#cdn-endpoints
var fileHosts = []string{"cdn.discordapp.com", "media.discordapp.net"}

// fetcher reads members' files from the platform, and from nowhere else. No token
// goes along.
type fetcher struct {
	client *http.Client
	// also is the host of the API that was set: a stand-in keeps its files itself.
	also *url.URL
}

func newFetcher(to address, c Config) fetcher {
	return fetcher{also: to.base, client: &http.Client{Timeout: c.Timing.Request,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

func (f fetcher) trusts(u *url.URL) bool {
	return u.Scheme == "https" && slices.Contains(fileHosts, u.Host) || u.Scheme == f.also.Scheme && u.Host == f.also.Host
}

var errNotFetched = errors.New("the file could not be read")

// read gives the text of a file. Its errors name neither the address nor what is in
// the file.
func (f fetcher) read(ctx context.Context, from sentFile) (string, error) {
	u, err := url.Parse(from.URL)
	if err != nil || !f.trusts(u) {
		return "", errNotFetched
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, u.String(), nil)
	if err != nil {
		return "", errNotFetched
	}
	resp, err := f.client.Do(req)
	if err != nil {
		return "", errNotFetched
	}
	defer func() { _ = resp.Body.Close() }()
	var text strings.Builder // holds the one copy
	text.Grow(int(max(from.Size, 0)))
	read, err := io.Copy(&text, io.LimitReader(resp.Body, fileMost+1))
	if err != nil || resp.StatusCode != http.StatusOK || read > fileMost {
		return "", errNotFetched
	}
	return strings.TrimSpace(text.String()), nil
}

// fetch gives a request with what is in its files in their options. What is wrong with
// one is the member's to put right.
func (d *desk) fetch(ctx context.Context, req commands.Request, files map[string]sentFile) (commands.Request, *commands.Mistake) {
	req.Options = maps.Clone(req.Options)
	for name, file := range files {
		problem, given := "", cut(file.Name, 32)
		if file.Size > fileMost {
			problem = fmt.Sprintf("is larger than the %d MB that I read", fileMost>>20)
		} else if text, err := d.files.read(ctx, file); err != nil {
			problem = "is a file that I could not fetch"
		} else {
			req.Options[name] = text
		}
		if problem != "" {
			return req, &commands.Mistake{Option: name, Given: given, Problem: problem, Try: "the file as I gave it, once more"}
		}
	}
	return req, nil
}
