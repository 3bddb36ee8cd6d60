package discord

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf16"
	"unicode/utf8"
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
	if ordinary(s) {
		return s
	}
	return escapePlain(plain(s))
}

func escapePlain(s string) string {
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
	mark, number := lineStarts(s)
	if mark {
		s = leadingMark.ReplaceAllString(s, `$1\$2`)
	}
	if number {
		s = leadingNumber.ReplaceAllString(s, `$1\$2$3`)
	}
	if strings.IndexByte(s, '@') < 0 {
		return s
	}
	return mention.ReplaceAllString(s, "@"+apart+"$1")
}

// lineStarts tells whether a line begins with what makes a heading or a list, or with
// a digit, behind blanks or none. Asking first costs little beside matching.
func lineStarts(s string) (mark, number bool) {
	begins := true
	for i := range len(s) {
		switch c := s[i]; {
		case c == '\n':
			begins = true
		case !begins || c == ' ' || c == '\t':
		default:
			begins = false
			mark = mark || c == '#' || c == '+' || c == '-'
			number = number || '0' <= c && c <= '9'
		}
	}
	return mark, number
}

// escapeLine is escape for what must stay one line.
func escapeLine(s string) string {
	if ordinary(s) {
		return s
	}
	return escapePlain(oneLine(s))
}

func oneLine(s string) string {
	if ordinary(s) {
		return s
	}
	return strings.Join(strings.Fields(plain(s)), " ")
}

// ordinary is true for a line in which nothing has to be escaped, dropped or drawn
// together, in a code block neither: nearly all text. Asking costs little beside
// doing it.
func ordinary(s string) bool {
	before := ' '
	for _, r := range s {
		if r < utf8.RuneSelf {
			if special[r] || r == ' ' && before == ' ' {
				return false
			}
		} else if unicode.IsSpace(r) || !shows(r) {
			return false
		}
		before = r
	}
	return s == "" || before != ' ' && !startsAsMark(s) && !strings.Contains(s, "://")
}

// special are the characters that are marks somewhere, or do not show.
var special = func() (table [utf8.RuneSelf]bool) {
	for c := range table {
		table[c] = c < ' ' || c == 0x7f || strings.ContainsRune("\\*_~`|[]<>@", rune(c))
	}
	return table
}()

// startsAsMark is true where text begins with what makes a heading or a list.
func startsAsMark(s string) bool {
	if strings.IndexByte("#+-", s[0]) >= 0 {
		return true
	}
	behind := strings.TrimLeft(s, "0123456789")
	return len(behind) < len(s) && (strings.HasPrefix(behind, ". ") || strings.HasPrefix(behind, ") "))
}

// shows is false for control characters, and for those that turn the direction of
// what follows; and for what may be none at all.
func shows(r rune) bool {
	return r >= ' ' && r < 0x7f || r >= 0xa0 && r != utf8.RuneError && !unicode.Is(unicode.Bidi_Control, r)
}

// plain drops what cannot be shown.
func plain(s string) string {
	if !strings.ContainsFunc(s, func(r rune) bool { return r != '\n' && r != '\t' && !shows(r) }) {
		return s
	}
	return strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' || r == utf8.RuneError || shows(r) {
			return r
		}
		return -1
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
	for {
		at := prefix(line, most) // of the rest no more is looked at than a piece takes
		if at == len(line) {
			return append(pieces, line)
		}
		if space := strings.LastIndexByte(line[:at], ' '); space > at/2 {
			at = space + 1
		}
		if trailing := at - len(strings.TrimRight(line[:at], `\`)); trailing%2 == 1 && at > 1 {
			at--
		}
		pieces = append(pieces, line[:at])
		line = line[at:]
	}
}
