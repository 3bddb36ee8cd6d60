package lumber_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// micrometres draws a length that has nothing to do with any tape.
func micrometres(least, most int) *rapid.Generator[measure.Length] {
	return rapid.Map(rapid.IntRange(least*1000, most*1000), func(n int) measure.Length { return measure.Length(n) * measure.Micrometre })
}

func drawBoard(t *rapid.T) measure.Board {
	return measure.Board{
		Thickness: micrometres(5, 80).Draw(t, "thickness"), Width: micrometres(20, 400).Draw(t, "width"), Length: micrometres(100, 3000).Draw(t, "length"),
	}
}

func drawLot(t *rapid.T) measure.Lot {
	lot := make(measure.Lot, rapid.IntRange(1, 6).Draw(t, "lines"))
	for k := range lot {
		lot[k] = measure.LotLine{Count: rapid.IntRange(1, 9).Draw(t, "count"), Board: drawBoard(t)}
	}
	return lot
}

func drawCuts(t *rapid.T) lumber.Cuts {
	return lumber.Cuts{
		Kerf: micrometres(0, 6).Draw(t, "kerf"), Rip: rapid.IntRange(0, 4).Draw(t, "rip"), Resaw: rapid.IntRange(0, 3).Draw(t, "resaw"),
		OnEdge: rapid.Bool().Draw(t, "on edge"), Jointing: micrometres(0, 3).Draw(t, "jointing"),
		Planing: micrometres(0, 3).Draw(t, "planing"), EndTrim: micrometres(0, 30).Draw(t, "end trim"),
	}
}

func TestAPanelIsNeverMoreThanItsBoards(t *testing.T) {
	t.Parallel()
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		lot, cuts := drawLot(t), drawCuts(t)
		p, err := lumber.PanelOf(lot, cuts)
		if err != nil {
			return // some cut leaves nothing
		}
		tried++
		var widths, thicknesses measure.Length
		for _, line := range lot {
			widths += measure.Length(line.Count) * line.Board.Width
			thicknesses += measure.Length(line.Count) * line.Board.Thickness
			assert.LessOrEqual(t, p.Size.Length, line.Board.Length)
		}
		if cuts.OnEdge {
			assert.LessOrEqual(t, p.Size.Width, thicknesses*measure.Length(max(cuts.Rip, 1)))
		} else {
			assert.LessOrEqual(t, p.Size.Width, widths*measure.Length(max(cuts.Resaw, 1)))
		}
		assert.LessOrEqual(t, p.Yield().Cmp(big.NewRat(1, 1)), 0, "yield %s", p.Yield().FloatString(6))
		assert.Positive(t, p.Yield().Sign())
	})
	assert.Positive(t, tried, "some panels were made")
}

// slowPanel lays every strip by itself and adds up exact fractions.
func slowPanel(lot measure.Lot, c lumber.Cuts) (width, thickness, length, glue *big.Rat) {
	type strip struct{ width, thickness, length *big.Rat }
	rat := func(l measure.Length) *big.Rat { return l.Rat(measure.Nanometre) }
	divide := func(across measure.Length, ways int) *big.Rat {
		lost := new(big.Rat).Mul(rat(c.Kerf), big.NewRat(int64(ways-1), 1))
		each := new(big.Rat).Sub(rat(across), lost)
		return each.Quo(each, big.NewRat(int64(ways), 1))
	}
	var strips []strip
	for _, line := range lot {
		for range line.Count * max(c.Rip, 1) * max(c.Resaw, 1) {
			s := strip{divide(line.Board.Width, max(c.Rip, 1)), divide(line.Board.Thickness, max(c.Resaw, 1)), rat(line.Board.Length)}
			if c.OnEdge {
				s.width, s.thickness = s.thickness, s.width
			}
			s.width.Sub(s.width, rat(2*c.Jointing))
			strips = append(strips, s)
		}
	}
	least := func(a, b *big.Rat) *big.Rat {
		if a.Cmp(b) < 0 {
			return a
		}
		return b
	}
	width, glue = new(big.Rat), new(big.Rat)
	thickness, length = strips[0].thickness, strips[0].length
	for k, s := range strips {
		width.Add(width, s.width)
		thickness, length = least(thickness, s.thickness), least(length, s.length)
		if k > 0 {
			glue.Add(glue, new(big.Rat).Mul(least(s.thickness, strips[k-1].thickness), least(s.length, strips[k-1].length)))
		}
	}
	return width, new(big.Rat).Sub(thickness, rat(2*c.Planing)), new(big.Rat).Sub(length, rat(2*c.EndTrim)), glue
}

