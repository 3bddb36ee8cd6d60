package store

import (
	"context"
	"database/sql"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestAReadThatPanicsKeepsNoConnection(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	for range 2 * readerCount {
		assert.Panics(t, func() {
			_ = s.read(t.Context(), "trying", func(*transaction) error { panic("tried") })
		})
	}
	ctx, stop := context.WithTimeout(t.Context(), 10*time.Second)
	defer stop()
	require.NoError(t, s.Answers(ctx))
}

func TestNothingIsSaidInATransactionThatIsOver(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	var over []*transaction
	keep := func(tx *transaction) error {
		over = append(over, tx)
		return nil
	}
	require.NoError(t, s.read(t.Context(), "trying", keep))
	require.NoError(t, s.write(t.Context(), "trying", keep))
	for _, tx := range over {
		_, err := tx.ExecContext(t.Context(), "DELETE FROM question")
		require.ErrorIs(t, err, sql.ErrConnDone)
		require.ErrorIs(t, tx.QueryRowContext(t.Context(), "SELECT 1").Scan(new(int)), sql.ErrConnDone)
		require.Error(t, tx.commit())
	}
}

func TestATransactionThatIsTakenBackLeavesNothing(t *testing.T) {
	t.Parallel()
	s, _ := inside(t)
	tx, err := beginWrite(t.Context(), s.writer, nil)
	require.NoError(t, err)
	_, err = tx.ExecContext(t.Context(), "DELETE FROM house")
	require.NoError(t, err)
	require.NoError(t, tx.rollback())
	rows := 0
	require.NoError(t, s.reader.QueryRowContext(t.Context(), "SELECT count(*) FROM house").Scan(&rows))
	assert.Equal(t, 1, rows)
}
