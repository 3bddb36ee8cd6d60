// Package store keeps tallystick's one SQLite file and the key file beside it:
// communities and their settings, consent, drafts, shared sales and releases.
//
// It refuses to keep who anybody is. Ids of communities, members and deliveries
// are hashed with keys that are not in the database before anything else is done
// with them, and the shared sales hang on another hash than the consent does, so
// that a stolen database does not tie one to the other.
//
// It refuses to answer questions about sales: a release is made from them, and
// what is read is the release.
package store

import (
	"context"
	"errors"
	"time"

	"tallystick/calc/pool"
)

// A Config says where the files are. Path and KeysPath are needed.
type Config struct {
	// Path is the database file; its folder is made when it is not there.
	Path string
	// KeysPath is the key file; it belongs in another backup than the database.
	KeysPath string
	// Defaults are the settings of a community that has none yet.
	Defaults Community
	// Rules are the rules of ReleaseDue; zero is pool.StandardRules, and looser
	// ones are refused.
	Rules pool.Rules
}

// A Store is one open database. Its methods may be called at the same time.
type Store struct{}

var errUnbuilt = errors.New("not built yet")

// Open opens the database and brings it up to date, making it and its keys when
// neither is there.
func Open(ctx context.Context, config Config) (*Store, error) { return nil, errUnbuilt }

// Close writes everything into the one file and closes it.
func (s *Store) Close() error { return errUnbuilt }

// Vacuum rebuilds the file, so that nothing deleted is left in it.
func (s *Store) Vacuum(ctx context.Context) error { return errUnbuilt }

var (
	// ErrNotFound: there is nothing of that kind that belongs to who asked.
	ErrNotFound = errors.New("not found")
	// ErrConflict: what is there already does not allow it.
	ErrConflict = errors.New("in conflict with what is stored")
)

// An AlreadyShared is the ErrConflict of sharing a draft for the second time.
type AlreadyShared struct {
	// Number is the number the sale got the first time.
	Number int
}

// Error says so.
func (e *AlreadyShared) Error() string { return "draft already shared" }

// Is makes it an ErrConflict.
func (e *AlreadyShared) Is(target error) bool { return target == ErrConflict }

// Who is a member of a community, by the ids the transport knows them by. They
// are never stored.
type Who struct{ Community, Member string }

// A Community is a community's settings.
type Community struct {
	// Currency is an ISO 4217 code.
	Currency string
	// Categories and Regions are the words a sale may be filed under.
	Categories, Regions []string
	// Practice is true where the log is filled with invented sales.
	Practice bool
}

// Community gives the settings of a community, making them at first use.
func (s *Store) Community(ctx context.Context, community string) (Community, error) {
	return Community{}, errUnbuilt
}

// SetCommunity replaces the settings. Another currency is an ErrConflict while
// there are sales.
func (s *Store) SetCommunity(ctx context.Context, community string, settings Community) error {
	return errUnbuilt
}

// A Sale is what leaves for the shared log.
type Sale struct {
	// Category is needed; SpeciesGroup and Region may be empty.
	Category, SpeciesGroup, Region string
	// Sold is the month of the sale.
	Sold pool.Month
	// Values has the Price, in the community's currency, and of the other
	// figures those the sale has. They are stored to three significant figures.
	Values pool.Values
}

// A Shared is what the sharer is told.
type Shared struct {
	// Number is the sale's number among the member's own.
	Number int
	// Withdrawal is a code that withdraws the sale without the account.
	Withdrawal string
}

// A Consent is what a member agreed to.
type Consent struct {
	// Wording is the version of the words agreed to.
	Wording int
	// Given is the day, as its start in universal time.
	Given time.Time
}

// A SharedSale is one of a member's own shared sales.
type SharedSale struct {
	Number int
	Sale   Sale
}

// SaveDraft keeps a preview for 7 days.
func (s *Store) SaveDraft(ctx context.Context, who Who, sale Sale, now time.Time) (code string, err error) {
	return "", errUnbuilt
}

// Draft gives a draft back.
func (s *Store) Draft(ctx context.Context, who Who, code string) (Sale, error) {
	return Sale{}, errUnbuilt
}

// Similar says whether the member has shared exactly the same sale.
func (s *Store) Similar(ctx context.Context, who Who, sale Sale) (bool, error) {
	return false, errUnbuilt
}

// ShareDraft shares a draft.
func (s *Store) ShareDraft(ctx context.Context, who Who, delivery, code string, wording int, now time.Time) (Shared, error) {
	return Shared{}, errUnbuilt
}

// Consent gives what the member agreed to, and false when nothing.
func (s *Store) Consent(ctx context.Context, who Who) (Consent, bool, error) {
	return Consent{}, false, errUnbuilt
}

// Sales gives the member's own shared sales by number.
func (s *Store) Sales(ctx context.Context, who Who) ([]SharedSale, error) { return nil, errUnbuilt }

// Withdraw deletes one of the member's own sales.
func (s *Store) Withdraw(ctx context.Context, who Who, delivery string, number int, now time.Time) error {
	return errUnbuilt
}

// WithdrawByCode deletes the sale of a withdrawal code.
func (s *Store) WithdrawByCode(ctx context.Context, community, delivery, code string, now time.Time) error {
	return errUnbuilt
}

// WithdrawAll deletes all of the member: sales, consent and drafts.
func (s *Store) WithdrawAll(ctx context.Context, who Who, delivery string, now time.Time) (n int, err error) {
	return 0, errUnbuilt
}

// RunRelease makes the release of a day; once made, again does nothing.
func (s *Store) RunRelease(ctx context.Context, community string, day pool.Day, rules pool.Rules) error {
	return errUnbuilt
}

// ReleaseDue makes the releases that are due in all communities.
func (s *Store) ReleaseDue(ctx context.Context, now time.Time) (ran int, err error) {
	return 0, errUnbuilt
}

// Published gives the newest release of the community, a line a cut, Everything
// first; nothing when there was none.
func (s *Store) Published(ctx context.Context, community string) ([]pool.Line, error) {
	return nil, errUnbuilt
}

// A SeedSale is an invented sale.
type SeedSale struct {
	Maker string
	// Since is the first day of the invented maker.
	Since pool.Day
	Sale  Sale
}

// Seed replaces the invented sales of a practice community; ErrConflict in
// another.
func (s *Store) Seed(ctx context.Context, community string, sales []SeedSale) error {
	return errUnbuilt
}