func TestTheFastPanelIsTheSlowOne(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lot, cuts := drawLot(t), drawCuts(t)
		p, err := lumber.PanelOf(lot, cuts)
		if err != nil {
			return
		}
		width, thickness, length, glue := slowPanel(lot, cuts)
		// Each division drops less than a nanometre a strip, never adds.
		near := func(want *big.Rat, got measure.Length, strips int) {
			off := new(big.Rat).Sub(want, got.Rat(measure.Nanometre))
			assert.True(t, off.Sign() >= 0 && off.Cmp(big.NewRat(int64(strips), 1)) < 0, "want %s, got %s", want.FloatString(3), got)
		}
		near(width, p.Size.Width, p.Strips())
		near(thickness, p.Size.Thickness, 1)
		near(length, p.Size.Length, 1)
		off := new(big.Rat).Sub(glue, p.Glue.Rat(measure.Nanometre))
		bound := new(big.Rat).Mul(big.NewRat(int64(p.Strips()), 1), big.NewRat(3_000_000_000, 1)) // a nanometre by the longest board
		assert.True(t, off.Sign() >= 0 && off.Cmp(bound) <= 0, "glue off by %s nm²", off.FloatString(0))
	})
}

func TestTakingMoreOffNeverGivesMore(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lot, cuts := drawLot(t), drawCuts(t)
		more := cuts
		step := micrometres(0, 2).Draw(t, "step")
		switch rapid.IntRange(0, 3).Draw(t, "which") {
		case 0:
			more.Kerf += step
		case 1:
			more.Jointing += step
		case 2:
			more.Planing += step
		case 3:
			more.EndTrim += step
		}
		greedy, err := lumber.PanelOf(lot, more)
		if err != nil {
			return
		}
		p, err := lumber.PanelOf(lot, cuts)
		require.NoError(t, err, "what takes less off leaves something")
		assert.LessOrEqual(t, greedy.Size.Width, p.Size.Width)
		assert.LessOrEqual(t, greedy.Size.Thickness, p.Size.Thickness)
		assert.LessOrEqual(t, greedy.Size.Length, p.Size.Length)
		assert.LessOrEqual(t, greedy.Yield().Cmp(p.Yield()), 0)
	})
}

func TestAnotherBoardNeverNarrowsAPanel(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		lot, cuts := drawLot(t), drawCuts(t)
		more, err := lumber.PanelOf(append(lot, measure.LotLine{Count: 1, Board: drawBoard(t)}), cuts)
		if err != nil {
			return
		}
		p, err := lumber.PanelOf(lot, cuts)
		require.NoError(t, err)
		assert.Greater(t, more.Size.Width, p.Size.Width)
		assert.LessOrEqual(t, more.Size.Thickness, p.Size.Thickness)
		assert.LessOrEqual(t, more.Size.Length, p.Size.Length)
		assert.Positive(t, more.Glue.Rat(measure.Inch).Cmp(p.Glue.Rat(measure.Inch)))
	})
}

// What some boards give needs those boards.
func TestThePanelOfSomeBoardsNeedsThoseBoards(t *testing.T) {
	t.Parallel()
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		b, cuts, n := drawBoard(t), drawCuts(t), rapid.IntRange(1, 40).Draw(t, "boards")
		p, err := lumber.PanelOf(measure.Lot{{Count: n, Board: b}}, cuts)
		if err != nil {
			return
		}
		tried++
		needs, err := lumber.BoardsFor(p.Size, b, cuts)
		require.NoError(t, err)
		assert.Equal(t, n, needs.Boards)
		assert.Equal(t, p.Strips(), needs.Strips)
		assert.Equal(t, p.Glue, needs.Panel.Glue)
		assert.Equal(t, needs.Strip.Width, needs.Last)
		assert.Zero(t, needs.Surplus)
	})
	assert.Positive(t, tried)
}

// The boards that a panel needs give it, and one fewer do not.
func TestTheBoardsAPanelNeedsGiveIt(t *testing.T) {
	t.Parallel()
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		b, cuts := drawBoard(t), drawCuts(t)
		want := measure.Board{Thickness: micrometres(3, 40).Draw(t, "panel thickness"), Width: micrometres(50, 2000).Draw(t, "panel width"), Length: micrometres(50, 1500).Draw(t, "panel length")}
		needs, err := lumber.BoardsFor(want, b, cuts)
		if err != nil {
			return
		}
		tried++
		cut := b
		cut.Length = needs.Strip.Length
		gives := func(boards int) lumber.Panel {
			return panelOf(t, measure.Lot{{Count: boards * needs.Lengths, Board: cut}}, cuts)
		}
		got := gives(needs.Boards).Size
		assert.GreaterOrEqual(t, got.Width, want.Width)
		assert.Equal(t, want.Thickness+needs.Surplus, got.Thickness)
		assert.Equal(t, want.Length, got.Length)
		if needs.Boards > 1 {
			assert.Less(t, gives(needs.Boards-1).Size.Width, want.Width)
		}
		// The lengths fit in the board with the cuts between them, and one more does not.
		used := measure.Length(needs.Lengths)*cut.Length + measure.Length(needs.Lengths-1)*cuts.Kerf
		assert.LessOrEqual(t, used, b.Length)
		assert.Greater(t, used+cuts.Kerf+cut.Length, b.Length)
		assert.True(t, needs.Last > 0 && needs.Last <= needs.Strip.Width)
	})
	assert.Positive(t, tried)
}
