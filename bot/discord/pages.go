package discord

import "strings"

// block is a part of a message that is kept together where it can be.
type block struct {
	// text is its lines.
	text string
	// fenced is true for a code block; its first head lines are repeated when it
	// goes on in a further message.
	fenced bool
	head   int
}

const fence = "```"

func prose(text string) block { return block{text: text} }

// paginate lays blocks out into texts of at most limit units, broken between
// blocks, else between lines, else within a line. Nothing is left out.
func paginate(blocks []block, limit int) []string {
	if text, fits := onePage(blocks, limit); fits {
		if text == "" {
			return nil
		}
		return []string{text}
	}
	return manyPages(blocks, limit)
}

// onePage is what manyPages makes of blocks that surely fit on one: a text has no
// more units than bytes.
func onePage(blocks []block, limit int) (text string, fits bool) {
	const around = len("\n\n" + fence + "\n" + "\n" + fence)
	size := 0
	for _, b := range blocks {
		size += len(b.text) + around
	}
	if size > limit {
		return "", false
	}
	var page strings.Builder
	page.Grow(size)
	for _, b := range blocks {
		switch {
		case b.fenced:
			if page.Len() > 0 {
				page.WriteByte('\n')
			}
			page.WriteString(fence + "\n")
			page.WriteString(b.text)
			page.WriteString("\n" + fence)
		default:
			if page.Len() == 0 { // a page does not begin with an empty line
				page.WriteString(strings.TrimLeft(b.text, "\n"))
				break
			}
			page.WriteString("\n\n")
			page.WriteString(b.text)
		}
	}
	return strings.TrimRight(page.String(), "\n "), true
}

func manyPages(blocks []block, limit int) []string {
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
	// A block that fits a page is not spread over two, unless the page before would
	// stay more than half empty.
	if p.used > p.limit/2 && units(b.text) <= p.limit {
		p.put("\n\n", b.text)
		return
	}
	p.addLines(strings.Split(b.text, "\n"))
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
	lines := strings.Split(b.text, "\n")
	if whole := wrap(lines); units(whole) <= p.limit {
		p.put("\n", whole)
		return
	}
	p.flush()
	head := lines[:b.head]
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
	for _, line := range lines[len(head):] {
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
