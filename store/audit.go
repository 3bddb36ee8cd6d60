package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"slices"

	"tallystick/calc/pool"
	"tallystick/calc/price"
)

// A Finding is what one check of an audit found.
type Finding struct {
	// Check is what was looked at.
	Check string
	// Problem is what is wrong, nil where all is well. It gives away nothing that
	// members typed.
	Problem error
	// Later is a check of what a database of an earlier version keeps otherwise: it is
	// made once a start has brought the database up to date.
	Later bool
}

// ErrUnsound is an audit that found something wrong.
var ErrUnsound = errors.New("the database is not sound")

// absent is the error of looking at a database that is not there.
func absent(path string) error {
	there, err := present(path)
	if err == nil && !there {
		err = fmt.Errorf("there is no database %q", path)
	}
	return err
}

// Size gives the size of a database, its journal included.
func Size(path string) (int64, error) {
	if err := absent(path); err != nil {
		return 0, err
	}
	var size int64
	for _, beside := range []string{"", "-wal"} {
		info, err := os.Stat(path + beside)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return 0, fmt.Errorf("looking at database file: %w", err)
		}
		if err == nil {
			size += info.Size()
		}
	}
	return size, nil
}

// Audit looks at a database, which another process may have open, and tells what
// each check found. It is ErrUnsound when one found something wrong.
func Audit(ctx context.Context, config Config, tell func(Finding)) error {
	if err := absent(config.Path); err != nil {
		return err
	}
	closed, err := compareClosed(ctx, config.Path)
	compared := Finding{Check: closed, Problem: err}
	tell(compared)
	db, err := connect(ctx, config.Path, 1, true)
	if err != nil {
		if refused := refusal(config.Path, err); refused != nil {
			return refused
		}
		return err
	}
	err = audit(ctx, db, config, tell)
	if compared.Problem != nil {
		err = errors.Join(err, ErrUnsound)
	}
	return errors.Join(err, db.Close(), tidy(ctx, config.Path))
}

// audit makes all checks in one view of the database.
func audit(ctx context.Context, db *sql.DB, config Config, tell func(Finding)) error {
	tx, err := beginRead(ctx, db)
	if err != nil {
		return fmt.Errorf("looking at database: %w", err)
	}
	schema, err := schemaOf(ctx, tx)
	if err != nil {
		schema = math.MaxInt64 // the check of it says what is wrong
	}
	sound := true
	for _, one := range []struct {
		since int64 // the migration that made what it reads as it is now
		check string
		look  func(*transaction) error
	}{
		{0, "structure: every page, row and index", func(tx *transaction) error { return examineParts(ctx, tx) }},
		{0, "links: every row leads to one that is there", func(tx *transaction) error { return examineLinks(ctx, tx) }},
		{0, "version: no newer than this program", func(tx *transaction) error { return auditVersion(ctx, tx, config.Path) }},
		{0, "keys: there, whole and of this database", func(tx *transaction) error { return auditKeys(ctx, tx, config) }},
		{1, "releases: in order, of enough makers, each figure as it was first published", func(tx *transaction) error { return auditReleases(ctx, tx) }},
		{6, "states: what was last shown has the makers it says", func(tx *transaction) error { return auditShows(ctx, tx) }},
		{1, "sales: each of a known maker, none past the window", func(tx *transaction) error { return auditRecords(ctx, tx) }},
		{7, "job sheets: each adds up to what is listed", func(tx *transaction) error { return auditSheets(ctx, tx) }},
	} {
		finding := Finding{Check: one.check, Later: schema < one.since}
		if finding.Later {
			tell(finding)
			continue
		}
		if err := one.look(tx); err != nil {
			if ctx.Err() != nil {
				return errors.Join(ctx.Err(), tx.rollback())
			}
			finding.Problem, sound = err, false
		}
		tell(finding)
	}
	if err := tx.rollback(); err != nil {
		return err
	}
	if !sound {
		return ErrUnsound
	}
	return nil
}

func auditVersion(ctx context.Context, tx *transaction, path string) error {
	newest, err := newestMigration()
	if err != nil {
		return err
	}
	schema, err := schemaOf(ctx, tx)
	if err == nil && schema > newest {
		err = &OpenError{Refusal: Newer, Path: path}
	}
	return err
}

// schemaOf gives the number of the newest migration that was made.
func schemaOf(ctx context.Context, tx *transaction) (schema int64, err error) {
	err = tx.QueryRowContext(ctx, "SELECT max(version_id) FROM goose_db_version WHERE is_applied").Scan(&schema)
	return schema, err
}

func auditKeys(ctx context.Context, tx *transaction, config Config) error {
	k, err := readKeys(config.KeysPath)
	if errors.Is(err, fs.ErrNotExist) {
		return &OpenError{Refusal: KeysMissing, Path: config.Path, KeysPath: config.KeysPath}
	}
	if err != nil {
		return err
	}
	var belongs bool
	err = tx.QueryRowContext(ctx, "SELECT count(*) FROM house WHERE fingerprint = ?", k.fingerprint()).Scan(&belongs)
	if err == nil && !belongs {
		err = &OpenError{Refusal: KeysOther, Path: config.Path, KeysPath: config.KeysPath}
	}
	return err
}

