package store_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/store"
)

func TestOwnIsAllOfTheMemberAndNothingOfAnybodyElse(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	own, err := s.Own(t.Context(), ann)
	require.NoError(t, err)
	assert.Equal(t, store.Own{}, own)

	first := share(t, s, ann, "1", bench(100))
	share(t, s, ann, "2", bench(200))
	share(t, s, bert, "1", bench(300))
	elsewhere := store.Who{Community: "other guild", Member: ann.Member}
	share(t, s, elsewhere, "1", bench(400))
	code, err := s.SaveDraft(t.Context(), ann, bench(500), noon)
	require.NoError(t, err)
	require.NoError(t, s.JoinShop(t.Context(), ann, "larch-tuesday"))
	own, err = s.Own(t.Context(), ann)
	require.NoError(t, err)
	assert.Equal(t, store.Own{
		Consent: &store.Consent{Wording: 1, Given: time.Date(2026, time.March, 5, 0, 0, 0, 0, time.UTC)},
		Sales:   []store.SharedSale{{Number: first.Number, Sale: bench(100)}, {Number: 2, Sale: bench(200)}},
		Drafts:  []store.OwnDraft{{Code: code, Expires: noon.Add(7 * 24 * time.Hour), Sale: bench(500)}},
		Shop:    true,
	}, own)
}

func TestOptingInComesBeforeAnySaleAndOptingOutTakesTheSales(t *testing.T) {
	t.Parallel()
	s := fresh(t)
	_, err := s.OptOut(t.Context(), ann, "0", noon)
	require.ErrorIs(t, err, store.ErrNotFound)
	require.NoError(t, s.OptIn(t.Context(), ann, 2, noon))
	consent, given, err := s.Consent(t.Context(), ann)
	require.NoError(t, err)
	assert.True(t, given)
	assert.Equal(t, 2, consent.Wording)
	assert.Empty(t, numbers(t, s, ann), "nothing is shared by that")

	share(t, s, ann, "1", bench(100))
	share(t, s, ann, "2", bench(200))
	require.NoError(t, s.JoinShop(t.Context(), ann, "larch-tuesday"))
	for range 2 {
		n, err := s.OptOut(t.Context(), ann, "3", noon)
		require.NoError(t, err)
		assert.Equal(t, 2, n, "also when it is delivered again")
	}
	own, err := s.Own(t.Context(), ann)
	require.NoError(t, err)
	assert.Equal(t, store.Own{Shop: true}, own)
	n, err := s.WithdrawAll(t.Context(), ann, "4", noon)
	require.NoError(t, err)
	assert.Zero(t, n)
	own, err = s.Own(t.Context(), ann)
	require.NoError(t, err)
	assert.Equal(t, store.Own{}, own)
}
