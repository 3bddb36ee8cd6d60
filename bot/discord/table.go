package discord

import (
	"strings"

	"github.com/mattn/go-runewidth"

	"tallystick/commands"
)

// phoneColumns is how many columns of a code block a phone shows without
// scrolling sideways: common practice, from small screens at the usual size.
const phoneColumns = 38

// drawTable draws a table as aligned columns in a code block, or, when that would
// be wider than a phone, as lines of column and cell.
func drawTable(t commands.Table) []block {
	var blocks []block
	if t.Title != "" {
		blocks = append(blocks, prose("**"+escapeLine(t.Title)+"**"))
	}
	grid := make([][]string, 0, len(t.Rows)+1)
	grid = append(grid, t.Columns)
	grid = append(grid, t.Rows...)
	widths := make([]int, len(t.Columns))
	for y, row := range grid {
		grid[y] = make([]string, len(t.Columns))
		for x := range widths {
			if x < len(row) {
				grid[y][x] = verbatim(oneLine(row[x]))
			}
			widths[x] = max(widths[x], width(grid[y][x]))
		}
	}
	total := 2 * (len(widths) - 1)
	for _, w := range widths {
		total += w
	}
	if total > phoneColumns {
		return append(blocks, listed(t)...)
	}
	lines := make([]string, 0, len(grid)+1)
	for y, row := range grid {
		lines = append(lines, aligned(row, widths, grid[1:]))
		if y == 0 {
			lines = append(lines, strings.Repeat("-", max(total, 1)))
		}
	}
	return append(blocks, block{lines: lines, fenced: true, head: 2})
}

// width is how many columns text takes in a code block, wherever I run: the
// library would otherwise go by the language of the machine.
func width(s string) int { return (&runewidth.Condition{}).StringWidth(s) }

// aligned sets the first column and words to the left of their columns, and
// figures to the right.
func aligned(row []string, widths []int, body [][]string) string {
	var b strings.Builder
	for x, cell := range row {
		gap := strings.Repeat(" ", widths[x]-width(cell))
		if x > 0 {
			b.WriteString("  ")
		}
		if x > 0 && figures(body, x) {
			b.WriteString(gap + cell)
		} else {
			b.WriteString(cell + gap)
		}
	}
	return strings.TrimRight(b.String(), " ")
}

// figures is true when every filled cell of a column reads like a number.
func figures(body [][]string, x int) bool {
	any := false
	for _, row := range body {
		cell := strings.TrimLeft(row[x], "+-−~$€£ ")
		switch {
		case row[x] == "" || row[x] == "–" || row[x] == "-":
		case cell == "" || cell[0] < '0' || cell[0] > '9':
			return false
		default:
			any = true
		}
	}
	return any
}

// listed draws each row as lines of its own.
func listed(t commands.Table) []block {
	blocks := make([]block, 0, len(t.Rows))
	for _, row := range t.Rows {
		var lines []string
		for x, cell := range row {
			if strings.TrimSpace(cell) == "" {
				continue
			}
			name := ""
			if x < len(t.Columns) && t.Columns[x] != "" {
				name = "**" + escapeLine(t.Columns[x]) + "**: "
			}
			lines = append(lines, name+escapeLine(cell))
		}
		if len(lines) > 0 {
			blocks = append(blocks, prose(lines...))
		}
	}
	return blocks
}
