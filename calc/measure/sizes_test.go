package measure_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/measure"
)

func TestSizesAreReadAsPeopleWriteThem(t *testing.T) {
	t.Parallel()
	const (
		in = measure.Inch
		mm = measure.Millimetre
	)
	for text, want := range map[string]measure.Size{
		"39 x 23 x 1-3/4 in": {39 * in, 23 * in, in * 7 / 4}, "39x23x1 3/4": {39 * in, 23 * in, in * 7 / 4},
		"99 × 58 × 4,5 cm": {990 * mm, 580 * mm, 45 * mm}, "99×58 cm": {990 * mm, 580 * mm}, "990*580mm": {990 * mm, 580 * mm},
		`39"L x 23"W x 18"H`: {39 * in, 23 * in, 18 * in}, "39L x 23W x 18H in": {39 * in, 23 * in, 18 * in},
		"18H x 39L x 23W": {39 * in, 23 * in, 18 * in}, `18" high x 39" long x 23" wide`: {39 * in, 23 * in, 18 * in},
		"23wx39lx1t": {39 * in, 23 * in, in}, "30W x 18D x 40H cm": {300 * mm, 180 * mm, 400 * mm},
		"39 by 23": {39 * in, 23 * in}, "4cmx8cm": {40 * mm, 80 * mm}, "4inx8in": {4 * in, 8 * in},
		`39 x 23"`: {39 * in, 23 * in}, `990mm x 23"`: {990 * mm, 23 * in}, "3' x 2' 6\" x 1": {36 * in, 30 * in, in},
		"1 x 2 x 3 ft": {12 * in, 24 * in, 36 * in}, "1 mm x 2 x 3 ft": {mm, 24 * in, 36 * in}, "39 x 23 x 1' 6 in": {39 * in, 23 * in, 18 * in},
		"2,5 x 3,5 m": {2500 * mm, 3500 * mm},
	} {
		got, err := measure.ParseSize(text, in)
		if assert.NoError(t, err, "ParseSize(%q, Inch)", text) {
			assert.Equal(t, want, got, "ParseSize(%q, Inch)", text)
		}
	}
}

