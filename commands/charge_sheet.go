package commands

import (
	"context"
	"errors"
	"strings"

	"tallystick/calc/measure"
	"tallystick/calc/price"
	"tallystick/store"
)

// toldBySheet is what a job sheet tells of its piece, as a member would type it:
// the piece that was named, else the open one. Without either it is empty.
func (h house) toldBySheet(ctx context.Context, req Request) (map[string]string, error) {
	in, err := h.read(ctx, req)
	if err != nil {
		return nil, err
	}
	var sheet price.Sheet
	err = h.Store.ReadBook(ctx, whoAsks(req), func(b *store.Book) error {
		var p store.Piece
		if in.has("piece") {
			p, err = in.piece(ctx, b)
		} else {
			p, err = b.Current(ctx)
		}
		if err == nil {
			sheet, err = b.Sheet(ctx, p.Number)
		}
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return map[string]string{}, nil
	}
	if err != nil {
		return nil, err
	}
	return sheetAsTyped(sheet, in), nil
}

// sheetAsTyped writes a sheet's facts as the options of a charge. What the sheet
// does not hold is left out.
func sheetAsTyped(s price.Sheet, in *reading) map[string]string {
	job, told := s.Job(), map[string]string{}
	put := func(name, text string, known bool) {
		if known && text != "" {
			told[name] = text
		}
	}
	put("hours", measure.FormatDuration(job.Hours), job.Hours > 0)
	put("materials", job.Cost.String(), s.Cost() > 0)
	put("fee", job.Fee.Percent()+"%", !job.Fee.IsZero())
	put("fixed-fee", job.Fixed.String(), s.Facts.Has(price.FactFixed))
	put("rate", s.Wanted().String(), s.Facts.Has(price.FactRate))
	put("haggle", s.Facts.Fraction(price.FactHaggle).Percent()+"%", s.Facts.Has(price.FactHaggle))
	if size := s.Facts.Size(); size != nil {
		put("size", strings.TrimSpace(size.Metric()), true)
	}
	for _, c := range in.community.Categories {
		put("category", c, c == s.Facts[price.FactCategory])
	}
	return told
}
