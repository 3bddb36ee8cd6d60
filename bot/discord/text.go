package discord

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf16"
)

// units counts text as the platform's strictest reading does, in UTF-16 code
// units: which unit it counts is not documented.
func units(s string) int {
	n := 0
	for _, r := range s {
		n++
		if r > 0xffff {
			n++
		}
	}
	return n
}

// shorten cuts to at most units and shows that it did.
func shorten(s string, most int) string {
	if units(s) <= most {
		return s
	}
	return s[:prefix(s, most-1)] + "…"
}

// prefix is how many bytes of s make up at most units, at least one character.
func prefix(s string, most int) int {
	n := 0
	for i, r := range s {
		n += max(1, utf16.RuneLen(r))
		if n > most && i > 0 {
			return i
		}
	}
	return len(s)
}

// apart is put where text must not be read as one sign: between an @ and a name,
// and between backticks in a code block.
const apart = "\u200b" // zero width space

var (
	inlineMarks = strings.NewReplacer(`\`, `\\`, "*", `\*`, "_", `\_`, "~", `\~`, "`", "\\`",
		"|", `\|`, "[", `\[`, "]", `\]`, "<", `\<`, ">", `\>`)
	// What makes a heading, a list or small print stands first in its line.
	leadingMark   = regexp.MustCompile(`(?m)^([ \t]*)([#+-])`)
	leadingNumber = regexp.MustCompile(`(?m)^([ \t]*\d+)([.)])([ \t])`)
	mention       = regexp.MustCompile(`@(\S)`)
)

// webAddress is an address written so that nothing in it can be taken for a mark:
// the chat reads it as one piece, and a backslash inside would break it.
var webAddress = regexp.MustCompile(`https?://[A-Za-z0-9._~:/?#%&=+,;-]+`)

// escape makes text show as it was written: it cannot format, ping, hide a link
// or name a member, a channel or an emoji. Every text of a reply goes through it,
// for any of them may repeat what a member typed.
func escape(s string) string {
	s = plain(s)
	if !strings.Contains(s, "://") {
		return escapeMarks(s)
	}
	var b strings.Builder
	from := 0
	for _, at := range webAddress.FindAllStringIndex(s, -1) {
		b.WriteString(escapeMarks(s[from:at[0]]) + s[at[0]:at[1]])
		from = at[1]
	}
	return b.String() + escapeMarks(s[from:])
}

func escapeMarks(s string) string {
	s = inlineMarks.Replace(s)
	if anyLineStartsWith(s, "#+-") {
		s = leadingMark.ReplaceAllString(s, `$1\$2`)
	}
	if anyLineStartsWith(s, "0123456789") {
		s = leadingNumber.ReplaceAllString(s, `$1\$2$3`)
	}
	if !strings.Contains(s, "@") {
		return s
	}
	return mention.ReplaceAllString(s, "@"+apart+"$1")
}

// anyLineStartsWith is true where one of the characters stands first in a line,
// behind blanks or none. Asking first costs little beside matching.
func anyLineStartsWith(s, chars string) bool {
	for line := range strings.SplitSeq(s, "\n") {
		if line = strings.TrimLeft(line, " \t"); line != "" && strings.IndexByte(chars, line[0]) >= 0 {
			return true
		}
	}
	return false
}

// escapeLine is escape for what must stay one line.
func escapeLine(s string) string { return escape(oneLine(s)) }

func oneLine(s string) string { return strings.Join(strings.Fields(plain(s)), " ") }

// plain drops what cannot be shown: control characters, and those that turn the
// direction of what follows.
func plain(s string) string {
	if !strings.ContainsFunc(s, func(r rune) bool { return r != '\n' && r != '\t' && (r < ' ' || r >= 0x7f) }) {
		return s
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r >= ' ' && r < 0x7f:
			return r
		case r == '\r' || unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}

// verbatim makes text fit to stand in a code block, where nothing but the end of
// the block has a meaning.
func verbatim(s string) string {
	return strings.ReplaceAll(plain(s), "``", "`"+apart+"`")
}

// breakLine cuts a line into pieces of at most units, at a space where there is
// one in the second half, and never between a backslash and what it stands for.
func breakLine(line string, most int) []string {
	var pieces []string
	for units(line) > most {
		at := prefix(line, most)
		if space := strings.LastIndexByte(line[:at], ' '); space > at/2 {
			at = space + 1
		}
		if trailing := at - len(strings.TrimRight(line[:at], `\`)); trailing%2 == 1 && at > 1 {
			at--
		}
		pieces = append(pieces, line[:at])
		line = line[at:]
	}
	return append(pieces, line)
}
