package commands

import (
	"maps"
	"regexp"
	"slices"
	"strings"

	"tallystick/calc/measure"
)

// A request has one written form, used by the terminal, the examples, the tests
// and the buttons' fallbacks:
//
//	line   = [ "/" ] path { " " option }
//	option = name ":" value
//	value  = '"' text '"' | text
//
// A value runs to the next " name:". It stands in double quotes when it holds
// such a name itself; an inch mark inside or at the end of a value is not a quote.
var optionMark = regexp.MustCompile(`(?:^|\s)([A-Za-z][A-Za-z-]*):`)

// MaxLine is the longest line that is read, in bytes.
const MaxLine = 64 << 10

// ParseLine reads a line into a command's path and its options. What it cannot
// read is a Mistake. It does not look at what the values mean.
func (s *Set) ParseLine(line string) (path string, options map[string]string, mistake *Mistake) {
	if len(line) > MaxLine {
		return "", nil, &Mistake{Option: "command", Given: measure.Quote(line), Problem: "is longer than I read", Try: "/help"}
	}
	rest := strings.TrimSpace(line)
	rest = strings.TrimPrefix(rest, "/")
	head, tail := rest, ""
	if at := optionMark.FindStringIndex(rest); at != nil {
		head, tail = rest[:at[0]], rest[at[0]:]
	}
	path, stray := s.longestPath(head)
	switch {
	case path == "":
		return "", nil, s.unknownLine(head)
	case stray != "":
		c := s.byPath[path]
		return "", nil, &Mistake{Option: "command", Given: measure.Quote(stray), Problem: "stands outside any option of /" + path, Try: c.Examples[0]}
	}
	options, mistake = parseOptions(tail)
	return path, options, mistake
}

// longestPath takes the longest known path off the front and returns what is left.
func (s *Set) longestPath(head string) (path, stray string) {
	words := strings.Fields(head)
	for n := min(3, len(words)); n > 0; n-- {
		p := strings.ToLower(strings.Join(words[:n], " "))
		if _, ok := s.byPath[p]; ok {
			return p, strings.Join(words[n:], " ")
		}
	}
	return "", ""
}

// familyShown is how many members of a family are named at once.
const familyShown = 6

// unknownLine names the members of a family when only the family was typed.
func (s *Set) unknownLine(head string) *Mistake {
	words := strings.Fields(strings.ToLower(head))
	var family []string
	if len(words) > 0 {
		for _, c := range s.list {
			if strings.HasPrefix(c.Path, words[0]+" ") {
				family = append(family, "/"+c.Path)
			}
		}
	}
	if len(family) > familyShown {
		family = append(family[:familyShown], "/help")
	}
	if len(family) > 0 && len(words) == 1 {
		return &Mistake{Option: "command", Given: "/" + measure.Quote(words[0]), Problem: "wants a second word", Try: strings.Join(family, " or ")}
	}
	return s.unknown(strings.Join(words, " "))
}

func parseOptions(tail string) (map[string]string, *Mistake) {
	options := map[string]string{}
	for tail = strings.TrimSpace(tail); tail != ""; {
		mark := optionMark.FindStringSubmatchIndex(tail)
		name := strings.ToLower(tail[mark[2]:mark[3]])
		value, rest := nextValue(tail[mark[1]:])
		if _, twice := options[name]; twice {
			return nil, &Mistake{Option: measure.Quote(name), Given: measure.Quote(value), Problem: "is a second value for the same option", Try: "one of them"}
		}
		options[name] = value
		tail = rest
	}
	return options, nil
}

// nextValue cuts one value off the front. rest begins with the next option's name.
func nextValue(text string) (value, rest string) {
	if strings.HasPrefix(text, `"`) {
		for i := 1; i < len(text); i++ {
			if text[i] != '"' {
				continue
			}
			after := text[i+1:]
			if at := optionMark.FindStringIndex(after); strings.TrimSpace(after) == "" || (at != nil && strings.TrimSpace(after[:at[0]]) == "") {
				return text[1:i], strings.TrimSpace(after)
			}
		}
	}
	// Cut from the first name that has a space before it: a value is never cut at
	// its own first letters, so that "note:x" inside quotes was handled above.
	for _, at := range optionMark.FindAllStringIndex(text, -1) {
		if at[0] == 0 && !startsWithSpace(text) {
			continue
		}
		return strings.TrimSpace(text[:at[0]]), strings.TrimSpace(text[at[0]:])
	}
	return strings.TrimSpace(text), ""
}

func startsWithSpace(text string) bool { return text != strings.TrimLeft(text, " \t\r\n") }

// FormatLine writes a request in the form that ParseLine reads.
func FormatLine(path string, options map[string]string) string {
	var b strings.Builder
	b.WriteString("/" + path)
	for _, name := range slices.Sorted(maps.Keys(options)) {
		value := options[name]
		if strings.HasPrefix(value, `"`) || value != strings.TrimSpace(value) || optionMark.MatchString(value) {
			value = `"` + value + `"`
		}
		b.WriteString(" " + name + ":" + value)
	}
	return b.String()
}
