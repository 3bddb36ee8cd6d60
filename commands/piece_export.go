package commands

import (
	"context"
	"math/big"
	"strconv"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

func (h house) pieceExport() Command {
	return Command{
		Path:    "piece export",
		Summary: "all your job sheets as a file; or one year of payments and sales",
		Private: true,
		Options: []Option{
			{Name: "as", Summary: "what kind of file; json unless you say", Kind: Word, Example: "json", Choices: []Choice{
				{"json", "everything, to keep or to import again"}, {"csv", "every entry, for a spreadsheet"}, {"pieces", "one row a piece, for a spreadsheet"}}},
			{Name: "year", Summary: "instead: payments and sales of a year, with days", Kind: Number, Example: "2026"},
		},
		Examples: []string{"/piece export", "/piece export as:csv", "/piece export year:2026"},
		Run:      h.answerPieceExport,
	}
}

func (h house) answerPieceExport(ctx context.Context, req Request) (Reply, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return Reply{}, err
	}
	year := in.year()
	if in.err != nil {
		return Reply{}, in.err
	}
	ledger, err := h.Store.Ledger(ctx, whoAsks(req))
	if err != nil {
		return Reply{}, err
	}
	if len(ledger.Entries) == 0 {
		return Reply{Title: "There is nothing to export", Private: true, Notes: []string{"To begin: " + h.pieceOpen().Examples[0]}}, nil
	}
	day := shortDay(today(req))
	switch {
	case year > 0:
		return yearReply(in, ledger, year)
	case req.Options["as"] == "csv":
		return fileReply("Every entry, for a spreadsheet", "job-sheets-"+day+".csv", entryRows(ledger.Entries))
	case req.Options["as"] == "pieces":
		var rows [][]string
		err := h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
			rows, err = sheetRows(ctx, b)
			return err
		})
		if err != nil {
			return Reply{}, err
		}
		return fileReply("One row a piece, for a spreadsheet", "pieces-"+day+".csv", rows)
	}
	text, err := writeLedger(ledger)
	if err != nil {
		return Reply{}, err
	}
	return Reply{Title: "All your job sheets", Private: true, File: &File{Name: "job-sheets-" + day + ".json", MediaType: "application/json", Bytes: text},
		Notes: []string{plural(len(ledger.Entries), "entry") + ", with all that was corrected and undone. /piece import takes it back, as the file; in the terminal as json:@ and the file's name."}}, nil
}

func (in *reading) year() int {
	if !in.has("year") {
		return 0
	}
	if in.has("as") {
		in.fail(&Mistake{Option: "year", Given: measure.Quote(in.text("year")), Problem: "and as say two different files", Try: "one of the two"})
	}
	return value(in, "year", func(text string) (int, error) {
		now := in.req.Time.UTC().Year()
		n, err := strconv.Atoi(strings.TrimSpace(text))
		if err != nil || n < 2000 || n > now {
			return 0, &measure.InputError{Value: text, Problem: "is not a year from 2000 to " + strconv.Itoa(now), Hint: strconv.Itoa(now)}
		}
		return n, nil
	})
}

func fileReply(title, name string, rows [][]string) (Reply, error) {
	text, err := writeCSV(rows)
	if err != nil {
		return Reply{}, err
	}
	return Reply{Title: title, Private: true, File: &File{Name: name, MediaType: "text/csv", Bytes: text},
		Notes: []string{plural(len(rows)-1, "row") + ". A cell that a spreadsheet would run as a formula has an apostrophe before it."}}, nil
}

// yearReply is a year's payments and sales, with their sums.
func yearReply(in *reading, ledger store.Ledger, year int) (Reply, error) {
	rows := yearRows(ledger.Entries, year)
	reply, err := fileReply("Payments and sales of "+strconv.Itoa(year), "job-sheets-year-"+strconv.Itoa(year)+".csv", rows)
	if err != nil {
		return Reply{}, err
	}
	sums := map[string][2]*big.Rat{}
	var order []string
	for _, row := range rows[1:] {
		c := row[8]
		if _, ok := sums[c]; !ok {
			sums[c] = [2]*big.Rat{new(big.Rat), new(big.Rat)}
			order = append(order, c)
		}
		for i, cell := range row[5:7] {
			if n, err := measure.ParseNumber(cell); cell != "" && err == nil {
				sums[c][i].Add(sums[c][i], n.Rat())
			}
		}
	}
	for _, code := range order {
		c, err := price.ParseCurrency(code)
		if err != nil {
			return Reply{}, err
		}
		reply.Figures = append(reply.Figures, moneyFigure("money_in", "Money in, without sales tax", moneyOfRat(sums[code][0], c), in.req),
			moneyFigure("money_out", "Money out, with fees and taxes paid", moneyOfRat(sums[code][1], c), in.req))
	}
	reply.Notes = append(reply.Notes,
		"Each payment and sale stands on its day, as you gave it. A lot stands on the day it was bought, so the shares of it that pieces took are no rows. Your own hours are no payment.",
		"Costs by share or per hour stand as they were put on a piece. What counts for tax, and when, is for your own authority or adviser.")
	return reply, nil
}

// sheetRows is one row a piece with what its sheet adds up to.
func sheetRows(ctx context.Context, b *store.Book) ([][]string, error) {
	rows := [][]string{{"piece", "name", "category", "status", "opened", "ended", "hours", "helper_hours", "costs", "board_feet", "first_asked",
		"asked", "sold", "currency", "realised_hourly", "wanted_hourly", "estimate_hours", "days_to_sell"}}
	pieces, err := b.Pieces(ctx, "", 0, price.MaxNumber)
	if err != nil {
		return nil, err
	}
	for i := len(pieces) - 1; i >= 0; i-- {
		s, err := b.Sheet(ctx, pieces[i].Number)
		if err != nil {
			return nil, err
		}
		row, err := sheetRow(pieces[i], s)
		if err != nil {
			return nil, err
		}
		rows = append(rows, row)
	}
	return rows, nil
}

func sheetRow(p store.Piece, s price.Sheet) ([]string, error) {
	hours := func(seconds int64) string { return measure.Decimal(big.NewRat(seconds, 3600), 4) }
	code, ended, sold, hourly, days := s.Currency.Code(), "", "", "", ""
	if s.Ended > 0 {
		ended = shortDay(s.Ended)
	}
	if s.Sale != nil {
		sold = plainMinor(s.Sale.Amount, code)
		if job := s.Job(); job.Hours > 0 {
			h, err := job.Hourly(s.Money(s.Sale.Amount))
			if err != nil {
				return nil, err
			}
			hourly = h.Plain()
		}
		if n, known := s.DaysToSell(); known {
			days = strconv.Itoa(n)
		}
	}
	return []string{strconv.Itoa(p.Number), p.Name, p.Category, string(p.Status), shortDay(s.Opened), ended, hours(s.OwnSeconds()), hours(s.HelperSeconds()),
		s.Money(s.Cost()).Plain(), measure.Decimal(big.NewRat(s.Millionths, 1_000_000), 3), plainMinor(s.FirstAsk, code), plainMinor(s.Ask, code), sold, code,
		hourly, plainMinor(s.Facts.Number(price.FactRate), code), hours(price.Seconds(s.Facts.Time(price.FactEstimate))), days}, nil
}
