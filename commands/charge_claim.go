package commands

import (
	"slices"

	"tallystick/calc/measure"
)

// rolesFor are the roles that a quantity of a kind may have, and whether it means
// nothing without one.
func rolesFor(kind partKind) (fitting []role, needed bool) {
	switch kind {
	case moneyPart:
		return []role{costRole, fixedRole, priceRole}, true
	case percentPart:
		return []role{fixedRole, feeRole, shareRole, haggleRole, taxRole, moistureRole}, true
	case ratePart:
		return []role{lowestRole, overheadRole, wantedRole}, false
	case timePart:
		return []role{workRole, timeRole}, false
	case distancePart:
		return []role{eachWayRole, driveRole}, false
	case perTripPart:
		return []role{driveRole}, false
	}
	return nil, false
}

func fittingRole(word string, fitting []role) role {
	for _, r := range fitting {
		if slices.Contains(rolesOf[word], r) {
			return r
		}
	}
	return ""
}

// isCountOf asks about a bare number before what may be counted by it: "4 hinges",
// "84 m of wood".
func (l *lineReader) isCountOf(clause []*token, p *part) bool {
	next := p.at + len(p.run)
	if p.kind == moneyPart && next < len(clause) && clause[next].isFree() && isCoin(clause[next]) && !clause[next].plus {
		p.other, p.doubt = true, quoted(p.text+" "+clause[next].text)+" names two currencies."
		return true
	}
	if p.kind != moneyPart || p.marked || next >= len(clause) || clause[next].plus || !clause[next].isFree() {
		return false
	}
	behind := clause[next]
	n, err := measure.ParseNumber(p.text)
	_, whole := n.Whole()
	paid := next+1 < len(clause) && behind.word == "in" && slices.Contains(rolesOf[clause[next+1].word], costRole)
	switch {
	case paid: // 60 in materials
	case askedUnits[behind.word] != "":
		p.other, p.doubt = true, quoted(p.text+" "+behind.text)+" I cannot count with: write "+askedUnits[behind.word]+"."
		return true
	case otherUnits[behind.word]:
		p.other = true
		return true
	case err == nil && whole && countable[behind.word]:
		p.other, p.doubt = true, quoted(p.text+" "+behind.text)+" may be "+p.text+" of them or an amount: write "+behind.text+" "+p.text+" for the amount."
		return true
	}
	return false
}

// farthest is how many words may stand between an amount and its word.
const farthest = 6

// claim gives each quantity of a clause the nearest word that says what it is, the
// one before it first. Names, small words and unknown words may stand between; a
// plus sign, another quantity, or a word that another quantity has, may not.
func (l *lineReader) claim(clause []*token) {
	var later []*part // what may do without a word looks after it last
	for i, t := range clause {
		p := t.part
		if p == nil || !p.quantity() || p.at != i {
			continue
		}
		fitting, needed := rolesFor(p.kind)
		switch {
		case len(fitting) == 0 || l.isCountOf(clause, p):
		case p.kind == distancePart && l.take(clause, p, 1, []role{eachWayRole}, farthest):
		case l.take(clause, p, -1, fitting, farthest):
		case needed:
			if !l.take(clause, p, 1, fitting, farthest) && p.kind == moneyPart {
				l.claimByNeighbour(clause, p)
			}
		case !l.take(clause, p, 1, fitting, 1):
			later = append(later, p)
		}
	}
	for _, p := range later {
		fitting, _ := rolesFor(p.kind)
		l.take(clause, p, 1, fitting, farthest)
	}
	l.inherit(clause)
	for i, t := range clause {
		p := t.part
		if p == nil || p.at != i || len(p.run) == 0 || t != p.run[0] {
			continue
		}
		if p.role != "" {
			l.absorb(clause, p)
		}
		if p.kind == boardsPart && i > 0 && clause[i-1].isFree() && countable[clause[i-1].word] && !t.plus {
			clause[i-1].part = p
			p.labels = append(p.labels, clause[i-1])
		}
	}
}

// take gives a quantity the nearest fitting word to one side, at most so many words
// away.
func (l *lineReader) take(clause []*token, p *part, way int, fitting []role, within int) bool {
	k, ok := l.wordBeside(clause, p, way, fitting, within)
	if !ok {
		return false
	}
	p.role = fittingRole(clause[k].word, fitting)
	clause[k].part = p
	p.labels = append(p.labels, clause[k])
	if way < 0 && verbs[clause[k].word] {
		l.spentOn(clause, p)
	}
	return true
}

// spentOn puts to an amount after a verb what it was spent on, before the next
// amount looks for its own word: "spent 84 on wood and 11.50 on glue".
func (l *lineReader) spentOn(clause []*token, p *part) {
	next := p.at + len(p.run)
	if p.role != costRole || next >= len(clause) || clause[next].word != "on" && clause[next].word != "for" {
		return
	}
	var between []*token
	beside(clause, p, 1, farthest, func(k int) bool {
		t := clause[k]
		switch {
		case t.part != nil:
			return !t.part.quantity()
		case slices.Contains(rolesOf[t.word], costRole) && !verbs[t.word]:
			for _, b := range append(between, t) {
				b.part = p
				p.labels = append(p.labels, b)
			}
			return false
		case joining[t.word]:
			between = append(between, t)
			return true
		}
		return false
	})
}

