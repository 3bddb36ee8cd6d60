package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"time"
)

// An Amount is money as it is kept: whole minor units with their ISO 4217 code.
type Amount struct {
	Minor    int64
	Currency string
}

// A Delivery is a rate for driving: millionths of the currency's major unit for a
// "mile" or a "km".
type Delivery struct {
	Micros   int64
	Currency string
	Per      string
}

// Settings are what a member set once, for themselves. An empty word, a zero Tape
// and a nil are not set.
type Settings struct {
	// Currency is an ISO 4217 code; Units is "imperial" or "metric".
	Currency, Units string
	// Tape is the finest fraction of an inch: 8, 16, 32 or 64.
	Tape int
	// Rate, LowestRate and Overhead are for an hour; Step is what prices are
	// rounded to.
	Rate, LowestRate, Overhead, Step *Amount
	// Tax and Haggle are in billionths of a percent.
	Tax, Haggle *int64
	// TaxIncluded is whether prices are written with the tax in them.
	TaxIncluded *bool
	Delivery    *Delivery
	// Venues are in the order of their names.
	Venues []Venue
}

// A Venue is what selling at a place takes: the fee and the consignment share in
// billionths of a percent, and a fixed amount.
type Venue struct {
	Name       string
	Fee, Share int64
	FeeOnTax   bool
	Fixed      *Amount
}

// VenueLimit is how many venues a member may keep.
const VenueLimit = 25

// amounts gives the amounts by the names of the table.
func (s *Settings) amounts() map[string]**Amount {
	return map[string]**Amount{"rate": &s.Rate, "lowest_rate": &s.LowestRate, "overhead": &s.Overhead, "step": &s.Step}
}

// Settings gives what the member has set: nothing, for who has not set anything.
// What it points at is not to be changed.
func (s *Store) Settings(ctx context.Context, who Who) (Settings, error) {
	settings, err := s.settings.get(who, func() (settings Settings, err error) {
		err = s.read(ctx, "reading settings", func(tx *transaction) (err error) {
			settings, err = readSettings(ctx, tx, s.memberID(who))
			return err
		})
		return settings, err
	})
	settings.Venues = slices.Clone(settings.Venues)
	return settings, err
}

// ChangeSettings lets change alter what the member has set, and keeps it, all in
// one step. The same delivery again changes nothing. An error of change is handed
// on, and nothing is kept then. More venues than VenueLimit are an ErrConflict.
func (s *Store) ChangeSettings(ctx context.Context, who Who, delivery string, now time.Time, change func(*Settings) error) error {
	defer s.settings.forget(who)
	return s.write(ctx, "changing settings", func(tx *transaction) error {
		receipt := s.settingsReceipt(who, delivery)
		if _, again, err := done(ctx, tx, receipt); err != nil || again {
			return err
		}
		settings, err := readSettings(ctx, tx, s.memberID(who))
		if err != nil {
			return err
		}
		if err := change(&settings); err != nil {
			return err
		}
		if len(settings.Venues) > VenueLimit {
			return fmt.Errorf("keeping %d venues: %w", len(settings.Venues), ErrConflict)
		}
		if err := writeSettings(ctx, tx, s.memberID(who), settings); err != nil {
			return err
		}
		return leave(ctx, tx, receipt, 0, now)
	})
}

// DropSettings deletes everything the member has set, venues included, and says
// whether there was anything. Doing it twice does no harm.
func (s *Store) DropSettings(ctx context.Context, who Who) (bool, error) {
	defer s.settings.forget(who)
	var n int
	err := s.write(ctx, "dropping settings", func(tx *transaction) (err error) {
		n, err = execute(ctx, tx, "DELETE FROM setting WHERE member = ?", s.memberID(who))
		return err
	})
	if err != nil {
		return false, err
	}
	s.empty(ctx)
	return n > 0, nil
}