// none is nil where the query counts nothing.
func none(ctx context.Context, tx *transaction, problem, query string, args ...any) error {
	var n int
	if err := tx.QueryRowContext(ctx, query, args...).Scan(&n); err != nil {
		return fmt.Errorf("counting: %w", err)
	}
	if n > 0 {
		return fmt.Errorf("%d %s", n, problem)
	}
	return nil
}

// auditReleases holds the published log against the rules and against itself: a
// figure that is repeated is what it was when it was made.
func auditReleases(ctx context.Context, tx *transaction) error {
	least := pool.StandardRules().Makers
	err := errors.Join(
		none(ctx, tx, "releases say nothing of all sales", `SELECT count(*) FROM release r WHERE NOT EXISTS
			(SELECT 1 FROM published_line l WHERE l.community = r.community AND l.day = r.day AND l.cut = ?)`, string(pool.Everything)),
		none(ctx, tx, "lines are shown of too few makers", "SELECT count(*) FROM published_line WHERE shown = 1 AND makers < ?", least),
		none(ctx, tx, "figures are shown of too few makers", "SELECT count(*) FROM published_figure WHERE shown = 1 AND makers < ?", least),
		none(ctx, tx, "counts are in no band", `SELECT count(*) FROM (SELECT makers FROM published_line UNION ALL SELECT makers FROM published_figure)
			WHERE makers NOT IN (0, 8, 15, 25, 50)`),
		none(ctx, tx, "lines or figures are of a later day than their release", `SELECT count(*) FROM
			(SELECT day, as_of FROM published_line UNION ALL SELECT day, as_of FROM published_figure
			UNION ALL SELECT day, middle_as_of FROM published_figure) WHERE as_of > day`),
		none(ctx, tx, "figures are shown in a line that is not", `SELECT count(*) FROM published_figure f JOIN published_line l USING (community, day, cut)
			WHERE f.shown = 1 AND l.shown = 0`),
		none(ctx, tx, "lines are shown without a figure", `SELECT count(*) FROM published_line l WHERE l.shown = 1 AND NOT EXISTS
			(SELECT 1 FROM published_figure f WHERE f.community = l.community AND f.day = l.day AND f.cut = l.cut AND f.shown = 1)`),
		none(ctx, tx, "figures are not what they were when they were made", `SELECT count(*) FROM published_figure f
			JOIN published_figure made ON made.community = f.community AND made.day = f.as_of AND made.cut = f.cut AND made.figure = f.figure
			WHERE f.shown = 1 AND (made.value <> f.value OR made.makers <> f.makers OR made.shown = 0)`),
		none(ctx, tx, "figures are not what their state says", `SELECT count(*) FROM published_figure f
			JOIN (SELECT community, max(day) AS day FROM release GROUP BY community) n USING (community, day)
			LEFT JOIN show s ON s.community = f.community AND s.cut = f.cut AND s.series = f.figure
			WHERE f.shown = 1 AND (s.low IS NOT f.value OR s.as_of IS NOT f.as_of OR s.makers IS NOT f.makers)`),
	)
	if err != nil {
		return err
	}
	rows, err := tx.QueryContext(ctx, "SELECT figure, value FROM published_figure WHERE shown = 1")
	if err != nil {
		return err
	}
	return each(rows, func() error {
		var name string
		var value pool.Micros
		if err := rows.Scan(&name, &value); err != nil {
			return err
		}
		f, known := pool.ParseFigure(name)
		if !known || !coarse(f, value) {
			return errors.New("a published figure is not rounded as figures are")
		}
		return nil
	})
}

// coarse says whether a value is one that may be published of the figure.
func coarse(f pool.Figure, v pool.Micros) bool {
	switch f {
	case pool.SoldToAsked:
		return pool.Twentieths(v, pool.Nearest) == v
	case pool.DaysToSell:
		return pool.Whole(int(pool.DaysBandOf(v))) == v
	}
	return pool.Preferred(v, pool.Nearest) == v
}

// auditShows holds what was last shown against the ledger of whom.
func auditShows(ctx context.Context, tx *transaction) error {
	return errors.Join(
		none(ctx, tx, "states have fewer makers in their ledger than they say", `SELECT count(*) FROM show s WHERE like_series = '' AND makers >
			coalesce((SELECT length(entries) / 64 FROM ledger l WHERE l.community = s.community AND l.cut = s.cut AND l.series = s.series), 0)`),
		none(ctx, tx, "states are of too few makers", "SELECT count(*) FROM show WHERE makers < ?", pool.StandardRules().Makers),
		none(ctx, tx, "states share a ledger that is not there", `SELECT count(*) FROM show s WHERE like_series <> '' AND NOT EXISTS
			(SELECT 1 FROM show o WHERE o.community = s.community AND o.cut = s.cut AND o.series = s.like_series AND o.like_series = '')`),
		none(ctx, tx, "states are of no release", `SELECT count(*) FROM show s WHERE NOT EXISTS
			(SELECT 1 FROM release r WHERE r.community = s.community AND r.day = s.as_of)`),
	)
}

