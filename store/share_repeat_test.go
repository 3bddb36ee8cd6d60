package store

import (
	"context"
	"database/sql"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/pool"
)

func (d *desk) draft(who Who, dollars int) string {
	d.Helper()
	code, err := d.SaveDraft(d.Context(), who, stool(dollars), march)
	require.NoError(d, err)
	return code
}

// again shares a draft once more: by the delivery that did, and by another.
func (d *desk) again(who Who, delivery, code string, want Shared) {
	d.Helper()
	got, err := d.ShareDraft(d.Context(), who, delivery, code, 1, march)
	require.NoError(d, err)
	assert.Equal(d, want, got)
	_, err = d.ShareDraft(d.Context(), who, "another "+delivery, code, 1, march)
	assert.Equal(d, &AlreadyShared{Number: want.Number}, alreadyShared(d, err))
}

func alreadyShared(t require.TestingT, err error) *AlreadyShared {
	var already *AlreadyShared
	require.ErrorAs(t, err, &already)
	return already
}

func TestASaleKnowsItsDeliveryAlsoWhenItIsGone(t *testing.T) {
	t.Parallel()
	elsewhere := Who{"another guild", ann.Member}
	for name, remove := range map[string]func(d *desk, last Shared) error{
		"stays":     func(*desk, Shared) error { return nil },
		"withdrawn": func(d *desk, last Shared) error { return d.Withdraw(d.Context(), ann, "w", last.Number, march) },
		"withdrawn by its code": func(d *desk, last Shared) error {
			return d.WithdrawByCode(d.Context(), ann.Community, "w", last.Withdrawal, march)
		},
		"opted out": func(d *desk, _ Shared) error { _, err := d.OptOut(d.Context(), ann, "w", march); return err },
		"removed":   func(d *desk, _ Shared) error { return d.RemoveMember(d.Context(), ann, "w", march) },
		"forgotten": func(d *desk, _ Shared) error { _, err := d.WithdrawAll(d.Context(), ann, "w", march); return err },
		"erased": func(d *desk, _ Shared) error {
			_, err := d.EraseCommunity(d.Context(), ann.Community, march)
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d := newDesk(t)
			first, code := d.draft(ann, 100), d.draft(ann, 200)
			_, err := d.ShareDraft(t.Context(), ann, "first", first, 1, march)
			require.NoError(t, err)
			shared, err := d.ShareDraft(t.Context(), ann, "last", code, 1, march)
			require.NoError(t, err)
			require.NoError(t, remove(d, shared))
			d.whole(func() {
				d.again(ann, "last", code, shared)
				require.NoError(t, d.write(t.Context(), "looking", func(tx *transaction) error {
					for who, want := range map[Who]bool{ann: true, elsewhere: false} {
						taken, err := d.draftCodeTaken(t.Context(), tx, who, code)
						require.NoError(t, err)
						assert.Equal(t, want, taken, "the code is not drawn again")
					}
					return nil
				}))
				_, err := d.ShareDraft(t.Context(), elsewhere, "last", code, 1, march)
				require.ErrorIs(t, err, ErrNotFound)
			})
			sales, err := d.Sales(t.Context(), ann)
			require.NoError(t, err)
			_, err = d.ReleaseDue(t.Context(), march.AddDate(0, 0, receiptLife))
			require.NoError(t, err)
			if name == "stays" {
				d.again(ann, "last", code, shared)
				return
			}
			assert.Less(t, len(sales), 2)
			_, err = d.ShareDraft(t.Context(), ann, "last", code, 1, march)
			require.ErrorIs(t, err, ErrNotFound, "30 days later nothing is left")
		})
	}
}

// Whatever takes the newest sale away, its number stays taken; only who is forgotten
// begins anew.
func TestANumberOfASaleIsNotGivenAgainHoweverItWent(t *testing.T) {
	t.Parallel()
	for name, remove := range map[string]func(d *desk, last Shared) error{
		"withdrawn": func(d *desk, last Shared) error { return d.Withdraw(d.Context(), ann, "w", last.Number, march) },
		"withdrawn by its code": func(d *desk, last Shared) error {
			return d.WithdrawByCode(d.Context(), ann.Community, "w", last.Withdrawal, march)
		},
		"opted out": func(d *desk, _ Shared) error { _, err := d.OptOut(d.Context(), ann, "w", march); return err },
		"removed":   func(d *desk, _ Shared) error { return d.RemoveMember(d.Context(), ann, "w", march) },
		"erased": func(d *desk, _ Shared) error {
			_, err := d.EraseCommunity(d.Context(), ann.Community, march)
			return err
		},
		"left the window": func(d *desk, _ Shared) error {
			return d.RunRelease(d.Context(), ann.Community, pool.DayOf(2027, time.December, 1), pool.StandardRules())
		},
		"forgotten": func(d *desk, _ Shared) error { _, err := d.WithdrawAll(d.Context(), ann, "w", march); return err },
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, restart := range []bool{false, true} {
				d := newDesk(t)
				share := func(delivery string) Shared {
					t.Helper()
					shared, err := d.ShareDraft(t.Context(), ann, delivery, d.draft(ann, 100), 1, march)
					require.NoError(t, err)
					return shared
				}
				older, newest := share("1"), share("2")
				require.NoError(t, remove(d, newest))
				if restart {
					d.restart()
				}
				want := newest.Number + 1
				if name == "forgotten" {
					want = 1
				}
				assert.Equal(t, want, share("3").Number, "restart %v", restart)
				if err := d.Withdraw(t.Context(), ann, "older", older.Number, march); name != "forgotten" {
					// Gone already, but where it was the newest alone that went.
					require.Equal(t, name != "withdrawn" && name != "withdrawn by its code", err != nil)
				}
				assert.Equal(t, want+1, share("4").Number)
			}
		})
	}
}

