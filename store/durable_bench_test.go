package store

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tallystick/calc/price"
)

const (
	durableRounds = 7
	// Bars: how many posts a second there are to be for each bare transaction of one
	// row.
	aloneLeast    = 0.8
	togetherLeast = 5
	together      = 64
)

// BenchmarkDurablePosts sets what members post, each durably and on its own, beside
// bare transactions of the same driver with the same pragmas that write the one row
// alone, in interleaved rounds:
//
//	go test ./store -run '^$' -bench DurablePosts -benchtime 1x
//
// It fails where a bar is not met.
func BenchmarkDurablePosts(b *testing.B) {
	for _, post := range []struct {
		name       string
		ours, bare func(b *testing.B) poster
	}{
		{"a clock entry", clockPosts, bareEntries},
		{"a shared sale", salePosts, bareRecords},
		{"a consent", consentPosts, bareConsents}, // one row of ours, too: what sharing a commit gives by itself
	} {
		b.Run(post.name, func(b *testing.B) {
			ours, bare := post.ours(b), post.bare(b)
			for b.Loop() {
				for _, at := range []struct {
					writers, posts int
					least          float64
				}{{1, 300, aloneLeast}, {together, 40 * together, togetherLeast}} {
					var a, c []float64
					for range durableRounds {
						a = append(a, rate(b, ours, at.writers, at.posts))
						c = append(c, rate(b, bare, at.writers, at.posts))
					}
					slices.Sort(a)
					slices.Sort(c)
					mine, theirs := a[len(a)/2], c[len(c)/2]
					b.ReportMetric(mine/theirs, fmt.Sprintf("of_bare_at_%d", at.writers))
					b.Logf("%s at %2d writers: %6.0f/s beside %6.0f/s bare: %.2f times (bar %.1f)", post.name, at.writers, mine, theirs, mine/theirs, at.least)
					if mine/theirs < at.least {
						b.Errorf("the bar is not met")
					}
				}
			}
		})
	}
}

// A poster makes the next post of one of the writers; prepare is what must be there
// before so many posts, and is not timed.
type poster struct {
	prepare func(writers, posts int)
	post    func(ctx context.Context, writer, n int) error
}

// rate is how many posts a second so many writers make, with a deadline each, as
// the program sets one.
func rate(b *testing.B, p poster, writers, posts int) float64 {
	if p.prepare != nil {
		p.prepare(writers, posts)
	}
	var next atomic.Int64
	var all sync.WaitGroup
	began := time.Now()
	for writer := range writers {
		all.Go(func() {
			for n := int(next.Add(1)); n <= posts; n = int(next.Add(1)) {
				ctx, stop := context.WithTimeout(b.Context(), time.Minute)
				if err := p.post(ctx, writer, n); err != nil {
					b.Error(err)
				}
				stop()
			}
		})
	}
	all.Wait()
	return float64(posts) / time.Since(began).Seconds()
}

func benchStore(b *testing.B) *Store {
	folder := b.TempDir()
	s, err := Open(b.Context(), Config{Path: filepath.Join(folder, "a.db"), KeysPath: filepath.Join(folder, "a.keys")})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	return s
}

func member(writer int) Who { return Who{ann.Community, fmt.Sprint("member ", writer)} }

// clockPosts start and stop a clock, on a new piece after 40 entries.
func clockPosts(b *testing.B) poster {
	s := benchStore(b)
	state := make([]struct{ posts, piece, in int }, together)
	var delivery atomic.Int64
	return poster{post: func(ctx context.Context, writer, _ int) error {
		my := &state[writer]
		e := price.Entry{At: march.Unix(), Day: 20000, Piece: my.piece}
		switch step := my.posts % 41; {
		case step == 0:
			e.Kind, e.Piece, e.Currency, e.Facts = price.EntryOpen, 0, "USD", price.Facts{price.FactName: "Harbour bench"}
		case step%2 == 1:
			e.Kind, e.Facts = price.EntryIn, price.Facts{price.FactBegan: price.NumberFact(march.Unix()), price.FactStage: "milling"}
		default:
			e.Kind, e.Target, e.Seconds = price.EntryOut, my.in, 600
		}
		kept, err := s.WriteBook(ctx, member(writer), fmt.Sprint(delivery.Add(1)), march, func(*Book) (price.Entry, error) { return e, nil })
		my.posts++
		if kept.Kind == price.EntryOpen {
			my.piece = kept.Piece
		}
		my.in = kept.Number
		return err
	}}
}

