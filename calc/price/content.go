package price

import (
	"math/big"
	"strings"
	"unicode"

	"tallystick/calc/measure"
)

// Content is how much a container holds: a number with a unit of measure, or with
// a word for what is counted, such as sheets.
type Content struct {
	number *big.Rat
	word   string // as typed
	text   string
	bare   measure.Length
}

const (
	contentHint = "500 ml or 50 sheets"
	partHint    = "a part of it, such as 30%"
)

// ParseContent reads what a container holds.
//
//	content = number [ word ] .
//	number  = as measure.ParseNumber documents it .
//
// bare tells the system that names such as gal are read in, as for
// measure.ParseQuantity.
func ParseContent(text string, bare measure.Length) (Content, error) {
	n, word, err := splitContent(text)
	if err != nil {
		return Content{}, err
	}
	if n.Sign() <= 0 {
		return Content{}, &measure.InputError{Value: text, Problem: "is nothing to take a part of", Hint: contentHint}
	}
	return Content{number: n, word: word, text: strings.TrimSpace(text), bare: bare}, nil
}

// Part is the share that a used amount is of the content: a percentage, an amount
// in the same unit or none, or one in another unit of the same kind. More than the
// whole is an InputError.
func (c Content) Part(used string) (*big.Rat, error) {
	share, err := c.part(used)
	if err != nil {
		return nil, err
	}
	switch {
	case share.Sign() <= 0:
		return nil, &measure.InputError{Value: used, Problem: "is nothing used", Hint: partHint}
	case share.Cmp(big.NewRat(1, 1)) > 0:
		return nil, &measure.InputError{Value: used, Problem: "is more than the " + measure.Quote(c.text) + " there was", Hint: partHint}
	}
	return share, nil
}

func (c Content) part(used string) (*big.Rat, error) {
	if strings.Contains(used, "%") {
		p, err := measure.ParsePercent(used)
		return p.Rat(), err
	}
	n, word, err := splitContent(used)
	if err != nil {
		return nil, err
	}
	if word == "" || sameWord(word, c.word) {
		return n.Quo(n, c.number), nil
	}
	other := &measure.InputError{Value: used, Problem: "is not in the unit of " + measure.Quote(c.text), Hint: "an amount in the same unit, or 30%"}
	whole, err := measure.ParseQuantity(c.text, c.bare)
	if err != nil {
		return nil, other
	}
	q, err := measure.ParseQuantity(used, c.bare)
	if err != nil {
		return nil, other
	}
	converted, err := q.To(whole.Unit, c.bare)
	if err != nil {
		return nil, other
	}
	value, ok := new(big.Rat).SetString(converted.Value) // a plain decimal of ours
	if !ok || whole.Value.Sign() <= 0 {
		return nil, other
	}
	return value.Quo(value, whole.Value), nil
}

const maxContentText = 64

// splitContent parts the number from the word behind it.
func splitContent(text string) (*big.Rat, string, error) {
	if len(text) > maxContentText {
		return nil, "", &measure.InputError{Value: text, Problem: "is too long for an amount", Hint: contentHint}
	}
	at := strings.IndexFunc(text, unicode.IsLetter)
	if at < 0 {
		at = len(text)
	}
	n, err := measure.ParseNumber(strings.TrimSpace(text[:at]))
	if err != nil {
		return nil, "", &measure.InputError{Value: text, Problem: "is not an amount", Hint: contentHint}
	}
	return n.Rat(), strings.TrimSpace(text[at:]), nil
}

func sameWord(a, b string) bool { return singular(a) == singular(b) }

func singular(word string) string {
	return strings.TrimSuffix(strings.TrimSuffix(strings.ToLower(word), "."), "s")
}