// A database of before sales were receipts.
func TestASaleOfBeforeTheUpdateIsKnownAfterIt(t *testing.T) {
	t.Parallel()
	config := before(t, 6)
	k, err := readKeys(config.KeysPath)
	require.NoError(t, err)
	old := &Store{keys: k}
	shared := Shared{Number: 3, Withdrawal: old.oldSaleCode(ann, "old")}
	db, err := sql.Open("sqlite", config.Path)
	require.NoError(t, err)
	insert := func(statement string, args ...any) {
		t.Helper()
		_, err := db.ExecContext(t.Context(), statement, args...)
		require.NoError(t, err)
	}
	insert("INSERT INTO record (id, tag, number, code_hash, "+saleColumns+") VALUES (9, ?, 3, ?, "+saleMarks+")",
		append([]any{old.tag(ann), old.codeHash(ann.Community, shared.Withdrawal)}, stool(300).columns()...)...)
	insert("UPDATE numbering SET next = 5") // the fourth was withdrawn
	day := int(pool.DayAt(march)) + receiptLife
	insert("INSERT INTO receipt (receipt, number, expires) VALUES (?, 3, ?), (?, 3, ?)",
		old.shareReceipt(ann, "old"), day, old.draftReceipt(ann, "AAAAAA"), day)
	insert("INSERT INTO draft (member, code, community, expires, "+saleColumns+") VALUES (?, 'BBBBBB', ?, ?, "+saleMarks+")",
		append([]any{old.memberID(ann), old.communityID(ann.Community), march.Unix() + 1}, stool(400).columns()...)...)
	require.NoError(t, db.Close())

	d := &desk{T: t, config: config}
	d.restart()
	defer func() { require.NoError(t, d.Store.Close()) }()
	d.whole(func() { d.again(ann, "old", "AAAAAA", shared) })
	draft, err := d.Draft(t.Context(), ann, "BBBBBB")
	require.NoError(t, err)
	assert.Equal(t, stool(400), draft)
	next, err := d.ShareDraft(t.Context(), ann, "new", "BBBBBB", 1, march)
	require.NoError(t, err)
	assert.Equal(t, 5, next.Number, "the number of before the update is behind the newest sale")
	d.whole(func() { d.again(ann, "new", "BBBBBB", next) })
	for delivery, code := range map[string]string{"w 1": shared.Withdrawal, "w 2": next.Withdrawal} {
		require.ErrorIs(t, d.WithdrawByCode(t.Context(), "another guild", delivery, code, march), ErrNotFound)
		require.NoError(t, d.WithdrawByCode(t.Context(), ann.Community, delivery, code, march))
	}
	d.whole(func() {
		d.again(ann, "old", "AAAAAA", shared)
		d.again(ann, "new", "BBBBBB", next)
	})
	last, err := d.ShareDraft(t.Context(), ann, "last", d.draft(ann, 500), 1, march)
	require.NoError(t, err)
	assert.Equal(t, 6, last.Number)
}

// Who asks again without any effect takes nobody's sale along that shares the
// transaction, and neither does who has no such draft.
func TestWhoSharesWhatIsNotThereHurtsNobodyElse(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	s.commits.longest = time.Minute
	first := shareNow(t, s, ann, "0", stool(100)) // so that the maker is remembered
	codes := make([]string, 3)
	for i := range codes {
		var err error
		codes[i], err = s.SaveDraft(t.Context(), ann, stool(200+i), march)
		require.NoError(t, err)
	}
	let := holdTurn(t, s)
	type told struct {
		Shared
		err error
	}
	all := make([]chan told, 0, 5)
	for i, code := range []string{codes[0], codes[1], "000000", codes[1], codes[2]} {
		answer := make(chan told, 1)
		all = append(all, answer)
		go func() {
			shared, err := s.ShareDraft(context.Background(), ann, fmt.Sprint("delivery ", i), code, 1, march)
			answer <- told{shared, err}
		}()
		waitFor(t, s, i+1)
	}
	let()
	for i, answer := range all {
		got := <-answer
		switch i {
		case 2:
			require.ErrorIs(t, got.err, ErrNotFound)
		case 3:
			assert.Equal(t, first.Number+2, alreadyShared(t, got.err).Number)
		default:
			require.NoError(t, got.err)
		}
	}
	sales, err := s.Sales(t.Context(), ann)
	require.NoError(t, err)
	assert.Len(t, sales, 4)
	_, err = s.ShareDraft(t.Context(), ann, "late", codes[2], 1, march.Add(draftLife))
	assert.Equal(t, 4, alreadyShared(t, err).Number)
}