// salePosts share a draft that was made before.
func salePosts(b *testing.B) poster {
	s := benchStore(b)
	type draft struct {
		who  Who
		code string
	}
	var drafts []draft
	var delivery atomic.Int64
	return poster{
		prepare: func(_, posts int) {
			drafts = make([]draft, posts)
			var all sync.WaitGroup
			for w := range together {
				all.Go(func() {
					for n := w; n < posts; n += together {
						who := Who{ann.Community, fmt.Sprint("member ", w, " ", n/together/draftLimit)}
						code, err := s.SaveDraft(b.Context(), who, stool(100+n%900), march)
						if err != nil {
							b.Error(err)
						}
						drafts[n] = draft{who, code}
					}
				})
			}
			all.Wait()
		},
		post: func(ctx context.Context, _, n int) error {
			d := drafts[n-1]
			_, err := s.ShareDraft(ctx, d.who, fmt.Sprint(delivery.Add(1)), d.code, 1, march)
			return err
		},
	}
}

// bareDB opens a file with our schema by the driver alone, which moves the journal at
// SQLite's own usual number of pages. The store is closed, and does for its hashes.
func bareDB(b *testing.B) (*Store, *sql.DB) {
	path := filepath.Join(b.TempDir(), "a.db")
	s, err := Open(b.Context(), Config{Path: path, KeysPath: path + ".keys"})
	require.NoError(b, err)
	require.NoError(b, s.Close())
	db, err := sql.Open("sqlite", address(path, false)+"&_txlock=immediate&_pragma=wal_autocheckpoint(1000)")
	require.NoError(b, err)
	db.SetMaxOpenConns(1)
	b.Cleanup(func() { require.NoError(b, db.Close()) })
	return s, db
}

// bareEntries insert the row of a clock entry and nothing else.
func bareEntries(b *testing.B) poster {
	s, db := bareDB(b)
	owners := make([][]byte, together)
	for w := range owners {
		owners[w] = s.ownerID(member(w))
		_, err := db.ExecContext(b.Context(), "INSERT INTO book (owner, next_entry, next_piece, next_lot) VALUES (?, 1, 1, 1)", owners[w])
		require.NoError(b, err)
	}
	var number atomic.Int64
	return poster{post: func(ctx context.Context, writer, _ int) error {
		n := number.Add(1)
		return bareInsert(ctx, db, "INSERT INTO entry (owner, "+entryColumns+") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
			owners[writer], n, 1+n/40, 0, "in", march.Unix(), 20000, 0, 0, "", 600, 0, `{"began":"1772712000","stage":"milling"}`)
	}}
}

// consentPosts note consents.
func consentPosts(b *testing.B) poster {
	s := benchStore(b)
	var number atomic.Int64
	return poster{post: func(ctx context.Context, _, _ int) error {
		return s.OptIn(ctx, Who{ann.Community, fmt.Sprint(number.Add(1))}, 1, march)
	}}
}

// bareConsents insert the row of a consent and nothing else.
func bareConsents(b *testing.B) poster {
	s, db := bareDB(b)
	var number atomic.Int64
	return poster{post: func(ctx context.Context, _, _ int) error {
		return bareInsert(ctx, db, "INSERT INTO consent (member, wording, given) VALUES (?, ?, ?)",
			s.memberID(Who{ann.Community, fmt.Sprint(number.Add(1))}), 1, 20000)
	}}
}

// bareRecords insert the row of a shared sale and nothing else.
func bareRecords(b *testing.B) poster {
	s, db := bareDB(b)
	tags := make([][]byte, together)
	for w := range tags {
		tags[w] = s.tag(member(w))
		_, err := db.ExecContext(b.Context(), "INSERT INTO community (community, currency, practice) VALUES (?, 'USD', 0) ON CONFLICT DO NOTHING", s.communityID(ann.Community))
		require.NoError(b, err)
		_, err = db.ExecContext(b.Context(), "INSERT INTO contributor (tag, community, since, seeded) VALUES (?, ?, 1, 0)", tags[w], s.communityID(ann.Community))
		require.NoError(b, err)
	}
	var number atomic.Int64
	return poster{post: func(ctx context.Context, writer, _ int) error {
		n := number.Add(1)
		code := s.codeHash(ann.Community, fmt.Sprint(n))
		row := append([]any{randomID(), tags[writer], n, code, code[:shareReceiptBytes]}, stool(100).columns()...)
		return bareInsert(ctx, db, "INSERT INTO record (id, tag, number, code_hash, receipt, "+saleColumns+") VALUES (?, ?, ?, ?, ?, "+saleMarks+")", row...)
	}}
}

func bareInsert(ctx context.Context, db *sql.DB, statement string, args ...any) error {
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, statement, args...); err != nil {
		return err
	}
	return tx.Commit()
}