// auditRecords holds the sales against their makers and the window.
func auditRecords(ctx context.Context, tx *transaction) error {
	err := errors.Join(
		none(ctx, tx, "makers have no sale", `SELECT count(*) FROM contributor c WHERE NOT EXISTS (SELECT 1 FROM record r WHERE r.tag = c.tag)`),
		none(ctx, tx, "sales of a maker have one code", "SELECT count(*) FROM (SELECT 1 FROM record GROUP BY tag, code_hash HAVING count(*) > 1)"),
	)
	if err != nil {
		return err
	}
	rows, err := tx.QueryContext(ctx, `SELECT min(r.sold), n.day FROM record r JOIN contributor c USING (tag)
		JOIN (SELECT community, max(day) AS day FROM release GROUP BY community) n USING (community) GROUP BY c.community, c.seeded HAVING c.seeded = 0`)
	if err != nil {
		return err
	}
	return each(rows, func() error {
		var oldest pool.Month
		var day pool.Day
		if err := rows.Scan(&oldest, &day); err != nil {
			return err
		}
		if pool.StandardRules().Expired(oldest, day) {
			return fmt.Errorf("a sale of %s is older than the window of the release of %s", oldest, day)
		}
		return nil
	})
}

// auditSheets adds every job sheet up and compares it with the lists.
func auditSheets(ctx context.Context, tx *transaction) error {
	err := none(ctx, tx, "ledgers have a number that is still to be given", `SELECT count(*) FROM book b WHERE
		EXISTS (SELECT 1 FROM entry e WHERE e.owner = b.owner AND (e.piece >= b.next_piece OR e.lot >= b.next_lot))`)
	if err != nil {
		return err
	}
	err = none(ctx, tx, "entries are not found by their number", `SELECT count(*) FROM entry e WHERE piece IS NOT
		(SELECT s.piece FROM stretch s WHERE s.owner = e.owner AND s.first <= e.number ORDER BY s.first DESC LIMIT 1)`)
	if err != nil {
		return err
	}
	err = none(ctx, tx, "numbers were given twice", "SELECT count(*) - (SELECT count(*) FROM (SELECT DISTINCT owner, number FROM entry)) FROM entry")
	if err != nil {
		return err
	}
	type sheet struct {
		owner  []byte
		number int
	}
	sheets := map[string][]sheet{}
	for what, query := range map[string]string{
		"piece": "SELECT owner, number FROM piece UNION SELECT owner, piece FROM entry WHERE piece > 0",
		"lot":   "SELECT DISTINCT owner, lot FROM entry WHERE lot > 0",
	} {
		rows, err := tx.QueryContext(ctx, query)
		if err != nil {
			return err
		}
		err = each(rows, func() error {
			var one sheet
			err := rows.Scan(&one.owner, &one.number)
			sheets[what] = append(sheets[what], one)
			return err
		})
		if err != nil {
			return err
		}
	}
	for _, one := range sheets["lot"] {
		if _, _, err := (&Book{tx: tx, owner: one.owner}).foldLot(ctx, one.number); err != nil {
			return fmt.Errorf("a lot does not add up: %w", err)
		}
	}
	running := map[string][]Clock{}
	for _, one := range sheets["piece"] {
		clocks, err := auditPiece(ctx, &Book{tx: tx, owner: one.owner}, one.number)
		if err != nil {
			return err
		}
		running[string(one.owner)] = append(running[string(one.owner)], clocks...)
	}
	// Once a member: where the newest entry does not say, all pieces are added up.
	for owner, want := range running {
		clocks, err := (&Book{tx: tx, owner: []byte(owner)}).Clocks(ctx)
		if err != nil {
			return err
		}
		if sortClocks(want); !slices.Equal(clocks, want) {
			return errors.New("the clocks of a member are not those that their entries say run")
		}
	}
	return nil
}

// auditPiece compares the sum of a piece with its row in the list, and gives the clocks
// that run for it.
func auditPiece(ctx context.Context, b *Book, number int) ([]Clock, error) {
	sheet, there, err := b.fold(ctx, number)
	if err != nil {
		return nil, fmt.Errorf("a piece does not add up: %w", err)
	}
	listed, err := b.Piece(ctx, number)
	if !there && errors.Is(err, ErrNotFound) {
		return nil, nil
	}
	if err != nil && !errors.Is(err, ErrNotFound) {
		return nil, err
	}
	if !there || listed != (Piece{number, sheet.Facts[price.FactName], sheet.Facts[price.FactCategory], sheet.Status}) {
		return nil, errors.New("a piece is listed as something that its entries do not say")
	}
	return clocksOf(number, sheet), nil
}
