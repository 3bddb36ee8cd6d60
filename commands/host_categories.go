package commands

import (
	"context"
	"unicode"
)

func (h house) hostCategories() Command {
	return Command{
		Path:     "host categories",
		Summary:  "say what kinds of piece the log is sorted by",
		Private:  true,
		HostOnly: true,
		Options:  []Option{wordList("bench, box, shelf, stool, other")},
		Examples: []string{"/host categories list:bench, box, shelf, stool, other"},
		Run:      h.answerHostCategories,
	}
}

func (h house) answerHostCategories(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	words := in.words("list")
	if in.err == nil && len(words) == 0 {
		return Reply{}, &Mistake{Option: "list", Problem: "wants one category at least: each sale has one", Try: "other"}
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	return h.setWords(ctx, in, "Categories", &in.community.Categories, words)
}

func isLetterOrDigit(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }
