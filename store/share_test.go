package store_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/pool"
	"tallystick/store"
)

func TestASaleComesBackAsItWasPreviewed(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	for i, sale := range []store.Sale{
		bench(260),
		{Category: "box", Sold: pool.MonthOf(2026, time.January), Values: pool.Values{}.With(pool.Price, 0)},
	} {
		code, err := s.SaveDraft(t.Context(), ann, sale, noon)
		require.NoError(t, err)
		draft, err := s.Draft(t.Context(), ann, code)
		require.NoError(t, err)
		assert.Equal(t, sale, draft)
		_, err = s.ShareDraft(t.Context(), ann, fmt.Sprint("delivery ", i), code, 1, noon)
		require.NoError(t, err)
		sales, err := s.Sales(t.Context(), ann)
		require.NoError(t, err)
		assert.Equal(t, store.SharedSale{Number: i + 1, Sale: sale}, sales[i])
	}
}

func TestAnySaleIsKeptToThreeSignificantFigures(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	word := rapid.StringMatching(`[a-zé' ]{1,20}`)
	rapid.Check(t, func(rt *rapid.T) {
		sale := store.Sale{
			Category:     word.Draw(rt, "category"),
			SpeciesGroup: rapid.OneOf(rapid.Just(""), word).Draw(rt, "species group"),
			Region:       rapid.OneOf(rapid.Just(""), word).Draw(rt, "region"),
			Sold:         pool.Month(rapid.IntRange(2000*12, 2100*12).Draw(rt, "sold")),
		}
		for _, f := range pool.AllFigures() {
			least := int64(0)
			if f == pool.RealisedHourly {
				least = -1e18
			}
			if f == pool.Price || rapid.Bool().Draw(rt, "has "+f.String()) {
				sale.Values = sale.Values.With(f, pool.Micros(rapid.Int64Range(least, 1e18).Draw(rt, f.String())))
			}
		}
		code, err := s.SaveDraft(t.Context(), ann, sale, noon)
		require.NoError(rt, err)
		draft, err := s.Draft(t.Context(), ann, code)
		require.NoError(rt, err)
		require.Equal(rt, sale.Rounded(), draft)
		for _, f := range pool.AllFigures() {
			if v, ok := sale.Values.Of(f); ok {
				got, _ := draft.Values.Of(f)
				require.Equal(rt, pool.ThreeFigures(v), got)
			}
		}
	})
}

func TestADraftIsItsMembersOwn(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	code, err := s.SaveDraft(t.Context(), ann, bench(100), noon)
	require.NoError(t, err)
	elsewhere := store.Who{Community: "other guild", Member: ann.Member}
	for _, who := range []store.Who{bert, elsewhere} {
		_, err = s.Draft(t.Context(), who, code)
		require.ErrorIs(t, err, store.ErrNotFound)
		_, err = s.ShareDraft(t.Context(), who, "1", code, 1, noon)
		require.ErrorIs(t, err, store.ErrNotFound)
	}
	_, given, err := s.Consent(t.Context(), bert)
	require.NoError(t, err)
	assert.False(t, given, "nothing shared, nothing agreed to")
}

func TestACodeIsReadHoweverItIsTyped(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	code, err := s.SaveDraft(t.Context(), ann, bench(100), noon)
	require.NoError(t, err)
	assert.Regexp(t, "^[0-9A-HJKMNP-TV-Z]{6}$", code)
	typed := strings.ToLower(strings.NewReplacer("0", "o", "1", "l").Replace(code[:3] + "-" + code[3:]))
	shared, err := s.ShareDraft(t.Context(), ann, "1", typed, 1, noon)
	require.NoError(t, err)
	assert.Regexp(t, "^([0-9A-HJKMNP-TV-Z]{4}-){3}[0-9A-HJKMNP-TV-Z]{4}$", shared.Withdrawal)
	typed = strings.ToLower(strings.NewReplacer("0", "o", "1", "i", "-", " ").Replace(shared.Withdrawal))
	require.NoError(t, s.WithdrawByCode(t.Context(), ann.Community, "2", typed, noon))
}

func TestADraftLastsSevenDays(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	for later, want := range map[time.Duration]error{7*24*time.Hour - time.Second: nil, 7 * 24 * time.Hour: store.ErrNotFound} {
		who := store.Who{Community: "guild", Member: later.String()}
		code, err := s.SaveDraft(t.Context(), who, bench(100), noon)
		require.NoError(t, err)
		_, err = s.ShareDraft(t.Context(), who, "1", code, 1, noon.Add(later))
		require.ErrorIs(t, err, want)
	}
	code, err := s.SaveDraft(t.Context(), ann, bench(100), noon)
	require.NoError(t, err)
	_, err = s.ReleaseDue(t.Context(), noon.Add(7*24*time.Hour))
	require.NoError(t, err)
	_, err = s.Draft(t.Context(), ann, code)
	require.ErrorIs(t, err, store.ErrNotFound, "the daily call forgets it")
}

