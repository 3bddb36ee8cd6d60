package commands

import (
	"strings"

	"tallystick/calc/measure"
)

// matching orders the choices that could be meant by what was typed: the same,
// then those beginning with it, then those with a word beginning with it, then
// those holding it, then those of which all or a word is a slip of the finger away.
func matching(choices []Choice, typed string) []Choice {
	typed = strings.ToLower(strings.TrimSpace(typed))
	ranks := make([][]Choice, 5)
	for _, c := range choices {
		if r := rank(strings.ToLower(c.Label), strings.ToLower(c.Value), typed); r >= 0 {
			ranks[r] = append(ranks[r], c)
		}
	}
	var out []Choice
	for _, r := range ranks {
		out = append(out, r...)
	}
	return out
}

func rank(label, value, typed string) int {
	switch {
	case label == typed || value == typed:
		return 0
	case strings.HasPrefix(label, typed) || strings.HasPrefix(value, typed):
		return 1
	case strings.Contains(" "+label, " "+typed):
		return 2
	case strings.Contains(label, typed):
		return 3
	case slip(value, typed) || slip(label, typed):
		return 4
	}
	for word := range strings.FieldsSeq(label) {
		if slip(word, typed) {
			return 4
		}
	}
	return -1
}

// closest finds the one candidate that a mistyped word most likely meant.
func closest(word string, candidates []string) (string, bool) {
	word = strings.ToLower(strings.TrimSpace(word))
	best, least := "", 1<<30
	for _, c := range candidates {
		d := measure.EditDistance(word, c)
		if word != "" && strings.HasPrefix(c, word) {
			d = min(d, 1)
		}
		if d < least && d <= slips(len(word)) {
			best, least = c, d
		}
	}
	return best, best != ""
}

func slip(candidate, typed string) bool {
	return measure.EditDistance(candidate, typed) <= slips(len(typed))
}

// slips is how many slips of the finger a word of n letters may hold.
func slips(n int) int {
	switch {
	case n < 3:
		return 0
	case n < 7:
		return 1
	}
	return 2
}