// A member of either system is given boards and sizes written in the other one, from
// a yard's list or out of this program's own answers.
func TestSidesWithoutAUnitFollowTheSystemWrittenBesideThem(t *testing.T) {
	t.Parallel()
	const (
		in = measure.Inch
		mm = measure.Millimetre
		ft = measure.Foot
	)
	for text, want := range map[string]struct{ inches, metric measure.Board }{
		"6 @ 1x4x8'":            both(in, 4*in, 8*ft),
		"12 @ 2x4x8'":           both(2*in, 4*in, 8*ft),
		"1 x 4 x 8 ft":          both(in, 4*in, 8*ft),
		"1 x 4 x 3 yd":          both(in, 4*in, 9*ft),
		"1 x 4 x 8' 6\"":        both(in, 4*in, 8*ft+6*in),
		"1\" x 4 x 96":          both(in, 4*in, 96*in),
		"6 @ 27 x 145 x 2,4 m":  both(27*mm, 145*mm, 2400*mm),
		"27mm x 145 x 2400":     both(27*mm, 145*mm, 2400*mm),
		"27 x 145 x 2400 mm":    both(27*mm, 145*mm, 2400*mm),
		"2,7 cm x 14,5 x 240":   {board(27*mm, 145*mm, 2400*mm), board(27*mm, mm*29/2, 240*mm)},
		"2,7 x 14,5 x 240 cm":   both(27*mm, 145*mm, 2400*mm),
		"27 x 14,5 cm x 2,4 m":  both(27*mm, 145*mm, 2400*mm),
		"1 in x 100 x 2,4 m":    {board(in, 100*in, 2400*mm), board(in, 100*mm, 2400*mm)},
		"20 x 4\" x 2400 mm":    both(20*mm, 4*in, 2400*mm),
		"20 x 40 x 96":          {board(20*in, 40*in, 96*in), board(20*mm, 40*mm, 96*mm)},
		"3/4 in x 4 in x 2,4 m": both(in*3/4, 4*in, 2400*mm),
	} {
		for bare, want := range map[measure.Length]measure.Board{in: want.inches, mm: want.metric} {
			got, err := measure.ParseLot(text, bare)
			if assert.NoError(t, err, "ParseLot(%q, %s)", text, bare) {
				assert.Equal(t, want, got[0].Board, "ParseLot(%q, %s)", text, bare)
			}
		}
	}
	for text, want := range map[string]struct{ inches, metric measure.Size }{
		`39 x 23"`:           {measure.Size{39 * in, 23 * in}, measure.Size{39 * in, 23 * in}},
		`4' x 2' 6" x 1`:     {measure.Size{48 * in, 30 * in, in}, measure.Size{48 * in, 30 * in, in}},
		"39in x 23 x 3/4":    {measure.Size{39 * in, 23 * in, in * 3 / 4}, measure.Size{39 * in, 23 * in, in * 3 / 4}},
		"990 mm x 580 x 45":  {measure.Size{990 * mm, 580 * mm, 45 * mm}, measure.Size{990 * mm, 580 * mm, 45 * mm}},
		"99 cm x 58 x 4,5":   {measure.Size{990 * mm, 580 * mm, 45 * mm}, measure.Size{990 * mm, 58 * mm, mm * 9 / 2}},
		"1,2 m x 580 x 45":   {measure.Size{1200 * mm, 580 * mm, 45 * mm}, measure.Size{1200 * mm, 580 * mm, 45 * mm}},
		"40H x 18D x 30cm W": {measure.Size{300 * mm, 180 * mm, 400 * mm}, measure.Size{300 * mm, 180 * mm, 400 * mm}},
		`990mm x 23" x 2`:    {measure.Size{990 * mm, 23 * in, 2 * in}, measure.Size{990 * mm, 23 * in, 2 * mm}},
		"48 x 14 x 18":       {measure.Size{48 * in, 14 * in, 18 * in}, measure.Size{48 * mm, 14 * mm, 18 * mm}},
	} {
		for bare, want := range map[measure.Length]measure.Size{in: want.inches, mm: want.metric} {
			got, err := measure.ParseSize(text, bare)
			if assert.NoError(t, err, "ParseSize(%q, %s)", text, bare) {
				assert.Equal(t, want, got, "ParseSize(%q, %s)", text, bare)
			}
		}
	}
	named, err := measure.ParseNamedLot("12 @ 2 x 4 x 2.4 m")
	require.NoError(t, err)
	assert.Equal(t, measure.Lot{{12, board(2*in, 4*in, 2400*mm)}}, named, "a 2x4 is named in inches whatever its length is given in")
}

// both is a board that is the same for members of either system.
func both(t, w, l measure.Length) struct{ inches, metric measure.Board } {
	return struct{ inches, metric measure.Board }{board(t, w, l), board(t, w, l)}
}

func TestSizesThatAreNoneAreRefusedByThePartThatIsWrong(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]measure.InputError{
		"":                  {Value: "", Problem: "is empty"},
		"39":                {Value: "39", Problem: "is one measure; a size has two or three"},
		"39 x":              {Value: "39 x", Problem: "lacks a measure"},
		"39 x x 4":          {Value: "39 x x 4", Problem: "is not a length"},
		"39 x 4y x 3":       {Value: "4y", Problem: "is not a length"},
		"39 x -4":           {Value: "-4", Problem: "is below zero"},
		"39 x 1,234":        {Value: "1,234", Problem: "may be 1.234 or 1234"},
		"39 × 1/0 × 2":      {Value: "1/0", Problem: "divides by zero"},
		"0 x 4":             {Value: "0", Problem: "is a measure of zero"},
		"39 x 0.0000000001": {Value: "0.0000000001", Problem: "has more than 9 decimals"},
		"1x2x3x4":           {Value: "1x2x3x4", Problem: "has more than three measures"},
		"39L x 23 x 4H":     {Value: "39L x 23 x 4H", Problem: "names some sides and not others"},
		"39L x 23L":         {Value: "39L x 23L", Problem: "names the same side twice"},
		"39 23":             {Value: "39 23", Problem: "is not a length"},
	} {
		_, err := measure.ParseSize(text, measure.Inch)
		got := inputError(t, err)
		assert.Equal(t, want.Problem, got.Problem, "ParseSize(%q)", text)
		assert.Equal(t, want.Value, got.Value, "ParseSize(%q)", text)
		hintsWork(t, err, inInches(measure.ParseSize))
	}
	_, err := measure.ParseSize(strings.Repeat("1 x ", 60), measure.Inch)
	assert.Equal(t, "is too long for a size", inputError(t, err).Problem)
}

