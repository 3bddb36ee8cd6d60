package commands

import "strings"

// matching orders the choices that could be meant by what was typed: the same,
// then those beginning with it, then those with a word beginning with it, then
// those holding it, then those a slip of the finger away.
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
	return -1
}

// closest finds the one candidate that a mistyped word most likely meant.
func closest(word string, candidates []string) (string, bool) {
	word = strings.ToLower(strings.TrimSpace(word))
	best, least := "", 1<<30
	for _, c := range candidates {
		d := distance(word, c)
		if word != "" && strings.HasPrefix(c, word) {
			d = min(d, 1)
		}
		if d < least && d <= slips(len(word)) {
			best, least = c, d
		}
	}
	return best, best != ""
}

func slip(candidate, typed string) bool { return distance(candidate, typed) <= slips(len(typed)) }

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

// distance counts insertions, deletions, substitutions and swaps of neighbours
// between two words (Damerau-Levenshtein, optimal string alignment).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 64 || len(y) > 64 {
		return 1 << 20
	}
	above, row, next := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(x); i++ {
		next[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			next[j] = min(row[j]+1, next[j-1]+1, row[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				next[j] = min(next[j], above[j-2]+1)
			}
		}
		above, row, next = row, next, above
	}
	return row[len(y)]
}