func TestAMemberKeepsTheNewestTwentyDrafts(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	var codes []string
	for i := range 22 {
		code, err := s.SaveDraft(t.Context(), ann, bench(100+i), noon.Add(time.Duration(i)*time.Second))
		require.NoError(t, err)
		codes = append(codes, code)
	}
	for i, code := range codes {
		_, err := s.Draft(t.Context(), ann, code)
		if i < 2 {
			require.ErrorIs(t, err, store.ErrNotFound, "draft %d", i)
		} else {
			require.NoError(t, err, "draft %d", i)
		}
	}
}

func TestTheSameDeliverySharesOnce(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	code, err := s.SaveDraft(t.Context(), ann, bench(100), noon)
	require.NoError(t, err)
	var wait sync.WaitGroup
	answers := make([]store.Shared, 8)
	for i := range answers {
		wait.Go(func() {
			var err error
			answers[i], err = s.ShareDraft(t.Context(), ann, "delivery", code, 1, noon)
			assert.NoError(t, err)
		})
	}
	wait.Wait()
	for _, answer := range answers {
		assert.Equal(t, answers[0], answer)
	}
	assert.Equal(t, []int{1}, numbers(t, s, ann))
}

func TestASecondConfirmationOfADraftNamesTheSaleItBecame(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	share(t, s, ann, "0", bench(90))
	code, err := s.SaveDraft(t.Context(), ann, bench(100), noon)
	require.NoError(t, err)
	shared, err := s.ShareDraft(t.Context(), ann, "1", code, 1, noon)
	require.NoError(t, err)
	_, err = s.ShareDraft(t.Context(), ann, "2", code, 1, noon)
	require.ErrorIs(t, err, store.ErrConflict)
	var already *store.AlreadyShared
	require.ErrorAs(t, err, &already)
	assert.Equal(t, shared.Number, already.Number)
	assert.Equal(t, []int{1, 2}, numbers(t, s, ann))
}

func TestTheSameSaleTwiceIsNoticed(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	share(t, s, ann, "1", bench(100))
	nextMonth := bench(100)
	nextMonth.Sold++
	for what, c := range map[string]struct {
		who  store.Who
		sale store.Sale
		want bool
	}{
		"the same":                   {ann, bench(100), true},
		"the same before rounding":   {ann, withPrice(bench(100), 100_049_000), true},
		"another price":              {ann, bench(101), false},
		"another month":              {ann, nextMonth, false},
		"the same of another member": {bert, bench(100), false},
	} {
		got, err := s.Similar(t.Context(), c.who, c.sale)
		require.NoError(t, err)
		assert.Equal(t, c.want, got, what)
	}
}

func withPrice(sale store.Sale, price pool.Micros) store.Sale {
	sale.Values = sale.Values.With(pool.Price, price)
	return sale
}

func TestConsentIsNotedWithItsWordingAndItsFirstDay(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	_, given, err := s.Consent(t.Context(), ann)
	require.NoError(t, err)
	assert.False(t, given)

	agree := func(delivery string, wording int, now time.Time) store.Consent {
		code, err := s.SaveDraft(t.Context(), ann, bench(100), now)
		require.NoError(t, err)
		_, err = s.ShareDraft(t.Context(), ann, delivery, code, wording, now)
		require.NoError(t, err)
		consent, given, err := s.Consent(t.Context(), ann)
		require.NoError(t, err)
		assert.True(t, given)
		return consent
	}
	day := time.Date(2026, time.March, 5, 0, 0, 0, 0, time.UTC)
	assert.Equal(t, store.Consent{Wording: 1, Given: day}, agree("1", 1, noon))
	assert.Equal(t, store.Consent{Wording: 1, Given: day}, agree("2", 1, noon.AddDate(0, 1, 0)), "agreed already")
	assert.Equal(t, store.Consent{Wording: 2, Given: day.AddDate(0, 2, 0)}, agree("3", 2, noon.AddDate(0, 2, 0)), "new words")
}

func TestASaleThatSaysTooLittleOrTooMuchIsNotStored(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	priceless := bench(100)
	priceless.Values = pool.Values{}.With(pool.RealisedHourly, pool.Whole(20))
	nameless := bench(100)
	nameless.Category = ""
	endless := bench(100)
	endless.Region = strings.Repeat("x", 65)
	for what, sale := range map[string]store.Sale{
		"no price": priceless, "no category": nameless, "a long region": endless,
		"a price below nothing": withPrice(bench(1), -1_000_000), "a price beyond all": withPrice(bench(1), 2e18),
	} {
		_, err := s.SaveDraft(t.Context(), ann, sale, noon)
		require.Error(t, err, what)
		assert.NotErrorIs(t, err, store.ErrConflict, what)
	}
}

func TestManyMayWriteAtOnce(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	var wait sync.WaitGroup
	for i := range 2 {
		for j := range 4 {
			wait.Go(func() {
				who := store.Who{Community: "guild", Member: fmt.Sprint("member ", j)}
				for n := range 5 {
					code, err := s.SaveDraft(t.Context(), who, bench(100+n), noon)
					if assert.NoError(t, err) {
						_, err = s.ShareDraft(t.Context(), who, fmt.Sprint(i, " ", n), code, 1, noon)
						assert.NoError(t, err)
					}
				}
			})
		}
	}
	wait.Wait()
	for j := range 4 {
		who := store.Who{Community: "guild", Member: fmt.Sprint("member ", j)}
		assert.Equal(t, []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, numbers(t, s, who))
	}
}
