package commands

import (
	"context"
	"strconv"

	"tallystick/calc/price"
	"tallystick/store"
)

const piecesShown = 10

func (h house) pieceList() Command {
	return Command{
		Path:    "piece list",
		Summary: "your pieces, the newest first",
		Private: true,
		Options: []Option{
			{Name: "status", Summary: "only those that are so far", Kind: Word, Example: "open", Choices: []Choice{
				{string(price.StatusOpen), "in the making"}, {string(price.StatusListed), "offered for sale"}, {string(price.StatusSold), "sold"},
				{string(price.StatusKept), "kept"}, {string(price.StatusGiven), "given away"}, {string(price.StatusScrapped), "scrapped"}}},
			{Name: "before", Summary: "older ones than this number", Kind: Number, Example: "11"},
		},
		Examples: []string{"/piece list", "/piece list status:sold"},
		Run:      h.answerPieceList,
	}
}

func (h house) answerPieceList(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	before, status := in.whole("before", 1, price.MaxNumber), price.Status(req.Options["status"])
	if in.err != nil {
		return Reply{}, in.err
	}
	reply := Reply{Title: "Your pieces", Private: true}
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		pieces, err := b.Pieces(ctx, status, before, piecesShown+1)
		if err != nil {
			return err
		}
		if len(pieces) == 0 {
			reply.Title = "No pieces here"
			reply.Notes = []string{"To begin one: " + h.pieceOpen().Examples[0]}
			return nil
		}
		if len(pieces) > piecesShown {
			options := map[string]string{"before": strconv.Itoa(pieces[piecesShown-1].Number)}
			if status != "" {
				options["status"] = string(status)
			}
			reply.Actions = []Action{{Label: "Older", Path: "piece list", Options: options}}
			pieces = pieces[:piecesShown]
		}
		t := Table{Columns: []string{"no.", "piece", "stands", "time"}}
		for _, p := range pieces {
			row, err := pieceRow(ctx, in, b, p)
			if err != nil {
				return err
			}
			t.Rows = append(t.Rows, row)
		}
		reply.Tables = []Table{t}
		return h.listNotes(ctx, in, b, &reply)
	})
	return reply, err
}

// pieceRow is one piece in a list.
func pieceRow(ctx context.Context, in *reading, b *store.Book, p store.Piece) ([]string, error) {
	s, err := b.Sheet(ctx, p.Number)
	if err != nil {
		return nil, err
	}
	stands := statusText(p.Status)
	switch {
	case s.Sale != nil:
		stands = "sold " + moneyText(s.Money(s.Sale.Amount), in.req.Locale)
		if job := s.Job(); job.Hours > 0 {
			hourly, err := job.Hourly(s.Money(s.Sale.Amount))
			if err != nil {
				return nil, err
			}
			stands += ", " + moneyText(hourly, in.req.Locale) + "/h"
		}
	case p.Status == price.StatusListed:
		stands = "asking " + moneyText(s.Money(s.Ask), in.req.Locale)
	}
	return []string{strconv.Itoa(p.Number), shorten(oneLine(p.Name), 24), stands, secondsText(s.OwnSeconds())}, nil
}

// listNotes counts the pieces, and names the open one and the clocks.
func (h house) listNotes(ctx context.Context, in *reading, b *store.Book, reply *Reply) error {
	counts, err := b.Counts(ctx)
	if err != nil {
		return err
	}
	var parts []string
	for _, s := range []price.Status{price.StatusOpen, price.StatusListed, price.StatusSold, price.StatusKept, price.StatusGiven, price.StatusScrapped} {
		if n := counts[s]; n > 0 {
			parts = append(parts, strconv.Itoa(n)+" "+statusText(s))
		}
	}
	reply.Notes = append(reply.Notes, sentence("In all: ", parts...))
	current, err := b.Current(ctx)
	switch {
	case err == nil && running(current) != nil:
		reply.Notes = append(reply.Notes, "Commands still go to piece "+strconv.Itoa(current.Number)+", "+oneLine(current.Name)+", which is "+statusText(current.Status)+". Take up another with /piece take and its number.")
	case err == nil:
		reply.Notes = append(reply.Notes, "The open piece is "+strconv.Itoa(current.Number)+", "+oneLine(current.Name)+".")
	case !isNotFound(err):
		return err
	}
	clocks, err := b.Clocks(ctx)
	if err != nil {
		return err
	}
	for _, c := range clocks {
		reply.Notes = append(reply.Notes, capital(clockName(c.Person))+" runs on piece "+strconv.Itoa(c.Piece.Number)+stageText(c.Stage)+" for "+longText(max(in.req.Time.Unix()-c.Began, 0))+".")
	}
	warned, err := h.clockNotesOf(ctx, in, b)
	reply.Notes = append(reply.Notes, warned...)
	return err
}
