package commands

import (
	"errors"
	"fmt"

	"tallystick/calc/price"
	"tallystick/store"
)

// fullOf says how much is kept of what can be full, and the way to make room.
var fullOf = map[store.Full]struct {
	most     int
	sentence string
}{
	store.FullPiece:   {price.MaxEntries, "This piece has %s entries, which is all I keep for one. A new piece has room: /piece open."},
	store.FullLot:     {price.MaxEntries, "This lot has %s entries, which is all I keep for one. A new lot has room: /lot add."},
	store.FullEntries: {store.EntryLimit, "You have %s entries, which is all I keep for one member. Keep a copy with /piece export as:json, then make room with /piece delete."},
	store.FullPieces:  {store.PieceLimit, "You have %s pieces, which is all I keep for one member. Keep a copy with /piece export as:json, then make room with /piece delete."},
	store.FullLots:    {store.LotLimit, "You have %s lots, which is all I keep for one member. Keep a copy with /piece export as:json, then begin anew with /piece wipe."},
	store.FullClocks:  {store.ClockLimit, "You have %s clocks running, which is all I keep for one member. Stop one first: /piece clock out."},
	store.FullSales:   {store.SaleLimit, "You share %s sales, which is all I keep for one member. Take one back first: /sale withdraw."},
	store.FullRooms:   {store.RoomsKept, "You have put %s questions to the room, which is all I keep for one member. The oldest goes 90 days after it closed."},
}

// full makes a refusal of what is full. Another error stays as it is.
func full(err error) error {
	f, ok := errors.AsType[*store.FullError](err)
	if !ok {
		return err
	}
	of := fullOf[f.Of]
	return &Refusal{Sentence: fmt.Sprintf(of.sentence, grouped(of.most))}
}

// grouped writes a count with commas.
func grouped(n int) string {
	if n < 1000 {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%s,%03d", grouped(n/1000), n%1000)
}
