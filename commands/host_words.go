package commands

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"tallystick/calc/measure"
)

// How long the host's lists may be, and a word in them.
const mostWords, longestWord = 40, 32

// wordList is the option of a list that replaces another.
func wordList(example string) Option {
	return Option{Name: "list", Summary: "all of them, commas between; it replaces the list there is", Kind: List, Required: true, MaxLength: 1400, Example: example}
}

// words reads a list of words: lower case, hyphens for spaces, none twice.
func (in *reading) words(name string) []string {
	return value(in, name, func(text string) ([]string, error) {
		if strings.EqualFold(strings.TrimSpace(text), "none") {
			return nil, nil
		}
		o, _ := in.req.command.Option(name)
		var list []string
		for part := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
			word := strings.ToLower(strings.Join(strings.Fields(part), "-"))
			problem := ""
			switch {
			case word == "":
				continue
			case utf8.RuneCountInString(word) > longestWord:
				problem = "is longer than " + strconv.Itoa(longestWord) + " letters"
			case strings.ContainsFunc(word, func(r rune) bool { return r != '-' && !isLetterOrDigit(r) }):
				problem = "holds something beside letters, digits and hyphens"
			case slices.Contains(list, word):
				problem = "stands there twice"
			}
			if problem != "" {
				return nil, &measure.InputError{Value: strings.TrimSpace(part), Problem: problem, Hint: o.Example}
			}
			list = append(list, word)
		}
		if len(list) > mostWords {
			return nil, &measure.InputError{Value: text, Problem: "has " + strconv.Itoa(len(list)) + " words and I keep at most " + strconv.Itoa(mostWords), Hint: "the ones that are sold here often"}
		}
		return list, nil
	})
}

// changedWords says what came and what went.
func changedWords(old, list []string) []string {
	var notes []string
	say := func(lead string, words []string) {
		if len(words) > 0 {
			notes = append(notes, lead+strings.Join(words, ", ")+".")
		}
	}
	say("Added: ", slices.DeleteFunc(slices.Clone(list), func(w string) bool { return slices.Contains(old, w) }))
	say("No longer offered: ", slices.DeleteFunc(slices.Clone(old), func(w string) bool { return slices.Contains(list, w) }))
	return append(notes, "Sales that were shared keep their word, and a figure that was ever shown for it is still given.")
}

// setWords replaces one list of the community and answers with it.
func (h house) setWords(ctx context.Context, in *reading, what string, list *[]string, words []string) (Reply, error) {
	old := *list
	*list = words
	if err := h.Store.SetCommunity(ctx, in.req.Community, in.community); err != nil {
		return Reply{}, err
	}
	return Reply{Title: what + ": " + wordsText(words), Private: true, Notes: changedWords(old, words)}, nil
}