// beside walks from a quantity to one side for as long as its words may stand
// there, and calls see with each; see ends the walk by false.
func beside(clause []*token, p *part, way, within int, see func(k int) bool) {
	k := p.at - 1
	if way > 0 {
		k = p.at + len(p.run)
	}
	for steps := 0; k >= 0 && k < len(clause) && steps < within; steps++ {
		if way > 0 && clause[k].plus || way < 0 && clause[k+1].plus {
			return
		}
		if !see(k) {
			return
		}
		k += way
	}
}

func (l *lineReader) wordBeside(clause []*token, p *part, way int, fitting []role, within int) (found int, ok bool) {
	beside(clause, p, way, within, func(k int) bool {
		t := clause[k]
		switch {
		case t.part != nil && t.part.quantity():
			return false
		case t.part != nil: // a name
			return true
		case fittingRole(t.word, fitting) != "":
			found, ok = k, true
			return false
		}
		// A word for something else ends the search, unless it is a plain verb.
		return len(rolesOf[t.word]) == 0 || verbs[t.word] || joining[t.word]
	})
	return found, ok
}

// claimByNeighbour reads "120 walnut" as what walnut cost, and "rate 25" and
// "hours 14" as a rate and a time.
func (l *lineReader) claimByNeighbour(clause []*token, p *part) {
	for _, way := range []int{-1, 1} {
		beside(clause, p, way, farthest, func(k int) bool {
			t := clause[k]
			switch {
			case t.part != nil && t.part.kind == speciesPart:
				p.role = costRole
			case way < 0 && t.isFree() && (t.word == "rate" || t.word == "wage"):
				p.kind, p.role, t.part = ratePart, wantedRole, p
				p.labels = append(p.labels, t)
			case way < 0 && t.isFree() && (t.word == "hours" || t.word == "time") && !p.marked:
				if timed := scanTime(l, p.text+" h", nil); timed != nil {
					p.kind, p.span, p.role, t.part = timePart, timed.span, timeRole, p
					p.labels = append(p.labels, t)
				}
			}
			return p.role == "" && t.isFree() && joining[t.word]
		})
		if p.role != "" {
			return
		}
	}
}

// inherit gives an amount in a sum the role of its neighbour there: in "84 + 11.50
// materials" both are, and in "fee 2.9% + 0.30" the second is the fixed part.
func (l *lineReader) inherit(clause []*token) {
	var quantities []*part
	for i, t := range clause {
		if t.part != nil && t.part.quantity() && t.part.at == i {
			quantities = append(quantities, t.part)
		}
	}
	added := func(a, b *part) bool { // whether a plus sign stands between
		for k := a.at + 1; k <= b.at; k++ {
			if clause[k].plus {
				return true
			}
		}
		return false
	}
	take := func(from, to *part) {
		if to.kind != moneyPart || to.role != "" || to.other {
			return
		}
		switch {
		case from.kind == moneyPart && from.role != priceRole:
			to.role = from.role
		case from.kind == percentPart && (from.role == fixedRole || from.role == feeRole || from.role == shareRole):
			to.role = fixedRole
		}
	}
	for i := 1; i < len(quantities); i++ {
		if added(quantities[i-1], quantities[i]) {
			take(quantities[i-1], quantities[i])
		}
	}
	for i := len(quantities) - 1; i > 0; i-- {
		if added(quantities[i-1], quantities[i]) {
			take(quantities[i], quantities[i-1])
		}
	}
}

// absorb puts to a quantity the words of its own role that stand by it, with the
// small words between: "11.50 glue and oil", "the shop takes 30%".
func (l *lineReader) absorb(clause []*token, p *part) {
	fitting, _ := rolesFor(p.kind)
	for _, way := range []int{-1, 1} {
		var between []*token
		beside(clause, p, way, farthest, func(k int) bool {
			t := clause[k]
			switch {
			case t.part == p:
				between = append(between, t)
			case t.part != nil:
				return !t.part.quantity()
			case slices.Contains(fitting, p.role) && slices.Contains(rolesOf[t.word], p.role) || alike(p, t.word):
				for _, b := range append(between, t) {
					if b.part == nil {
						b.part = p
						p.labels = append(p.labels, b)
					}
				}
				between = nil
			case joining[t.word] && t.isFree():
				between = append(between, t)
			default:
				return false
			}
			return true
		})
	}
}

// includedWords say that a price has its tax in it.
var includedWords = wordSet("included includes include including inclusive incl inc")

// alike reports whether a word goes with the role of a part though it is of
// another: the fee of a card, a sales tax.
func alike(p *part, word string) bool {
	switch p.role {
	case fixedRole, feeRole:
		return p.kind == percentPart && slices.Contains(append(rolesOf[word], ""), feeRole) || word == "listing" || word == "fee"
	case taxRole:
		return word == "sales" || includedWords[word]
	case lowestRole, wantedRole:
		return word == "at" && p.role == lowestRole || word == "rate" || word == "want" || word == "no" || word == "less" || word == "than"
	case haggleRole:
		return word == "expect" || word == "down"
	case eachWayRole, driveRole:
		return slices.Contains(rolesOf[word], driveRole) || word == "there" || word == "back" || word == "round"
	}
	return false
}
