package pool

import "fmt"

// Rules are the bounds of a release. Zero is not a set of rules: begin with
// StandardRules.
type Rules struct {
	// Makers is the least number of makers behind a shown figure.
	Makers int
	// Changed is the least number of makers whose records differ between a
	// shown figure and the one shown before it.
	Changed int
	// Remainder is the least number of makers, when there are any, in a cut and
	// in none of the shown cuts inside it.
	Remainder int
	// Share is the share of makers who count in a cut, as a fraction of 2³².
	Share uint32
	// Age is how many days old a sale is before it counts.
	Age int
	// Window is how many months a sale counts, and is kept.
	Window int
	// NewAccount is how many days a new account waits before it counts.
	NewAccount int
	// MinActive is the number of active makers below which only Everything is
	// published, and only once a quarter.
	MinActive int
	// MiddleMakers is the least number of makers behind a middle half, which is
	// renewed once a quarter at most.
	MiddleMakers int
}

// quarter is the least number of months between two states that may follow each
// other once a quarter.
const quarter = 3

// StandardRules gives the loosest rules there are. They were chosen by attack
// in simulation, not by proof: eight makers where published practice asks for
// five (the withdrawn 1996 US health-care statement 6, which also asks that no
// contributor weigh more than a quarter and that prices be three months old) to
// ten (UK research output checking).
func StandardRules() Rules {
	return Rules{
		Makers:    8,
		Changed:   5,
		Remainder: 5,
		// A hash counts when it is below 0.8 · 2³² = 3,435,973,836.8.
		Share:        3_435_973_837,
		Age:          90,
		Window:       24,
		NewAccount:   30,
		MinActive:    15,
		MiddleMakers: 20,
	}
}

// A LooserError says which rule was set looser than it may be.
type LooserError struct {
	// Rule is the rule's name in lower case with underscores: "min_active".
	Rule string
	// Given is the value set, and Limit the loosest value allowed.
	Given, Limit int64
	// Most is true when Limit is the most allowed, false when it is the least.
	Most bool
}

// Error gives the rule, the value and the bound.
func (e *LooserError) Error() string {
	side := "at least"
	if e.Most {
		side = "at most"
	}
	return fmt.Sprintf("release rule %s is %d and has to be %s %d", e.Rule, e.Given, side, e.Limit)
}

// Stricter is nil when no rule is looser than the same rule of the other set,
// and a *LooserError for the first that is. A shorter window and a smaller
// share are stricter; of all else, more is.
func (r Rules) Stricter(than Rules) error {
	for _, rule := range []struct {
		name         string
		given, limit int
	}{
		{"makers", r.Makers, than.Makers},
		{"changed", r.Changed, than.Changed},
		{"remainder", r.Remainder, than.Remainder},
		{"age", r.Age, than.Age},
		{"new_account", r.NewAccount, than.NewAccount},
		{"min_active", r.MinActive, than.MinActive},
		{"middle_makers", r.MiddleMakers, than.MiddleMakers},
	} {
		if rule.given < rule.limit {
			return &LooserError{Rule: rule.name, Given: int64(rule.given), Limit: int64(rule.limit)}
		}
	}
	if r.Share > than.Share {
		return &LooserError{Rule: "share", Given: int64(r.Share), Limit: int64(than.Share), Most: true}
	}
	if r.Window > than.Window {
		return &LooserError{Rule: "window", Given: int64(r.Window), Limit: int64(than.Window), Most: true}
	}
	return nil
}

// Expired says whether a sale of the month has left the window on the day, and
// will never count again: part of the month is as old as the window or older.
func (r Rules) Expired(sold Month, day Day) bool {
	return sold.First() <= day.monthsBefore(r.Window)
}

// counts says whether a sale of the month is old enough on the day and not too
// old. The day of the sale is not known, so the whole month has to be.
func (r Rules) counts(sold Month, day Day) bool {
	return sold.Last() < day-Day(r.Age) && !r.Expired(sold, day)
}
