package commands

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"tallystick/calc/lumber"
)

// The most that is repeated of a line: with it an answer still fits a phone.
const (
	mostRows      = 24
	mostLineWords = 40
	mostDoubts    = 6
	longestCell   = 60
)

// readRows shows how each part was read, in the order of the sum it goes into.
func (c *charged) readRows(r lineReading) [][]string {
	order := []partKind{categoryPart, piecePart, countPart, sizePart, sidePart, boardsPart, feetPart, speciesPart, timePart, moneyPart, distancePart, perTripPart, ratePart, percentPart, venuePart}
	parts := slices.Clone(r.parts)
	slices.SortStableFunc(parts, func(a, b *part) int { return slices.Index(order, a.kind) - slices.Index(order, b.kind) })
	var rows [][]string
	for _, p := range parts {
		rows = append(rows, []string{cutCell(p.wrote()), c.readAs(p)})
	}
	meaning := "holds, whatever the line says of it"
	if blank(c.req.Options["about"]) {
		meaning = "as told, there being no line"
	}
	for _, name := range []string{"hours", "materials", "rate", "lowest-rate", "size", "boards", "fee", "fixed-fee", "venue", "haggle", "category", "species"} {
		if text := c.req.Options[name]; !blank(text) {
			rows = append(rows, []string{cutCell(name + ":" + text), meaning})
		}
	}
	if more := len(rows) - mostRows; more > 1 {
		rows = append(rows[:mostRows], []string{"and " + strconv.Itoa(more) + " more", "counted as those above"})
	}
	return rows
}

// cutCell keeps a typed text to one short line.
func cutCell(text string) string {
	runes := []rune(plainWords(text))
	if len(runes) > longestCell {
		return string(runes[:longestCell-1]) + "…"
	}
	return string(runes)
}

// plainWords is a text without what does not print.
func plainWords(text string) string {
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return ' '
		}
		return r
	}, text))
}

// readAs says what a part was read as.
func (c *charged) readAs(p *part) string {
	f, locale, in := c.fields, c.req.Locale, c.deal.in
	switch p.kind {
	case sizePart:
		return sizeText(p.size, in)
	case sidePart:
		return lengthText(p.distance, in) + " " + p.name
	case boardsPart:
		return boardsText(p.lot) + ", " + lumber.VolumeOf(p.lot).Round(2) + " board feet"
	case feetPart:
		return p.number.String() + " board feet of wood"
	case timePart:
		return spanText(p.span) + " of your time" + p.forAll()
	case moneyPart:
		if p.role == fixedRole {
			return moneyText(p.money, locale) + " of fixed fee"
		}
		return moneyText(p.money, locale) + " paid out" + p.forAll()
	case distancePart:
		text := distanceText(p.whole(), in)
		if p.role == eachWayRole {
			text += " there and back"
		}
		if c.drive != nil && f.distance != nil && p.whole() == *f.distance {
			text += ": " + moneyText(*c.drive, locale)
		}
		return text
	case perTripPart:
		return perDistanceText(p.per, locale) + " of driving"
	case ratePart:
		how := map[role]string{lowestRole: " an hour at least", overheadRole: " an hour of overhead"}[p.role]
		if how == "" {
			how = " an hour wanted"
		}
		return moneyText(p.money, locale) + how
	case percentPart:
		what := map[role]string{shareRole: " of the price kept by the shop", haggleRole: " of expected haggling", taxRole: " of sales tax",
			moistureRole: " of moisture"}[p.role]
		if what == "" {
			what = " of the price as a fee"
		}
		if p.role == taxRole && f.taxIncluded {
			what += ", in the price"
		}
		return p.fraction.Percent() + " %" + what
	case countPart:
		return p.name + " pieces, priced together"
	case categoryPart:
		return then("kind: "+p.name, p.note)
	case piecePart:
		if f.category == "" {
			return p.name + ": no kind that the log here is sorted by"
		}
		return p.name
	case venuePart:
		return then("your venue "+p.name, p.note)
	}
	if p.note == "" {
		return woodWords([]string{p.name})
	}
	return woodWords([]string{p.name}) + ". " + p.note
}

// notUnderstood lists every word that made no difference.
func notUnderstood(r lineReading) string {
	text := ""
	if len(r.unknown) > 0 {
		text = "Not understood, and left out: " + listWords(r.unknown) + "."
	}
	if len(r.passed) > 0 {
		text = then(text, "Passed over: "+listWords(r.passed)+".")
	}
	return text
}

func listWords(list []string) string {
	var shown []string
	for _, w := range list[:min(len(list), mostLineWords)] {
		shown = append(shown, cutCell(w))
	}
	text := strings.Join(shown, ", ")
	if more := len(list) - len(shown); more > 0 {
		text += " and " + several(more, "further word")
	}
	return text
}

// asks puts the questions, and names the one missing thing that matters most.
func (c *charged) asks() string {
	var text string
	for i, doubt := range c.doubts {
		if i == mostDoubts {
			text = then(text, "And "+several(len(c.doubts)-i, "further question")+".")
			break
		}
		text = then(text, doubt)
	}
	if what := c.missing(); what != "" && len(c.doubts) == 0 {
		text = then(text, "What matters most now: "+what+". Add it to the line, or choose \"Put it right\".")
	} else if len(c.doubts) > 0 {
		text = "First of all: " + text + " Choose \"Put it right\", or write the line again."
	}
	return text
}

// missing is what would change the answer most.
func (c *charged) missing() string {
	d, f := c.deal, c.fields
	switch {
	case !d.timed():
		return "your hours, such as 14h15 or 6-9 h"
	case !d.known("rate"):
		return "the rate you want, such as want 25/h (kept for good by /settings set rate:25)"
	case f.cost == nil:
		return "what you paid out, such as 84 materials + 11.50 oil"
	case f.size == nil && f.lot == nil && f.feet == nil:
		return "its size, such as " + d.in.ownWay(benchSize, benchMetric)
	case f.category == "" && len(d.in.community.Categories) > 0:
		return "what kind of piece it is, such as " + d.in.community.Categories[0]
	case f.fee == nil && f.fixed == nil && len(f.venues) == 0:
		return "what selling takes, such as shop takes 30% or card fee 2.9% + 0.30"
	case !d.known("lowest-rate"):
		return "the least your hour may bring, such as at least 18/h, for the lowest price worth taking"
	case !d.in.knowsHaggle():
		return "how far buyers bring you down, such as haggle 10%"
	}
	return ""
}
