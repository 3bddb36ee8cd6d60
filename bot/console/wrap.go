package console

import (
	"strings"
	"unicode/utf8"
)

// wrap breaks running text at width columns. Lines that begin with a space are
// tables and stay whole.
func wrap(text string, width int) string {
	if width <= 0 {
		return text
	}
	var b strings.Builder
	for line := range strings.Lines(text) {
		if strings.HasPrefix(line, " ") || utf8.RuneCountInString(line) <= width {
			b.WriteString(line)
			continue
		}
		column := 0
		for i, word := range strings.Fields(line) {
			n := utf8.RuneCountInString(word)
			switch {
			case i == 0:
			case column+1+n > width:
				b.WriteString("\n")
				column = 0
			default:
				b.WriteString(" ")
				column++
			}
			b.WriteString(word)
			column += n
		}
		if strings.HasSuffix(line, "\n") {
			b.WriteString("\n")
		}
	}
	return b.String()
}