func TestASizeIsWrittenInTheWayOfEitherTape(t *testing.T) {
	t.Parallel()
	size, err := measure.ParseSize("39 x 23 x 1-3/4 in", measure.Inch)
	require.NoError(t, err)
	inches, exact := size.Tape(16)
	assert.Equal(t, "39 × 23 × 1-3/4 in", inches)
	assert.True(t, exact)
	assert.Equal(t, "990.6 × 584.2 × 44.45 mm", size.Metric())
	_, exact = size.Tape(2)
	assert.False(t, exact, "1-3/4 is not a half")
}

func board(t, w, l measure.Length) measure.Board {
	return measure.Board{Thickness: t, Width: w, Length: l}
}

func TestLotsAreReadAsPeopleWriteThem(t *testing.T) {
	t.Parallel()
	const (
		in = measure.Inch
		mm = measure.Millimetre
		ft = measure.Foot
	)
	for text, want := range map[string]measure.Lot{
		"6 @ 5/8 x 3-1/2 x 40 in":           {{6, board(in*5/8, in*7/2, 40*in)}},
		"6 @ 1x4x8'":                        {{6, board(in, 4*in, 8*ft)}},
		"6@1x4x8'":                          {{6, board(in, 4*in, 8*ft)}},
		"6 pcs 3/4 x 3-1/2 x 40":            {{6, board(in*3/4, in*7/2, 40*in)}},
		"6 pcs. of 3/4 x 3-1/2 x 40":        {{6, board(in*3/4, in*7/2, 40*in)}},
		"6 boards @ 1x4x8'":                 {{6, board(in, 4*in, 8*ft)}},
		"1 x 4 x 8 ft":                      {{1, board(in, 4*in, 8*ft)}},
		"1 x 4 x 3 yd":                      {{1, board(in, 4*in, 9*ft)}},
		"1 3/4 x 3-1/2 x 40":                {{1, board(in*7/4, in*7/2, 40*in)}},
		"27 x 150 x 2400 mm":                {{1, board(27*mm, 150*mm, 2400*mm)}},
		"2,7 x 15 x 240 cm":                 {{1, board(27*mm, 150*mm, 2400*mm)}},
		`5/4" x 6" x 8' 6"`:                 {{1, board(in*5/4, 6*in, 8*ft+6*in)}},
		"6 @ 1x4x8', 2 @ 2x4x8'":            {{6, board(in, 4*in, 8*ft)}, {2, board(2*in, 4*in, 8*ft)}},
		"6 @ 1x4x8,2 @ 2x4x8":               {{6, board(in, 4*in, 8*in)}, {2, board(2*in, 4*in, 8*in)}},
		"1x4x8,75":                          {{1, board(in, 4*in, 8*in+in*3/4)}},
		"1x4x ,75":                          {{1, board(in, 4*in, in*3/4)}},
		"6 @ ,5x4x8":                        {{6, board(in/2, 4*in, 8*in)}},
		"1x4x8',2x4x8'":                     {{1, board(in, 4*in, 8*ft)}, {1, board(2*in, 4*in, 8*ft)}},
		"1x4x8; 2x4x8\n\n3x4x8 + 4 x 4 x 8": {{1, board(in, 4*in, 8*in)}, {1, board(2*in, 4*in, 8*in)}, {1, board(3*in, 4*in, 8*in)}, {1, board(4*in, 4*in, 8*in)}},
		"1x4x8;":                            {{1, board(in, 4*in, 8*in)}},
		"10000 @ 1x4x8'\r\n":                {{10000, board(in, 4*in, 8*ft)}},
	} {
		got, err := measure.ParseLot(text, in)
		if assert.NoError(t, err, "ParseLot(%q, Inch)", text) {
			assert.Equal(t, want, got, "ParseLot(%q, Inch)", text)
		}
	}
	got, err := measure.ParseLot("27 x 150 x 2.4 m", mm)
	require.NoError(t, err)
	assert.Equal(t, measure.Lot{{1, board(27*mm, 150*mm, 2400*mm)}}, got, "a long unit word marks the length alone")
}

