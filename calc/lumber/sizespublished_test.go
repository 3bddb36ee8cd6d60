package lumber_test

import (
	"encoding/csv"
	"math/big"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
)

// table reads a table of testdata/published, one map a row by the names in its
// heading.
func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "..", "testdata", "published", name))
	require.NoError(t, err)
	defer func() { require.NoError(t, file.Close()) }()
	reader := csv.NewReader(file)
	reader.Comment = '#'
	records, err := reader.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(records), 1, "%s has rows", name)
	rows := make([]map[string]string, 0, len(records)-1)
	for _, record := range records[1:] {
		row := map[string]string{}
		for k, column := range records[0] {
			row[column] = record[k]
		}
		rows = append(rows, row)
	}
	return rows
}

// in reads inches as the tables print them.
func in(t require.TestingT, text string) measure.Length {
	l, err := measure.ParseLength(text, measure.Inch)
	require.NoError(t, err, text)
	return l
}

// boards reads a lot in inches.
func boards(t require.TestingT, text string) measure.Lot {
	lot, err := measure.ParseLot(text, measure.Inch)
	require.NoError(t, err, text)
	return lot
}

// board reads one board in inches.
func board(t require.TestingT, text string) measure.Board { return boards(t, text)[0].Board }

// ratio reads an exact number.
func ratio(t require.TestingT, text string) *big.Rat {
	r, ok := new(big.Rat).SetString(text)
	require.True(t, ok, text)
	return r
}

// A table that is built into the program is the published one, sources and marks and
// all.
func TestTheTablesInTheProgramAreThePublishedOnes(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"ps20-sizes.csv", "hardwood-thickness.csv", "plywood-thickness.csv"} {
		want, err := os.ReadFile(filepath.Join("..", "..", "testdata", "published", name))
		require.NoError(t, err)
		got, err := os.ReadFile(name)
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got), name)
	}
}
