package store

import (
	"context"
	"database/sql"
	"fmt"

	"tallystick/calc/pool"
)

// Published gives the newest release of the community: a line for each cut that
// is listed in the settings or was ever shown, Everything first. There is none
// before the first release. Only the published log is read; sales are not. The
// lines are not to be changed.
func (s *Store) Published(ctx context.Context, community string) ([]pool.Line, error) {
	return s.published.get(community, func() ([]pool.Line, error) { return s.readPublished(ctx, community) })
}

func (s *Store) readPublished(ctx context.Context, community string) ([]pool.Line, error) {
	var lines []pool.Line
	err := s.read(ctx, "reading release", func(tx *transaction) error {
		id := s.communityID(community)
		day, any, err := newestRelease(ctx, tx, id)
		if err != nil || !any {
			return err
		}
		lines, err = readLines(ctx, tx, id, day)
		return err
	})
	return lines, err
}

// A Dated is what the release of a day said about a cut.
type Dated struct {
	Day  pool.Day
	Line pool.Line
}

// History gives what the newest releases said about a cut, the newest first, at
// most so many: the log that anybody may read.
func (s *Store) History(ctx context.Context, community string, cut pool.Cut, most int) ([]Dated, error) {
	var list []Dated
	err := s.read(ctx, "reading releases", func(tx *transaction) error {
		id := s.communityID(community)
		rows, err := tx.QueryContext(ctx, `SELECT day, shown, reason, as_of, makers FROM published_line
			WHERE community = ? AND cut = ? ORDER BY day DESC LIMIT ?`, id, string(cut), most)
		if err != nil {
			return err
		}
		err = each(rows, func() error {
			one := Dated{Line: pool.Line{Cut: cut}}
			err := rows.Scan(&one.Day, &one.Line.Shown, &one.Line.Reason, &one.Line.AsOf, &one.Line.Makers)
			list = append(list, one)
			return err
		})
		for i := range list {
			if err == nil {
				list[i].Line.Figures, err = readFigures(ctx, tx, id, list[i].Day, cut)
			}
		}
		return err
	})
	return list, err
}

func readLines(ctx context.Context, tx *transaction, id []byte, day pool.Day) ([]pool.Line, error) {
	rows, err := tx.QueryContext(ctx, `SELECT cut, shown, reason, as_of, makers FROM published_line
		WHERE community = ? AND day = ? ORDER BY cut`, id, int(day))
	if err != nil {
		return nil, err
	}
	var lines []pool.Line
	err = each(rows, func() error {
		var l pool.Line
		err := rows.Scan(&l.Cut, &l.Shown, &l.Reason, &l.AsOf, &l.Makers)
		lines = append(lines, l)
		return err
	})
	if err != nil {
		return nil, err
	}
	for i := range lines {
		if lines[i].Figures, err = readFigures(ctx, tx, id, day, lines[i].Cut); err != nil {
			return nil, err
		}
	}
	return lines, nil
}

func readFigures(ctx context.Context, tx *transaction, id []byte, day pool.Day, cut pool.Cut) ([]pool.Published, error) {
	rows, err := tx.QueryContext(ctx, `SELECT figure, shown, reason, as_of, makers, value, middle_low, middle_high, middle_as_of
		FROM published_figure WHERE community = ? AND day = ? AND cut = ?`, id, int(day), string(cut))
	if err != nil {
		return nil, err
	}
	found := make(map[pool.Figure]pool.Published)
	err = each(rows, func() error {
		var p pool.Published
		var key string
		var low, high, asOf sql.Null[int64]
		if err := rows.Scan(&key, &p.Shown, &p.Reason, &p.AsOf, &p.Makers, &p.Value, &low, &high, &asOf); err != nil {
			return err
		}
		if low.Valid {
			p.Middle = &pool.Middle{Low: pool.Micros(low.V), High: pool.Micros(high.V), AsOf: pool.Day(asOf.V)}
		}
		figure, known := pool.ParseFigure(key)
		if !known {
			return fmt.Errorf("unknown figure %q", key)
		}
		p.Figure = figure
		found[figure] = p
		return nil
	})
	var figures []pool.Published
	for _, f := range pool.Figures(cut) {
		if p, ok := found[f]; ok {
			figures = append(figures, p)
		}
	}
	return figures, err
}

// publish adds a release to the log. Of a cut that is not listed nothing is
// said until it has been shown: that there are sales in it is itself news.
func publish(ctx context.Context, tx *transaction, id []byte, day pool.Day, states []pool.State, listed map[pool.Cut]bool) error {
	if _, err := execute(ctx, tx, "INSERT INTO release (community, day) VALUES (?, ?)", id, int(day)); err != nil {
		return err
	}
	for _, state := range states {
		if !listed[state.Cut] && len(state.Shows) == 0 {
			continue
		}
		_, err := execute(ctx, tx, `INSERT INTO published_line (community, day, cut, shown, reason, as_of, makers)
			VALUES (?, ?, ?, ?, ?, ?, ?)`, id, int(day), string(state.Cut),
			state.Shown, string(state.Reason), int(state.AsOf), int(state.Makers))
		if err != nil {
			return err
		}
		for _, p := range state.Figures {
			var low, high, asOf sql.Null[int64]
			if p.Middle != nil {
				low = sql.Null[int64]{V: int64(p.Middle.Low), Valid: true}
				high = sql.Null[int64]{V: int64(p.Middle.High), Valid: true}
				asOf = sql.Null[int64]{V: int64(p.Middle.AsOf), Valid: true}
			}
			_, err := execute(ctx, tx, `INSERT INTO published_figure (community, day, cut, figure, shown, reason,
				as_of, makers, value, middle_low, middle_high, middle_as_of) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
				id, int(day), string(state.Cut), p.Figure.String(), p.Shown, string(p.Reason),
				int(p.AsOf), int(p.Makers), int64(p.Value), low, high, asOf)
			if err != nil {
				return err
			}
		}
	}
	return nil
}