func TestLotsThatAreNoneAreRefusedByThePartThatIsWrong(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]measure.InputError{
		"":                         {Value: "", Problem: "is empty"},
		" ; ,\n":                   {Value: " ; ,\n", Problem: "names no boards"},
		"6 @ x":                    {Value: "6 @ x", Problem: "names no thickness, width and length"},
		"6 @":                      {Value: "6 @", Problem: "names no thickness, width and length"},
		"@ 1x4x8":                  {Value: "@ 1x4x8", Problem: "lacks the count of boards"},
		"6 @ 1x4":                  {Value: "6 @ 1x4", Problem: "lacks one of thickness, width and length"},
		"1x4":                      {Value: "1x4", Problem: "lacks one of thickness, width and length"},
		"6 1x4x8'":                 {Value: "6 1x4x8'", Problem: "needs an @ between the count and the board"},
		"6 x 1x4x8":                {Value: "6 x 1x4x8", Problem: "has more than three measures"},
		"1x4x8,2x4x8":              {Value: "1x4x8,2x4x8", Problem: "has more than three measures; a comma between two digits is a decimal comma"},
		"6 3/4 x 3-1/2 x 40":       {Value: "6 3/4 x 3-1/2 x 40", Problem: "may be 6 boards or one board 6-3/4 thick"},
		"0 @ 1x4x8":                {Value: "0", Problem: "is a count of no boards"},
		"10001 @ 1x4x8":            {Value: "10001", Problem: "is a count above 10,000 boards in one line"},
		"99999999999999999999 @ 1": {Value: "99999999999999999999", Problem: "is a count above 10,000 boards in one line"},
		"2.5 @ 1x4x8":              {Value: "2.5", Problem: "is not a count of boards"},
		"1,000 @ 1x4x8":            {Value: "1,000", Problem: "is not a count of boards"},
		"-2 @ 1x4x8":               {Value: "-2", Problem: "is below zero"},
		"6 @ 1x4yx8":               {Value: "4y", Problem: "is not a length"},
		"6 @ 1x0x8":                {Value: "0", Problem: "is a measure of zero"},
		"6 @ 1x4x1,234":            {Value: "1,234", Problem: "may be 1.234 or 1234"},
		"1x4x8; 1x4x8; 1x4y x8":    {Value: "4y", Problem: "in line 3 is not a length"},
		"1x4x8',\n\n 2 @ x":        {Value: "2 @ x", Problem: "in line 2 names no thickness, width and length"},
	} {
		_, err := measure.ParseLot(text, measure.Inch)
		got := inputError(t, err)
		assert.Equal(t, want.Problem, got.Problem, "ParseLot(%q)", text)
		assert.Equal(t, want.Value, got.Value, "ParseLot(%q)", text)
		hintsWork(t, err, inInches(measure.ParseLot))
	}
}

func TestALotHoldsTenThousandLinesAndNoMore(t *testing.T) {
	t.Parallel()
	const line = "6 @ 5/8 x 3-1/2 x 40 in\n"
	lot, err := measure.ParseLot(strings.Repeat(line, measure.MaxLotLines), measure.Inch)
	require.NoError(t, err)
	assert.Len(t, lot, measure.MaxLotLines)
	assert.Equal(t, 6*measure.MaxLotLines, lot.Boards())
	_, err = measure.ParseLot(strings.Repeat(line, measure.MaxLotLines+1), measure.Inch)
	assert.Equal(t, "has more than 10,000 lines", inputError(t, err).Problem)
	_, err = measure.ParseLot(strings.Repeat(" ", 1<<20)+line, measure.Inch)
	assert.Equal(t, "is too long for a lot of boards", inputError(t, err).Problem)
}

func BenchmarkParseLot(b *testing.B) {
	text := strings.Repeat("6 @ 5/8 x 3-1/2 x 40 in\n", measure.MaxLotLines)
	for b.Loop() {
		if _, err := measure.ParseLot(text, measure.Inch); err != nil {
			b.Fatal(err)
		}
	}
}

func TestNoLotTextTakesLong(t *testing.T) {
	t.Parallel()
	const allowed = 1 << 20
	for _, piece := range []string{",", "\n", "x", "1,", "@", "1x1x1;", "1x1x1,", "é", " ", ".1", "1 ", "x,1", "1x1 ,", "1pcs ", "6 3/4x", "1,1x"} {
		text := strings.Repeat(piece, allowed/len(piece))
		start := time.Now()
		_, err := measure.ParseLot(text, measure.Inch)
		inputError(t, err)
		assert.Less(t, time.Since(start), 2*time.Second, "a mebibyte of %q", piece)
	}
}
