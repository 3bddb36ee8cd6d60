package commands

import (
	"context"

	"tallystick/calc/measure"
)

func (h house) hostRegions() Command {
	return Command{
		Path:     "host regions",
		Summary:  "say what parts of the country sales may be filed under",
		Private:  true,
		HostOnly: true,
		Options:  []Option{wordList("harbour, river-towns, uplands")},
		Examples: []string{"/host regions list:harbour, river-towns, uplands", "/host regions list:none"},
		Run:      h.answerHostRegions,
	}
}

func (h house) answerHostRegions(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	words := in.words("list")
	if in.err == nil && len(words) == 1 {
		return Reply{}, &Mistake{Option: "list", Given: measure.Quote(req.Options["list"]),
			Problem: "is one region, and whatever is shown for one gives away the few makers outside it", Try: "two regions or more, or none"}
	}
	if in.err != nil {
		return Reply{}, in.err
	}
	return h.setWords(ctx, in, "Regions", &in.community.Regions, words)
}