func readSettings(ctx context.Context, tx *transaction, member []byte) (Settings, error) {
	var s Settings
	var currency, units, deliveryCurrency, deliveryPer sql.NullString
	var tape, tax, haggle, delivery sql.NullInt64
	var included sql.NullBool
	err := tx.QueryRowContext(ctx, `SELECT currency, units, tape, tax, tax_included, haggle, delivery, delivery_currency, delivery_per
		FROM setting WHERE member = ?`, member).
		Scan(&currency, &units, &tape, &tax, &included, &haggle, &delivery, &deliveryCurrency, &deliveryPer)
	if errors.Is(err, sql.ErrNoRows) {
		return s, nil
	}
	if err != nil {
		return s, err
	}
	s.Currency, s.Units, s.Tape = currency.String, units.String, int(tape.Int64)
	s.Tax, s.Haggle = known(tax.Int64, tax.Valid), known(haggle.Int64, haggle.Valid)
	s.TaxIncluded = known(included.Bool, included.Valid)
	s.Delivery = known(Delivery{delivery.Int64, deliveryCurrency.String, deliveryPer.String}, delivery.Valid)
	if err := readAmounts(ctx, tx, member, &s); err != nil {
		return s, err
	}
	return s, readVenues(ctx, tx, member, &s)
}

func readAmounts(ctx context.Context, tx *transaction, member []byte, s *Settings) error {
	rows, err := tx.QueryContext(ctx, "SELECT name, minor, currency FROM setting_amount WHERE member = ?", member)
	if err != nil {
		return err
	}
	into := s.amounts()
	return each(rows, func() error {
		var name string
		var a Amount
		if err := rows.Scan(&name, &a.Minor, &a.Currency); err != nil {
			return err
		}
		*into[name] = &a
		return nil
	})
}

func readVenues(ctx context.Context, tx *transaction, member []byte, s *Settings) error {
	rows, err := tx.QueryContext(ctx, `SELECT name, fee, fee_on_tax, share, fixed, fixed_currency
		FROM venue WHERE member = ? ORDER BY name`, member)
	if err != nil {
		return err
	}
	return each(rows, func() error {
		var v Venue
		var fixed sql.NullInt64
		var currency sql.NullString
		if err := rows.Scan(&v.Name, &v.Fee, &v.FeeOnTax, &v.Share, &fixed, &currency); err != nil {
			return err
		}
		v.Fixed = known(Amount{fixed.Int64, currency.String}, fixed.Valid)
		s.Venues = append(s.Venues, v)
		return nil
	})
}

// writeSettings replaces all there is of the member.
func writeSettings(ctx context.Context, tx *transaction, member []byte, s Settings) error {
	if _, err := tx.ExecContext(ctx, "DELETE FROM setting WHERE member = ?", member); err != nil {
		return err
	}
	d := s.Delivery
	if d == nil {
		d = &Delivery{}
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO setting (member, currency, units, tape, tax, tax_included, haggle,
		delivery, delivery_currency, delivery_per) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		member, orNull(s.Currency), orNull(s.Units), orNull(s.Tape), s.Tax, s.TaxIncluded, s.Haggle,
		sql.NullInt64{Int64: d.Micros, Valid: s.Delivery != nil}, orNull(d.Currency), orNull(d.Per))
	if err != nil {
		return err
	}
	for name, a := range s.amounts() {
		if *a == nil {
			continue
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO setting_amount (member, name, minor, currency) VALUES (?, ?, ?, ?)",
			member, name, (*a).Minor, (*a).Currency)
		if err != nil {
			return err
		}
	}
	for _, v := range s.Venues {
		fixed := Amount{}
		if v.Fixed != nil {
			fixed = *v.Fixed
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO venue (member, name, fee, fee_on_tax, share, fixed, fixed_currency)
			VALUES (?, ?, ?, ?, ?, ?, ?)`, member, v.Name, v.Fee, v.FeeOnTax, v.Share,
			sql.NullInt64{Int64: fixed.Minor, Valid: v.Fixed != nil}, orNull(fixed.Currency))
		if err != nil {
			return err
		}
	}
	return nil
}

// known is a pointer to a value that is there, else nil.
func known[T any](value T, there bool) *T {
	if !there {
		return nil
	}
	return &value
}

// orNull is a value, or NULL for the zero one.
func orNull[T comparable](value T) sql.Null[T] {
	var zero T
	return sql.Null[T]{V: value, Valid: value != zero}
}
