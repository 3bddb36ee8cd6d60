package commands

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"slices"
	"time"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// ledgerFormat names the JSON form of a ledger and its version.
const ledgerFormat = "tallystick job sheets 1"

// carried is a ledger as JSON.
type carried struct {
	Format  string         `json:"format"`
	Next    carriedNext    `json:"next"`
	Entries []carriedEntry `json:"entries"`
}

// carriedNext are the numbers given next.
type carriedNext struct {
	Entry int `json:"entry"`
	Piece int `json:"piece"`
	Lot   int `json:"lot"`
}

// carriedEntry is one entry. Amounts are minor units, quantities millionths.
type carriedEntry struct {
	Entry      int          `json:"entry"`
	Piece      int          `json:"piece,omitempty"`
	Lot        int          `json:"lot,omitempty"`
	Kind       string       `json:"kind"`
	At         string       `json:"at"`
	Day        string       `json:"day"`
	Target     int          `json:"target,omitempty"`
	Amount     int64        `json:"amount_minor,omitempty"`
	Currency   string       `json:"currency,omitempty"`
	Seconds    int64        `json:"seconds,omitempty"`
	Millionths int64        `json:"millionths,omitempty"`
	Facts      carriedFacts `json:"facts,omitempty"`
}

// carriedFacts are written in order, and so that a line of them can be typed back
// as the value of an option: a colon inside a text is written as \u003a.
type carriedFacts price.Facts

// MarshalJSON writes the facts.
func (f carriedFacts) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, name := range slices.Sorted(maps.Keys(f)) {
		if i > 0 {
			b.WriteByte(',')
		}
		text, err := json.Marshal(f[name])
		if err != nil {
			return nil, err
		}
		b.WriteString(`"` + string(name) + `":`)
		b.Write(bytes.ReplaceAll(text, []byte(":"), []byte(`\u003a`)))
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// writeLedger writes a ledger on one line.
func writeLedger(l store.Ledger) ([]byte, error) {
	c := carried{Format: ledgerFormat, Next: carriedNext{l.NextEntry, l.NextPiece, l.NextLot}, Entries: []carriedEntry{}}
	for _, e := range l.Entries {
		c.Entries = append(c.Entries, carriedEntry{Entry: e.Number, Piece: e.Piece, Lot: e.Lot, Kind: string(e.Kind),
			At: time.Unix(e.At, 0).UTC().Format(time.RFC3339), Day: shortDay(e.Day), Target: e.Target,
			Amount: e.Amount, Currency: e.Currency, Seconds: e.Seconds, Millionths: e.Millionths, Facts: carriedFacts(e.Facts)})
	}
	var b bytes.Buffer
	out := json.NewEncoder(&b)
	out.SetEscapeHTML(false)
	err := out.Encode(c)
	return b.Bytes(), err
}

// readLedger reads what writeLedger wrote. What it cannot take is a mistake.
func readLedger(text string) (store.Ledger, error) {
	wrong := func(problem string) error {
		return &measure.InputError{Value: text, Problem: problem, Hint: "the one line of a file from /piece export as:json"}
	}
	var c carried
	in := json.NewDecoder(bytes.NewReader([]byte(text)))
	in.DisallowUnknownFields()
	if err := in.Decode(&c); err != nil {
		return store.Ledger{}, wrong("is not JSON of job sheets, or not all of it")
	}
	if _, err := in.Token(); !errors.Is(err, io.EOF) {
		return store.Ledger{}, wrong("goes on behind the end of its JSON")
	}
	switch {
	case c.Format != ledgerFormat:
		return store.Ledger{}, wrong("is not an export of job sheets that I can read")
	case len(c.Entries) == 0:
		return store.Ledger{}, wrong("holds no entries")
	case len(c.Entries) > store.EntryLimit:
		return store.Ledger{}, wrong("holds more than 100,000 entries")
	}
	l := store.Ledger{NextEntry: 1, NextPiece: 1, NextLot: 1}
	for _, one := range c.Entries {
		e, err := one.entry()
		if err != nil {
			return store.Ledger{}, wrong("has a date that I cannot read")
		}
		l.Entries = append(l.Entries, e)
		l.NextEntry, l.NextPiece, l.NextLot = max(l.NextEntry, e.Number+1), max(l.NextPiece, e.Piece+1), max(l.NextLot, e.Lot+1)
	}
	// Numbers that were given and are gone stay given.
	l.NextEntry, l.NextPiece, l.NextLot = max(l.NextEntry, c.Next.Entry), max(l.NextPiece, c.Next.Piece), max(l.NextLot, c.Next.Lot)
	if max(l.NextEntry, l.NextPiece, l.NextLot) > price.MaxNumber {
		return store.Ledger{}, wrong("has numbers out of bounds")
	}
	if err := price.CheckLedger(l.Entries); err != nil {
		return store.Ledger{}, wrong("does not fit together: " + err.Error())
	}
	return l, nil
}

func (c carriedEntry) entry() (price.Entry, error) {
	at, err := time.Parse(time.RFC3339, c.At)
	if err != nil {
		return price.Entry{}, err
	}
	day, err := time.Parse(time.DateOnly, c.Day)
	if err != nil {
		return price.Entry{}, err
	}
	facts := price.Facts(c.Facts)
	if facts == nil {
		facts = price.Facts{}
	}
	return price.Entry{Number: c.Entry, Piece: c.Piece, Lot: c.Lot, Kind: price.EntryKind(c.Kind), At: at.Unix(), Day: int(day.Unix() / 86400),
		Target: c.Target, Amount: c.Amount, Currency: c.Currency, Seconds: c.Seconds, Millionths: c.Millionths, Facts: facts}, nil
}
