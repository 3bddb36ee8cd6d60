package measure

import "unicode"

// InputError is a mistake the asker can put right. It quotes what was typed,
// says what is wrong with it, and names a value that works. The room that knows
// which option the text came from adds the option's name.
type InputError struct {
	// Value is the text as typed.
	Value string
	// Problem completes the sentence that begins with the quoted value:
	// "is not a length".
	Problem string
	// Hint is one value, or two joined by "or", that would have worked.
	Hint string
}

// Error gives the whole sentence without the option's name.
func (e *InputError) Error() string {
	s := "\"" + Quote(e.Value) + "\" " + e.Problem
	if e.Hint != "" {
		s += "; try " + e.Hint
	}
	return s
}

// QuoteLimit is how many characters of somebody's text are repeated to them.
const QuoteLimit = 32

// Quote cuts typed text to QuoteLimit characters and drops what does not print,
// controls and marks of writing direction among it, so that it can stand inside
// one sentence.
func Quote(text string) string {
	out := make([]rune, 0, QuoteLimit+1)
	for _, r := range text {
		if !unicode.IsPrint(r) {
			r = ' '
		}
		if len(out) == QuoteLimit {
			return string(out) + "…"
		}
		out = append(out, r)
	}
	return string(out)
}
