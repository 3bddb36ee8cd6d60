package store_test

import (
	"context"
	"fmt"
	"strings"
	"time"

	"tallystick/calc/pool"
	"tallystick/store"
)

// What stands in testdata/schemas was written by these same words, by the program
// of its time.

// tellSharing says in words what of sharing a database holds.
func tellSharing(ctx context.Context, s *store.Store, who store.Who) (string, error) {
	c, err := s.Community(ctx, who.Community)
	if err != nil {
		return "", err
	}
	consent, given, err := s.Consent(ctx, who)
	if err != nil {
		return "", err
	}
	sales, err := s.Sales(ctx, who)
	if err != nil {
		return "", err
	}
	lines, err := s.Published(ctx, who.Community)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "community: %s, categories %q, regions %q, practice %v\n", c.Currency, c.Categories, c.Regions, c.Practice)
	fmt.Fprintf(&b, "consent: %v, to wording %d, on %s\n", given, consent.Wording, consent.Given.Format(time.DateOnly))
	for _, sale := range sales {
		fmt.Fprintf(&b, "sale %d: %s\n", sale.Number, tellSale(sale.Sale))
	}
	for _, l := range lines {
		for _, p := range l.Figures {
			if p.Shown {
				fmt.Fprintf(&b, "published of %s on %s: figure %d is %d, of %d makers\n", l.Cut, p.AsOf.Time().Format(time.DateOnly), p.Figure, p.Value, p.Makers)
			}
		}
	}
	return b.String(), nil
}

func tellSale(sale store.Sale) string {
	var text strings.Builder
	fmt.Fprintf(&text, "%s, %s, %s, month %d", sale.Category, sale.SpeciesGroup, sale.Region, sale.Sold)
	for _, f := range pool.Figures(pool.Everything) {
		if v, ok := sale.Values.Of(f); ok {
			fmt.Fprintf(&text, ", figure %d is %d", f, v)
		}
	}
	return text.String()
}

// tellSettings says in words what a member has set.
func tellSettings(ctx context.Context, s *store.Store, who store.Who) (string, error) {
	set, err := s.Settings(ctx, who)
	if err != nil {
		return "", err
	}
	var text strings.Builder
	fmt.Fprintf(&text, "settings: %q %q, tape %d", set.Currency, set.Units, set.Tape)
	if set.Rate != nil {
		fmt.Fprintf(&text, ", rate %d %s", set.Rate.Minor, set.Rate.Currency)
	}
	if set.Haggle != nil {
		fmt.Fprintf(&text, ", haggle %d", *set.Haggle)
	}
	for _, v := range set.Venues {
		fmt.Fprintf(&text, ", venue %q %d %d", v.Name, v.Fee, v.Share)
	}
	return text.String() + "\n", nil
}

// tellSheets says in words what a member's job sheets hold.
func tellSheets(ctx context.Context, s *store.Store, who store.Who) (string, error) {
	var b strings.Builder
	err := s.ReadBook(ctx, who, func(book *store.Book) error {
		pieces, err := book.Pieces(ctx, "", 0, 100)
		if err != nil {
			return err
		}
		for _, p := range pieces {
			sheet, err := book.Sheet(ctx, p.Number)
			if err != nil {
				return err
			}
			fmt.Fprintf(&b, "piece %d: %q %q %s, %d s, cost %d %s, %d running\n", p.Number, p.Name, p.Category, p.Status,
				sheet.OwnSeconds(), sheet.Cost(), sheet.Currency.Code(), len(sheet.Running))
		}
		entries, err := book.EveryEntry(ctx)
		for _, e := range entries {
			fmt.Fprintf(&b, "entry %d: %s of piece %d, lot %d, at %d on day %d, about %d, %d %s, %d s, %d, %v\n",
				e.Number, e.Kind, e.Piece, e.Lot, e.At, e.Day, e.Target, e.Amount, e.Currency, e.Seconds, e.Millionths, e.Facts)
		}
		return err
	})
	return b.String(), err
}

// tellAsked says in words what was asked, of the program and of the room.
func tellAsked(ctx context.Context, s *store.Store, who store.Who, code, room string) (string, error) {
	told, err := s.Question(ctx, who, code, oldNow)
	if err != nil {
		return "", err
	}
	r, err := s.Room(ctx, who, room, oldNow)
	return fmt.Sprintf("question: %v\nroom: %v, %d answers, closed %v, own %v\n", told, r.Card, r.Answers, r.Closed, r.Own), err
}
