package commands

import (
	"context"
	"errors"
	"fmt"
	"strconv"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// maxImportText is how long an import may be: room for all the entries that a
// member may have. A line in the terminal holds less, see MaxLine.
const maxImportText = 16 << 20

func (h house) pieceImport() Command {
	return Command{
		Path:    "piece import",
		Summary: "take job sheets back in from an export",
		Private: true,
		Options: []Option{
			{Name: "json", Summary: "what is in a file from /piece export as:json", Kind: FileText, Required: true, MaxLength: maxImportText,
				Example: `{"format":"` + ledgerFormat + `",...}`},
			yesOption("beside", "put them beside what is there, with new numbers"),
		},
		Examples: []string{`/piece import json:{"format":"` + ledgerFormat + `","next":{"entry":2,"piece":2,"lot":1},"entries":[{"entry":1,"piece":1,"kind":"open","at":"2026-03-02T09:00:00Z","day":"2026-03-02","currency":"USD","facts":{"name":"Harbour bench"}}]}`},
		Run:      h.answerPieceImport,
	}
}

func (h house) answerPieceImport(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	ledger, beside := value(in, "json", readLedger), in.yes("beside", false)
	if in.err != nil {
		return Reply{}, in.err
	}
	first, err := h.Store.ImportLedger(ctx, whoAsks(req), req.Delivery, ledger, beside, req.Time)
	if c, ok := errors.AsType[*price.ContradictionError](err); ok {
		return Reply{}, &Mistake{Option: "json", Given: measure.Quote(in.text("json")), Problem: "does not add up: " + c.Error(), Try: "the file as it was exported"}
	}
	if errors.Is(err, store.ErrFull) {
		return Reply{}, &Refusal{Sentence: fmt.Sprintf("With it there would be more than I keep: %s entries of one piece or lot, %s pieces, %s lots, and %s entries in all.",
			grouped(price.MaxEntries), grouped(store.PieceLimit), grouped(store.LotLimit), grouped(store.EntryLimit))}
	}
	if errors.Is(err, store.ErrConflict) {
		if beside {
			return Reply{}, &Refusal{Sentence: "It cannot stand beside what is there: a clock runs in both, or its numbers meet. Stop the clock, and import again."}
		}
		return Reply{}, &Refusal{Sentence: "You have job sheets here already. To put these beside them with new numbers, say beside:yes; to replace them, /piece wipe first."}
	}
	if err != nil {
		return Reply{}, err
	}
	pieces := map[int]bool{}
	for _, e := range ledger.Entries {
		if e.Piece > 0 {
			pieces[e.Piece] = true
		}
	}
	return Reply{Title: plural(len(pieces), "piece") + " taken in", Private: true, Notes: []string{
		plural(len(ledger.Entries), "entry") + "; pieces are numbered from " + strconv.Itoa(first) + " on. See them with /piece list."}}, nil
}
