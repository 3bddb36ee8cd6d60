package discord

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"regexp"
	"strings"

	"github.com/bwmarrin/discordgo"
)

// redactor takes secrets out of text: the bot's token, and the tokens in the
// addresses of callbacks and webhooks, which anybody could answer with for 15
// minutes and which the HTTP client writes into its errors.
type redactor struct{ token string }

var tokenInPath = regexp.MustCompile(`(/(?:interactions|webhooks)/[^/\s"?]*/)[^/\s"?]+`)

const redacted = "REDACTED"

func (r redactor) text(s string) string {
	if r.token != "" {
		s = strings.ReplaceAll(s, r.token, redacted)
	}
	return tokenInPath.ReplaceAllString(s, "${1}"+redacted)
}

// err gives an error whose text holds no secret. A failed request is told by its
// status and the platform's code: the rest of the body may repeat what was sent.
func (r redactor) err(err error) error {
	if err == nil {
		return nil
	}
	if rest, ok := errors.AsType[*discordgo.RESTError](err); ok && rest.Response != nil {
		said := ""
		if rest.Message != nil {
			said = fmt.Sprintf(", code %d, %s", rest.Message.Code, rest.Message.Message)
		}
		return errors.New(r.text("the API answered " + rest.Response.Status + said))
	}
	if text := r.text(err.Error()); text != err.Error() {
		return errors.New(text)
	}
	return err
}

// redacting is a slog handler before which every text is cleaned, so that no
// place that logs can forget to.
type redacting struct {
	next  slog.Handler
	clean redactor
}

func (h redacting) Enabled(ctx context.Context, level slog.Level) bool {
	return h.next.Enabled(ctx, level)
}

func (h redacting) Handle(ctx context.Context, record slog.Record) error {
	out := slog.NewRecord(record.Time, record.Level, h.clean.text(record.Message), record.PC)
	record.Attrs(func(a slog.Attr) bool {
		out.AddAttrs(h.attr(a))
		return true
	})
	return h.next.Handle(ctx, out)
}

func (h redacting) WithAttrs(attrs []slog.Attr) slog.Handler {
	cleaned := make([]slog.Attr, len(attrs))
	for i, a := range attrs {
		cleaned[i] = h.attr(a)
	}
	return redacting{h.next.WithAttrs(cleaned), h.clean}
}

func (h redacting) WithGroup(name string) slog.Handler {
	return redacting{h.next.WithGroup(name), h.clean}
}

func (h redacting) attr(a slog.Attr) slog.Attr {
	v := a.Value.Resolve()
	switch v.Kind() {
	case slog.KindString:
		return slog.String(a.Key, h.clean.text(v.String()))
	case slog.KindGroup:
		group := make([]any, 0, len(v.Group()))
		for _, member := range v.Group() {
			group = append(group, h.attr(member))
		}
		return slog.Group(a.Key, group...)
	case slog.KindAny:
		if err, ok := v.Any().(error); ok {
			return slog.String(a.Key, h.clean.err(err).Error())
		}
		return slog.String(a.Key, h.clean.text(fmt.Sprint(v.Any())))
	}
	return a
}

// RouteLibraryLog sends the platform library's own error lines to log. The
// library keeps one logger for the whole process: call this once, before the
// first Run. Without it the library stays silent.
func RouteLibraryLog(log *slog.Logger) { discordgo.Logger = libraryLog(log) }

func libraryLog(log *slog.Logger) func(level, caller int, format string, a ...any) {
	clean := slog.New(redacting{next: log.Handler()})
	return func(_, _ int, format string, a ...any) {
		clean.Warn("platform library", "said", strings.TrimSpace(fmt.Sprintf(format, a...)))
	}
}

// libraryLogLevel is the level of the library's sessions. Its warnings hold whole
// events, with what people typed, so nothing below an error is ever let through.
func libraryLogLevel() int {
	if discordgo.Logger == nil {
		return discordgo.LogError - 1
	}
	return discordgo.LogError
}
