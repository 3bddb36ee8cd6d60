package discord

import (
	"slices"
	"strings"

	"github.com/mattn/go-runewidth"

	"tallystick/commands"
)

// phoneColumns is how many columns of a code block a phone shows without
// scrolling sideways: common practice, from small screens at the usual size.
const phoneColumns = 40

// drawTable draws a table as aligned columns in a code block, or, when that would
// be wider than a phone, as lines of column and cell.
func drawTable(t commands.Table) []block {
	var blocks []block
	if t.Title != "" {
		blocks = append(blocks, prose("**"+escapeLine(t.Title)+"**"))
	}
	grid := newGrid(t)
	total := grid.width()
	if total > phoneColumns {
		grid.tight = true
		if total = grid.width(); total > phoneColumns {
			return append(blocks, listed(t)...)
		}
	}
	var b strings.Builder
	b.Grow((len(t.Rows) + 2) * (total + 1))
	grid.row(&b, 0)
	b.WriteByte('\n')
	b.WriteString(strings.Repeat("-", max(total, 1)))
	for y := range t.Rows {
		b.WriteByte('\n')
		grid.row(&b, y+1)
	}
	return append(blocks, block{text: b.String(), fenced: true, head: 2})
}

// grid is a table as it stands in a code block, its head first.
type grid struct {
	columns int
	cells   []string
	// widths and figures are of the columns.
	widths  []int
	figures []bool
	// tight is true when there is one blank instead of two before figures in which
	// there is none.
	tight bool
	// whole are the columns of figures without a blank in them.
	whole []bool
}

func newGrid(t commands.Table) grid {
	n := len(t.Columns)
	g := grid{columns: n, cells: make([]string, (len(t.Rows)+1)*n), widths: make([]int, n), figures: make([]bool, n), whole: make([]bool, n)}
	fill := func(y int, row []string) {
		for x := range min(n, len(row)) {
			cell := row[x]
			if !ordinary(cell) {
				cell = verbatim(oneLine(cell))
			}
			g.cells[y*n+x] = cell
			g.widths[x] = max(g.widths[x], width(cell))
		}
	}
	fill(0, t.Columns)
	for y, row := range t.Rows {
		fill(y+1, row)
	}
	for x := range n {
		g.figures[x] = commands.FiguresIn(t.Rows, x)
		g.whole[x] = g.figures[x] && !slices.ContainsFunc(t.Rows, func(row []string) bool { return x < len(row) && strings.Contains(row[x], " ") })
	}
	return g
}

// gap is how many blanks stand before a column.
func (g grid) gap(x int) int {
	switch {
	case x == 0:
		return 0
	case g.tight && g.whole[x]:
		return 1
	}
	return 2
}

func (g grid) width() (total int) {
	for x, w := range g.widths {
		total += g.gap(x) + w
	}
	return total
}

// row writes a row: the first column and words to the left of their columns, and
// figures to the right.
func (g grid) row(b *strings.Builder, y int) {
	blanks := 0 // that stand before the next cell, if one comes
	for x, cell := range g.cells[y*g.columns : (y+1)*g.columns] {
		gap := g.widths[x] - width(cell)
		blanks += g.gap(x)
		right := x > 0 && g.figures[x]
		if right {
			blanks, gap = blanks+gap, 0
		}
		if cell != "" {
			for ; blanks > 0; blanks-- {
				b.WriteByte(' ')
			}
			b.WriteString(cell)
		}
		blanks += gap
	}
}

// width is how many columns text takes in a code block, wherever I run: the
// library would otherwise go by the language of the machine.
func width(s string) int { return (&runewidth.Condition{}).StringWidth(s) }

// listed draws each row as lines of its own.
func listed(t commands.Table) []block {
	blocks := make([]block, 0, len(t.Rows))
	for _, row := range t.Rows {
		var b strings.Builder
		for x, cell := range row {
			if strings.TrimSpace(cell) == "" {
				continue
			}
			if b.Len() > 0 {
				b.WriteByte('\n')
			}
			name := ""
			if x < len(t.Columns) && t.Columns[x] != "" {
				name = "**" + escapeLine(t.Columns[x]) + "**: "
			}
			b.WriteString(name + escapeLine(cell))
		}
		if b.Len() > 0 {
			blocks = append(blocks, prose(b.String()))
		}
	}
	return blocks
}