// What is remembered of a maker goes with what was not kept, and with what they agreed to.
func TestAMakerIsRememberedAsTheyAre(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	shareNow(t, s, ann, "1", stool(100))
	require.Equal(t, makers{string(s.tag(ann)): {next: 2, wording: 1}}, s.makers)
	require.ErrorIs(t, s.write(t.Context(), "trying", func(tx *transaction) error {
		by := s.sharer(ann, "lost", "")
		code, err := s.freeDraftCode(t.Context(), tx, ann)
		require.NoError(t, err)
		_, err = tx.ExecContext(t.Context(), "INSERT INTO draft (member, code, community, expires, "+saleColumns+") VALUES (?, ?, ?, ?, "+saleMarks+")",
			append([]any{by.member, code, s.communityID(ann.Community), march.Unix() + 1}, stool(1).columns()...)...)
		require.NoError(t, err)
		by.code = code
		number, err := s.shareDraft(t.Context(), tx, by, 1, march)
		require.NoError(t, err)
		assert.Equal(t, 2, number)
		return errTried
	}), errTried)
	assert.Empty(t, s.makers)
	assert.Equal(t, 2, shareNow(t, s, ann, "2", stool(200)).Number)
	require.NoError(t, s.OptIn(t.Context(), ann, 2, march))
	shareNow(t, s, ann, "3", stool(300)) // to the first wording
	consent, _, err := s.Consent(t.Context(), ann)
	require.NoError(t, err)
	assert.Equal(t, 1, consent.Wording)
	for n := range makersMost + 10 {
		s.makers.keep(fmt.Append(nil, n), maker{1, 1})
	}
	assert.Len(t, s.makers, makersMost)
	_, err = s.OptOut(t.Context(), ann, "4", march)
	require.NoError(t, err)
	assert.NotContains(t, s.makers, string(s.tag(ann)))
	assert.Equal(t, 4, shareNow(t, s, ann, "5", stool(400)).Number)
	_, given, err := s.Consent(t.Context(), ann)
	require.NoError(t, err)
	assert.True(t, given)
}

// Nothing but the audit holds the codes of a maker's sales apart.
func TestAnAuditFindsACodeOfTwoSales(t *testing.T) {
	t.Parallel()
	d := newDesk(t)
	shareNow(t, d.Store, ann, "1", stool(100))
	shareNow(t, d.Store, ann, "2", stool(100))
	said := func() (problems []string) {
		err := Audit(t.Context(), d.config, func(f Finding) {
			if f.Problem != nil {
				problems = append(problems, f.Problem.Error())
			}
		})
		if problems != nil {
			require.ErrorIs(t, err, ErrUnsound)
		}
		return problems
	}
	assert.Empty(t, said())
	_, err := d.writer.ExecContext(t.Context(), "UPDATE record SET code_hash = zeroblob(32)")
	require.NoError(t, err)
	problems := said()
	require.Len(t, problems, 1)
	assert.Contains(t, problems[0], "sales of a maker have one code")
}

// A code leads to the beginning of its maker's tag, in its own community alone.
func TestAWithdrawalCodeTellsWhereItsSaleLies(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	elsewhere := 0
	for n := range 1000 {
		who := Who{ann.Community, fmt.Sprint(n)}
		tag := s.tag(who)
		code, ok := codeBytes(s.saleCode(who, tag, newDraftCode()))
		require.True(t, ok)
		require.Equal(t, tag[:placeBytes], s.placeOf(who.Community, code))
		if string(tag[:placeBytes]) == string(s.placeOf("another guild", code)) {
			elsewhere++
		}
		if string(tag[:placeBytes]) == string(code[:placeBytes]) {
			elsewhere++
		}
	}
	assert.Less(t, elsewhere, 5, "0.03 are to be expected by chance")
	for _, typed := range []string{"", "0000", "UUUU-UUUU-UUUU-UUUU", "0000-0000-0000-0000-0", "späne"} {
		_, ok := codeBytes(typed)
		assert.False(t, ok, typed)
		require.ErrorIs(t, s.WithdrawByCode(t.Context(), ann.Community, typed, typed, march), ErrNotFound)
	}
}
