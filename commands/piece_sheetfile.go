package commands

import (
	"bytes"
	"encoding/csv"
	"math/big"
	"strconv"
	"strings"
	"unicode/utf8"

	"tallystick/calc/measure"
	"tallystick/calc/price"
)

// formulaStarts are the characters that make a spreadsheet run a cell.
const formulaStarts = "=+-@\t\r\n＝＋－＠"

// safeCell puts an apostrophe before what a spreadsheet would run as a formula. It
// then shows the cell as the text that was typed.
func safeCell(text string) string {
	first, _ := utf8.DecodeRuneInString(strings.TrimLeft(text, " "))
	if text != "" && strings.ContainsRune(formulaStarts, first) {
		return "'" + text
	}
	return text
}

// writeCSV writes rows as RFC 4180 has them, every cell safe.
func writeCSV(rows [][]string) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	for _, row := range rows {
		safe := make([]string, len(row))
		for i, cell := range row {
			safe[i] = safeCell(cell)
		}
		if err := w.Write(safe); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

// plainMinor writes minor units as a plain decimal.
func plainMinor(minor int64, currency string) string {
	c, err := price.ParseCurrency(currency)
	if err != nil || minor == 0 {
		return ""
	}
	return price.NewMoney(minor, c).Plain()
}

func orBlank(n int64) string {
	if n == 0 {
		return ""
	}
	return strconv.FormatInt(n, 10)
}

// entryRows is every entry on a row of its own, as it was written, with what became
// of it.
func entryRows(entries []price.Entry) [][]string {
	names, became := pieceNames(entries), trailNotes(entries)
	head := []string{"entry", "piece", "piece_name", "lot", "kind", "day", "written_at", "about_entry", "amount", "currency", "minutes", "quarter_hours", "quantity", "became"}
	facts := price.FactNames()
	for _, f := range facts {
		head = append(head, string(f))
	}
	rows := [][]string{head}
	for _, e := range entries {
		minutes, quarters := "", ""
		if e.Seconds > 0 {
			minutes = measure.Decimal(big.NewRat(e.Seconds, 60), 2)
			quarters = measure.Decimal(big.NewRat(price.QuarterHours(e.Seconds/60), 60), 2)
		}
		quantity := ""
		if e.Millionths > 0 {
			quantity = measure.Decimal(big.NewRat(e.Millionths, 1_000_000), 6)
		}
		row := []string{strconv.Itoa(e.Number), orBlank(int64(e.Piece)), names[e.Piece], orBlank(int64(e.Lot)), string(e.Kind), shortDay(e.Day),
			timeText(e.At), orBlank(int64(e.Target)), plainMinor(e.Amount, e.Currency), e.Currency, minutes, quarters, quantity, strings.TrimSpace(became[e.Number])}
		for _, f := range facts {
			row = append(row, factCell(f, e))
		}
		rows = append(rows, row)
	}
	return rows
}

// factCell writes a fact for a spreadsheet: money as a decimal, a time in minutes.
func factCell(f price.Fact, e price.Entry) string {
	if !e.Facts.Has(f) {
		return ""
	}
	switch f {
	case price.FactRate, price.FactFixed, price.FactPay, price.FactTrip, price.FactTax:
		if n := e.Facts.Number(f); n > 0 {
			return plainMinor(n, e.Currency)
		}
		return "0"
	case price.FactEstimate, price.FactElapsed:
		return measure.Decimal(big.NewRat(e.Facts.Number(f), 60), 2)
	case price.FactBegan, price.FactHold:
		return timeText(e.Facts.Number(f))
	case price.FactSize:
		return e.Facts.Size().Metric()
	}
	return e.Facts[f]
}

func timeText(unix int64) string {
	return dayTime(0).Add(secondsOf(unix)).Format("2006-01-02T15:04:05Z")
}

// pieceNames is each piece's name as it stands.
func pieceNames(entries []price.Entry) map[int]string {
	names := map[int]string{}
	for _, e := range price.Live(entries) {
		if name := e.Facts[price.FactName]; name != "" {
			names[e.Piece] = name
		}
	}
	return names
}

// yearRows is what a tax return asks for: every payment and every sale of a year
// with its day. A lot is paid for when it is bought, so the shares that pieces take
// of it are no payments.
func yearRows(entries []price.Entry, year int) [][]string {
	names := pieceNames(entries)
	rows := [][]string{{"day", "what", "details", "piece", "name", "money_in", "money_out", "sales_tax", "currency", "entry"}}
	live := price.Live(entries)
	reversed := reversedSales(live)
	for _, e := range live {
		if dayTime(e.Day).Year() != year || reversed[e.Number] {
			continue
		}
		add := func(what, details string, in, out, tax int64) {
			if in == 0 && out == 0 && tax == 0 {
				return
			}
			rows = append(rows, []string{shortDay(e.Day), what, details, orBlank(int64(e.Piece)), names[e.Piece], plainMinor(in, e.Currency),
				plainMinor(out, e.Currency), plainMinor(tax, e.Currency), e.Currency, strconv.Itoa(e.Number)})
		}
		f, trip := e.Facts, e.Facts.Number(price.FactTrip)
		switch e.Kind {
		case price.EntrySold:
			add("sale", f[price.FactWho], e.Amount, 0, 0)
			add("sales tax taken, to be passed on", f[price.FactWho], 0, 0, f.Number(price.FactTax))
			add("selling fee", f[price.FactVenue], 0, feeOf(e), 0)
		case price.EntryStock, price.EntryLot:
			add("stock", f[price.FactWhat], 0, e.Amount-trip, f.Number(price.FactTax))
			add("trip", f[price.FactWhat], 0, trip, 0)
		case price.EntryCost:
			add(f[price.FactGroup], f[price.FactWhat], 0, e.Amount, f.Number(price.FactTax))
		case price.EntryTime, price.EntryOut:
			add("helper", f[price.FactPerson], 0, e.Amount, 0)
		}
	}
	return rows
}

// reversedSales are the sales that a reopening took back.
func reversedSales(live []price.Entry) map[int]bool {
	last, reversed := map[int]int{}, map[int]bool{}
	for _, e := range live {
		switch e.Kind {
		case price.EntrySold:
			last[e.Piece] = e.Number
		case price.EntryReopen:
			reversed[last[e.Piece]] = true
			delete(last, e.Piece)
		}
	}
	return reversed
}

// feeOf is the fee of a sale in minor units: P·p + f, rounded half to even.
func feeOf(e price.Entry) int64 {
	c, err := price.ParseCurrency(e.Currency)
	if err != nil {
		return 0
	}
	share, err := price.CostOf(e.Facts.Fraction(price.FactFee).Decimal().Rat(), price.NewMoney(e.Amount, c))
	if err != nil {
		return 0
	}
	minor, err := share.Minor()
	if err != nil {
		return 0
	}
	return minor + e.Facts.Number(price.FactFixed)
}
