package console

import (
	"strings"
	"unicode/utf8"
)

// wrap breaks lines at width columns. A line that begins with a space is a row of
// a table: what does not fit of it goes on under its last column.
func wrap(text string, width int) string {
	if width <= 0 {
		return text
	}
	var b strings.Builder
	for line := range strings.Lines(text) {
		body, ending := strings.TrimSuffix(line, "\n"), ""
		if body != line {
			ending = "\n"
		}
		if utf8.RuneCountInString(body) > width {
			body = fold(body, width)
		}
		b.WriteString(body + ending)
	}
	return b.String()
}

// fold breaks one line between its words; a word longer than the line stays whole.
func fold(line string, width int) string {
	last := lastColumn(line)
	indent := utf8.RuneCountInString(line[:last])
	if indent > width*2/3 { // too narrow a rest to read
		indent = tableIndent
	}
	var lines []string
	row := line[:last]
	for i, word := range strings.Fields(line[last:]) {
		gap := ""
		if i > 0 {
			gap = " "
		}
		column := utf8.RuneCountInString(row)
		if column+utf8.RuneCountInString(gap+word) > width && column > indent {
			lines = append(lines, strings.TrimRight(row, " "))
			row, gap = strings.Repeat(" ", indent), ""
		}
		row += gap + word
	}
	return strings.Join(append(lines, row), "\n")
}

const tableIndent = 4

// lastColumn is where the last cell of a row begins, in bytes; 0 in running text.
func lastColumn(line string) int {
	if !strings.HasPrefix(line, " ") {
		return 0
	}
	return strings.LastIndex(strings.TrimRight(line, " "), "  ") + len("  ")
}
