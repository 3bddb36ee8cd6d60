package commands

import (
	"errors"
	"fmt"

	"tallystick/calc/price"
	"tallystick/store"
)

// full makes of what is full a refusal that names how much is kept and the way to
// make room. Another error stays as it is.
func full(err error) error {
	f, ok := errors.AsType[*store.FullError](err)
	if !ok {
		return err
	}
	sentence := ""
	switch f.Of {
	case store.FullPiece:
		sentence = "This piece has " + grouped(price.MaxEntries) + " entries, which is all I keep for one. A new piece has room: /piece open."
	case store.FullLot:
		sentence = "This lot has " + grouped(price.MaxEntries) + " entries, which is all I keep for one. A new lot has room: /lot add."
	case store.FullEntries:
		sentence = "You have " + grouped(store.EntryLimit) + " entries, which is all I keep for one member. Keep a copy with /piece export as:json, then make room with /piece delete."
	case store.FullPieces:
		sentence = "You have " + grouped(store.PieceLimit) + " pieces, which is all I keep for one member. Keep a copy with /piece export as:json, then make room with /piece delete."
	case store.FullLots:
		sentence = "You have " + grouped(store.LotLimit) + " lots, which is all I keep for one member. Keep a copy with /piece export as:json, then begin anew with /piece wipe."
	case store.FullClocks:
		sentence = "You have " + grouped(store.ClockLimit) + " clocks running, which is all I keep for one member. Stop one first: /piece clock out."
	case store.FullSales:
		sentence = "You share " + grouped(store.SaleLimit) + " sales, which is all I keep for one member. Take one back first: /sale withdraw."
	case store.FullRooms:
		sentence = "You have put " + grouped(store.RoomsKept) + " questions to the room, which is all I keep for one member. The oldest goes 90 days after it closed."
	default:
		return err
	}
	return &Refusal{Sentence: sentence}
}

// grouped writes a count with commas.
func grouped(n int) string {
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%s,%03d", grouped(n/1000), n%1000)
}
