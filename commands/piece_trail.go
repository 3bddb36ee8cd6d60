package commands

import (
	"context"
	"strconv"
	"strings"

	"tallystick/calc/price"
	"tallystick/store"
)

const entriesShown = 15

func (h house) pieceTrail() Command {
	return Command{
		Path:    "piece trail",
		Summary: "every entry of a piece, with what was corrected, struck or undone",
		Private: true,
		Options: []Option{
			h.pieceOption(),
			{Name: "before", Summary: "older entries than this number", Kind: Number, Example: "40"},
		},
		Examples: []string{"/piece trail", "/piece trail piece:2"},
		Run:      h.answerPieceTrail,
	}
}

func (h house) answerPieceTrail(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	before := in.whole("before", 1, price.MaxNumber)
	if in.err != nil {
		return Reply{}, in.err
	}
	var p store.Piece
	var entries []price.Entry
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		if p, err = in.piece(ctx, b); err != nil {
			return err
		}
		entries, err = b.Entries(ctx, p.Number)
		return err
	})
	if err != nil {
		return Reply{}, err
	}
	reply := Reply{Title: "Entries of " + lowerFirst(pieceTitle(p)), Private: true}
	t := Table{Columns: []string{"entry", "day", "what"}}
	notes, kinds := trailNotes(entries), map[int]price.EntryKind{}
	for _, e := range entries {
		kinds[e.Number] = e.Kind
	}
	for i := len(entries) - 1; i >= 0; i-- {
		e := entries[i]
		if before > 0 && e.Number >= before {
			continue
		}
		if len(t.Rows) == entriesShown {
			reply.Actions = []Action{{Label: "Older", Path: "piece trail", Options: map[string]string{"piece": strconv.Itoa(p.Number), "before": t.Rows[entriesShown-1][0]}}}
			break
		}
		t.Rows = append(t.Rows, []string{strconv.Itoa(e.Number), shortDay(e.Day), in.trailText(e, kinds[e.Target]) + notes[e.Number]})
	}
	reply.Tables = []Table{t}
	reply.Notes = []string{"The newest first. To put one right: /piece correct entry:" + firstCell(t) + " with what is right and reason:. The last of all your entries: /piece undo."}
	return reply, nil
}

func firstCell(t Table) string {
	if len(t.Rows) == 0 {
		return "1"
	}
	return t.Rows[0][0]
}

// trailNotes says of entries what became of them.
func trailNotes(entries []price.Entry) map[int]string {
	undone, notes := map[int]bool{}, map[int]string{}
	for _, e := range entries {
		if e.Kind == price.EntryUndo {
			undone[e.Target] = true
		}
	}
	for _, e := range entries {
		n := strconv.Itoa(e.Number)
		switch {
		case e.Kind == price.EntryUndo:
			notes[e.Target] += " [undone by " + n + "]"
		case undone[e.Number]:
		case e.Kind == price.EntryCorrect:
			notes[e.Target] += " [corrected by " + n + "]"
		case e.Kind == price.EntryStrike:
			notes[e.Target] += " [struck by " + n + "]"
		}
	}
	return notes
}

// trailText is entryText that says of a correction, too, what is right now; was is the
// kind of the entry that it is about.
func (in *reading) trailText(e price.Entry, was price.EntryKind) string {
	if e.Kind != price.EntryCorrect || was == "" {
		return in.entryText(e)
	}
	right := e
	right.Kind = was
	text := "corrects entry " + strconv.Itoa(e.Target) + " to " + in.entryText(right)
	if reason := oneLine(e.Facts[price.FactReason]); !strings.HasSuffix(text, reason) {
		text += ", " + reason
	}
	return text
}

// entryText says in a few words what an entry wrote down.
func (in *reading) entryText(e price.Entry) string {
	f := e.Facts
	money := ""
	if c, err := price.ParseCurrency(e.Currency); err == nil {
		money = moneyText(price.NewMoney(e.Amount, c), in.req.Locale)
	}
	words := func(parts ...string) string {
		var said []string
		for _, p := range parts {
			if p = oneLine(p); p != "" {
				said = append(said, p)
			}
		}
		return strings.Join(said, ", ")
	}
	target := "entry " + strconv.Itoa(e.Target)
	switch e.Kind {
	case price.EntryOpen:
		return words("opened", f[price.FactName], f[price.FactNote])
	case price.EntryTake:
		return "taken up"
	case price.EntryRename:
		return "renamed to " + oneLine(f[price.FactName])
	case price.EntryPlan:
		c, _ := price.ParseCurrency(e.Currency)
		return "planned: " + in.planRead(f, c)
	case price.EntryClose:
		return statusText(price.Status(f[price.FactOutcome]))
	case price.EntryReopen:
		return words("reopened", f[price.FactReason])
	case price.EntryIn:
		return words("clock started", f[price.FactStage], f[price.FactPerson])
	case price.EntryOut:
		if f.Has(price.FactDoubtful) {
			return words("clock stopped after "+longText(f.Number(price.FactElapsed))+", counts nothing", f[price.FactStage], f[price.FactPerson])
		}
		return words(secondsText(e.Seconds)+" by the clock", f[price.FactStage], f[price.FactPerson], f[price.FactReason], f[price.FactNote])
	case price.EntryTime:
		return words(secondsText(e.Seconds)+" by hand", f[price.FactStage], f[price.FactPerson], f[price.FactReason])
	case price.EntryStock:
		return words("stock for "+money, feetIn(e), f[price.FactWhat], cleaning(e))
	case price.EntryShare:
		return words(millionthsText(e.Millionths, f[price.FactUnit])+" of lot "+strconv.Itoa(e.Lot), f[price.FactWhat])
	case price.EntryCost:
		return words(f[price.FactGroup]+" for "+money, f[price.FactWhat])
	case price.EntryListing:
		return "sale text"
	case price.EntryPost:
		return "offered at " + oneLine(f[price.FactVenue]) + " for " + money
	case price.EntryDown:
		return "taken down at " + oneLine(f[price.FactVenue])
	case price.EntryOffer:
		return oneLine(f[price.FactWho]) + " offers " + money
	case price.EntryGone:
		return oneLine(f[price.FactWho]) + " no longer wants it"
	case price.EntrySold:
		return words("sold for "+money, f[price.FactWho], f[price.FactVenue])
	case price.EntryLot:
		return words("lot "+strconv.Itoa(e.Lot)+", "+millionthsText(e.Millionths, f[price.FactUnit])+" for "+money, f[price.FactWhat])
	case price.EntryLimit:
		return "clock limit of " + secondsText(e.Seconds)
	case price.EntryCorrect:
		return words("corrects "+target, f[price.FactReason])
	case price.EntryStrike:
		return words("strikes "+target, f[price.FactReason])
	case price.EntryUndo:
		return "undoes " + target
	}
	return string(e.Kind)
}

func feetIn(e price.Entry) string {
	if e.Millionths == 0 {
		return ""
	}
	return millionthsText(e.Millionths, price.UnitBoardFeet)
}

func cleaning(e price.Entry) string {
	if e.Seconds == 0 {
		return ""
	}
	return secondsText(e.Seconds) + " of cleaning"
}
