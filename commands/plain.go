package commands

import (
	"strconv"
	"strings"
	"unicode/utf8"
)

// Plain is the reply as plain text, for a terminal and for reading by eye. Lines
// are not wrapped; that depends on the screen.
func (r Reply) Plain() string {
	if s := r.Sentence(); s != "" {
		return s + "\n"
	}
	var b strings.Builder
	b.WriteString(r.Title + "\n")
	for _, line := range columns(figureRows(r.Figures), "  ") {
		b.WriteString("  " + line + "\n")
	}
	for _, t := range r.Tables {
		b.WriteString("\n")
		if t.Title != "" {
			b.WriteString(t.Title + "\n")
		}
		for _, line := range columns(append([][]string{t.Columns}, t.Rows...), "  ") {
			b.WriteString("  " + line + "\n")
		}
	}
	if len(r.Notes)+len(r.Cautions)+len(r.Actions) > 0 || r.Picture != nil || r.File != nil {
		b.WriteString("\n")
	}
	for _, n := range r.Notes {
		b.WriteString(n + "\n")
	}
	for _, c := range r.Cautions {
		b.WriteString("Caution: " + c.Text + " (" + c.Issuer + ")\n")
	}
	if r.Picture != nil {
		b.WriteString("Picture: " + r.Picture.Alt() + "\n")
	}
	if r.File != nil {
		b.WriteString("File: " + r.File.Name + ", " + strconv.Itoa(len(r.File.Bytes)) + " bytes\n")
	}
	for _, a := range r.Actions {
		b.WriteString("> " + a.Label + ": " + a.Line() + "\n")
	}
	return b.String()
}

func figureRows(figures []Figure) [][]string {
	rows := make([][]string, len(figures))
	for i, f := range figures {
		rows[i] = []string{f.Label, f.Text}
	}
	return rows
}

// columns pads cells so that they stand under one another. Columns behind the
// first whose cells are all figures stand to the right, as numbers do.
func columns(rows [][]string, gap string) []string {
	if len(rows) == 0 {
		return nil
	}
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	data := rows
	if len(rows) > 1 {
		data = rows[1:] // below the heading
	}
	right := make([]bool, len(rows[0]))
	for i := 1; i < len(right); i++ {
		right[i] = FiguresIn(data, i)
	}
	lines := make([]string, len(rows))
	for n, row := range rows {
		var b strings.Builder
		for i, cell := range row {
			if i > 0 {
				b.WriteString(gap)
			}
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell))
			if right[i] {
				cell, pad = pad, cell
			}
			b.WriteString(cell + pad)
		}
		lines[n] = strings.TrimRight(b.String(), " ")
	}
	return lines
}
