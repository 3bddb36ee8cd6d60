package price

// CheckLedger looks whether entries that were kept elsewhere can be one maker's
// ledger: each sound in itself, in order, and about an entry of the same piece and
// lot that it can be about. What is wrong is a *ContradictionError. Whether they
// add up is for FoldSheet and FoldLot.
func CheckLedger(entries []Entry) error {
	byNumber := make(map[int]Entry, len(entries))
	lots, last := map[int]bool{}, 0
	for _, e := range entries {
		if problem := e.Unsound(); problem != "" {
			return contradiction(e, problem)
		}
		if e.Number <= last {
			return contradiction(e, "is out of order")
		}
		if e.Target > 0 {
			target, there := byNumber[e.Target]
			if !there {
				return contradiction(e, "is about an entry that is not there")
			}
			if problem := e.unfit(target); problem != "" {
				return contradiction(e, problem)
			}
		}
		if e.Kind == EntryLot && lots[e.Lot] {
			return contradiction(e, "makes a lot that is there")
		}
		if e.Kind == EntryLot {
			lots[e.Lot] = true
		}
		byNumber[e.Number], last = e, e.Number
	}
	return nil
}

// unfit says why an entry cannot be about another, or "".
func (e Entry) unfit(target Entry) string {
	fits := true
	switch e.Kind {
	case EntryOut:
		fits = target.Kind == EntryIn
	case EntryUndo:
		fits = target.Kind != EntryUndo
	case EntryCorrect, EntryStrike:
		fits = target.Kind.Correctable()
	}
	switch {
	case !fits:
		return "is about an entry of the wrong kind"
	case e.Piece != target.Piece || e.Lot != target.Lot:
		return "is about an entry of another piece or lot"
	}
	return ""
}
