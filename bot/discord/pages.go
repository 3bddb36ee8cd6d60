package discord

import "strings"

// block is a part of a message that is kept together where it can be.
type block struct {
	lines []string
	// fenced is true for a code block; its first head lines are repeated when it
	// goes on in a further message.
	fenced bool
	head   int
}

const fence = "```"

func prose(lines ...string) block { return block{lines: lines} }

// paginate lays blocks out into texts of at most limit units, broken between
// blocks, else between lines, else within a line. Nothing is left out.
func paginate(blocks []block, limit int) []string {
	p := paginator{limit: limit}
	for _, b := range blocks {
		if b.fenced {
			p.addFenced(b)
		} else {
			p.addProse(b)
		}
	}
	p.flush()
	return p.pages
}

type paginator struct {
	limit int
	pages []string
	page  strings.Builder
	used  int
}

func (p *paginator) flush() {
	if text := strings.TrimRight(p.page.String(), "\n "); text != "" {
		p.pages = append(p.pages, text)
	}
	p.page.Reset()
	p.used = 0
}

// put adds text after a separator, on a new page if this one is too full.
func (p *paginator) put(separator, text string) {
	if p.used > 0 && p.used+units(separator)+units(text) > p.limit {
		p.flush()
	}
	if p.used > 0 {
		p.page.WriteString(separator)
		p.used += units(separator)
	}
	p.page.WriteString(text)
	p.used += units(text)
}

func (p *paginator) addProse(b block) {
	if whole := strings.Join(b.lines, "\n"); units(whole) <= p.limit {
		// A block that fits a page is not spread over two, unless the page before
		// would stay more than half empty.
		if p.used <= p.limit/2 {
			p.addLines(b.lines)
		} else {
			p.put("\n\n", whole)
		}
		return
	}
	p.addLines(b.lines)
}

func (p *paginator) addLines(lines []string) {
	separator := "\n\n"
	for _, line := range lines {
		for _, piece := range breakLine(line, p.limit) {
			p.put(separator, piece)
			separator = "\n"
		}
	}
}

func (p *paginator) addFenced(b block) {
	wrap := func(lines []string) string { return fence + "\n" + strings.Join(lines, "\n") + "\n" + fence }
	if whole := wrap(b.lines); units(whole) <= p.limit {
		p.put("\n", whole)
		return
	}
	p.flush()
	head := b.lines[:b.head]
	room := p.limit - units(wrap(head)) - 1
	if room < p.limit/2 { // a head that long is not worth repeating
		head, room = nil, p.limit-units(wrap(nil))-1
	}
	var part []string
	used := 0
	send := func() {
		if len(part) > 0 {
			p.put("\n", wrap(append(append([]string(nil), head...), part...)))
			part, used = nil, 0
		}
	}
	for _, line := range b.lines[len(head):] {
		for _, piece := range breakLine(line, room) {
			if used+units(piece)+1 > room {
				send()
				p.flush()
			}
			part = append(part, piece)
			used += units(piece) + 1
		}
	}
	send()
}
