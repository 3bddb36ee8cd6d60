package discord

import (
	"fmt"
	"net"
	"net/url"
	"path"
	"regexp"
	"strings"
)

// DefaultAPI is the platform's own API address.
const DefaultAPI = "https://discord.com/api"

var versionAtEnd = regexp.MustCompile(`/v(\d{1,3})$`)

// address says where the API is.
type address struct {
	// base is scheme and host, without a path.
	base *url.URL
	// root is the path that stands for the library's /api/v9, without a slash at its end.
	root string
	// version is the API version the address names, or "".
	version string
}

// CheckAPI tells, in one sentence, why an address cannot be the API's; nil when it can.
func CheckAPI(text string) error {
	_, err := parseAddress(text)
	return err
}

func parseAddress(text string) (address, error) {
	text = orDefault(strings.TrimSpace(text), DefaultAPI)
	refuse := func(problem string) (address, error) {
		return address{}, fmt.Errorf("%q %s; try %s", cut(text, 60), problem, DefaultAPI)
	}
	u, err := url.Parse(text)
	if err == nil && u.User != nil { // before anything that repeats the address
		text = u.Redacted()
		return refuse("holds a name or a password, which an API address must not")
	}
	switch {
	case err != nil:
		text = strings.ReplaceAll(text, "@", " at ")
		return refuse("is not an address")
	case u.Scheme != "https" && u.Scheme != "http":
		return refuse("is not an http or https address")
	case u.Hostname() == "":
		return refuse("names no host")
	case u.RawQuery != "" || u.ForceQuery || u.Fragment != "":
		return refuse("has something after its path")
	}
	a := address{base: &url.URL{Scheme: u.Scheme, Host: u.Host}}
	switch p := strings.TrimRight(path.Clean("/"+u.Path), "/"); {
	case p == "":
		a.root = "/api/v9"
	case versionAtEnd.MatchString(p):
		a.root, a.version = p, versionAtEnd.FindStringSubmatch(p)[1]
	default:
		a.root = p + "/v9"
	}
	return a, nil
}

// overOpenNetwork is true when the token would travel unencrypted to another machine.
func (a address) overOpenNetwork() bool {
	host := a.base.Hostname()
	ip := net.ParseIP(host)
	return a.base.Scheme == "http" && host != "localhost" && (ip == nil || !ip.IsLoopback())
}

// cut shortens text for repeating it in a sentence.
func cut(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	return string(runes[:most]) + "…"
}
