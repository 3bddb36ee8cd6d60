package store_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/store"
)

func TestAWithdrawnNumberIsNotGivenAgain(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	share(t, s, ann, "1", bench(100))
	share(t, s, ann, "2", bench(200))
	require.NoError(t, s.Withdraw(t.Context(), ann, "3", 2, noon))
	assert.Equal(t, []int{1}, numbers(t, s, ann))
	require.NoError(t, s.Withdraw(t.Context(), ann, "4", 1, noon))
	assert.Empty(t, numbers(t, s, ann))
	assert.Equal(t, 3, share(t, s, ann, "5", bench(300)).Number)
	_, given, err := s.Consent(t.Context(), ann)
	require.NoError(t, err)
	assert.True(t, given, "a withdrawn sale does not take the consent back")
}

func TestAWithdrawalThatIsDeliveredAgainDoesNothing(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	first := share(t, s, ann, "1", bench(100))
	second := share(t, s, ann, "2", bench(200))
	for range 2 {
		require.NoError(t, s.Withdraw(t.Context(), ann, "3", first.Number, noon))
		require.NoError(t, s.WithdrawByCode(t.Context(), ann.Community, "4", second.Withdrawal, noon))
	}
	share(t, s, ann, "5", bench(300))
	for range 2 {
		n, err := s.WithdrawAll(t.Context(), ann, "6", noon)
		require.NoError(t, err)
		assert.Equal(t, 1, n)
	}
}

func TestNobodyWithdrawsWhatIsNotTheirs(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	shared := share(t, s, ann, "1", bench(100))
	elsewhere := store.Who{Community: "other guild", Member: ann.Member}
	for _, who := range []store.Who{bert, elsewhere} {
		require.ErrorIs(t, s.Withdraw(t.Context(), who, "2", shared.Number, noon), store.ErrNotFound)
		_, err := s.WithdrawAll(t.Context(), who, "3", noon)
		require.ErrorIs(t, err, store.ErrNotFound)
	}
	require.ErrorIs(t, s.Withdraw(t.Context(), ann, "4", 2, noon), store.ErrNotFound)
	require.ErrorIs(t, s.WithdrawByCode(t.Context(), ann.Community, "5", "0000-0000-0000-0000", noon), store.ErrNotFound)
	require.ErrorIs(t, s.WithdrawByCode(t.Context(), "other guild", "6", shared.Withdrawal, noon), store.ErrNotFound)
	assert.Equal(t, []int{1}, numbers(t, s, ann))
}

func TestACodeWithdrawsForWhoeverHoldsIt(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	share(t, s, ann, "1", bench(100))
	shared := share(t, s, ann, "2", bench(200))
	require.NoError(t, s.WithdrawByCode(t.Context(), ann.Community, "3", shared.Withdrawal, noon))
	assert.Equal(t, []int{1}, numbers(t, s, ann))
	require.ErrorIs(t, s.WithdrawByCode(t.Context(), ann.Community, "4", shared.Withdrawal, noon), store.ErrNotFound)
}

func TestWithdrawingAllLeavesNothingOfTheMember(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	share(t, s, ann, "1", bench(100))
	share(t, s, ann, "2", bench(200))
	share(t, s, bert, "1", bench(300))
	code, err := s.SaveDraft(t.Context(), ann, bench(400), noon)
	require.NoError(t, err)

	n, err := s.WithdrawAll(t.Context(), ann, "3", noon)
	require.NoError(t, err)
	assert.Equal(t, 2, n)
	assert.Empty(t, numbers(t, s, ann))
	_, given, err := s.Consent(t.Context(), ann)
	require.NoError(t, err)
	assert.False(t, given)
	_, err = s.Draft(t.Context(), ann, code)
	require.ErrorIs(t, err, store.ErrNotFound)
	assert.Equal(t, []int{1}, numbers(t, s, bert), "another member's stay")
}
