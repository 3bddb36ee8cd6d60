package lumber_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

func panelOf(t require.TestingT, lot measure.Lot, cuts lumber.Cuts) lumber.Panel {
	p, err := lumber.PanelOf(lot, cuts)
	require.NoError(t, err)
	return p
}

// Worked by hand, in sixteenths of an inch.
func TestAPanelIsWhatIsLeftOfItsBoards(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, lot string
		cuts      lumber.Cuts
		want      string // thickness x width x length
		strips    int
		glue      string // in²
	}{
		{"six slats as they are", "6 @ 5/8 x 3-1/2 x 40", lumber.Cuts{}, "5/8 x 21 x 40", 6, "125"},
		{"jointed, planed and squared", "6 @ 5/8 x 3-1/2 x 40",
			lumber.Cuts{Jointing: in(t, "1/16"), Planing: in(t, "1/32"), EndTrim: in(t, "1/2")}, "9/16 x 20-1/4 x 39", 6, "125"},
		// (5-1/2 − 2/8)/3 = 1-3/4 a strip.
		{"ripped three ways", "2 @ 1 x 5-1/2 x 30", lumber.Cuts{Rip: 3, Kerf: in(t, "1/8")}, "1 x 10-1/2 x 30", 6, "150"},
		// (2 − 1/8)/2 = 15/16 a leaf, planed to 13/16.
		{"resawn in two", "1 @ 2 x 6 x 24", lumber.Cuts{Resaw: 2, Kerf: in(t, "1/8"), Planing: in(t, "1/16")}, "13/16 x 12 x 24", 2, "22.5"},
		// Strips of 1-3/4 by 1-1/2 on edge, 1-7/16 wide once jointed: 12 · 1-7/16 = 17-1/4.
		{"ripped and laid on edge", "4 @ 1-1/2 x 5-1/2 x 60",
			lumber.Cuts{Rip: 3, Kerf: in(t, "1/8"), OnEdge: true, Jointing: in(t, "1/32"), Planing: in(t, "1/16")}, "1-5/8 x 17-1/4 x 60", 12, "1155"},
		{"ripped and resawn", "1 @ 2 x 4-1/8 x 20", lumber.Cuts{Rip: 2, Resaw: 2, Kerf: in(t, "1/8")}, "15/16 x 8 x 20", 4, "56.25"},
		{"one board", "1 @ 3/4 x 11 x 30", lumber.Cuts{}, "3/4 x 11 x 30", 1, "0"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			p := panelOf(t, boards(t, tt.lot), tt.cuts)
			assert.Equal(t, board(t, tt.want), p.Size)
			assert.Equal(t, tt.strips, p.Strips())
			assert.Equal(t, tt.strips-1, p.Joints())
			assert.Zero(t, p.Glue.Rat(measure.Inch).Cmp(ratio(t, tt.glue)), "glue %s in²", p.Glue.Rat(measure.Inch))
			assert.Equal(t, -1, p.Thinnest)
			assert.Equal(t, -1, p.Shortest)
		})
	}
}

func TestTheSmallestBoardLimitsThePanel(t *testing.T) {
	t.Parallel()
	p := panelOf(t, boards(t, "3 @ 7/8 x 4 x 41; 2 @ 3/4 x 5 x 36; 1 @ 1 x 7 x 33"), lumber.Cuts{Planing: in(t, "1/32"), EndTrim: in(t, "3/4")})
	assert.Equal(t, board(t, "11/16 x 29 x 31-1/2"), p.Size)
	assert.Equal(t, 1, p.Thinnest)
	assert.Equal(t, 2, p.Shortest)
	assert.Equal(t, in(t, "4"), p.OuterStrip())
	assert.Equal(t, in(t, "33"), p.GlueLength())
	// Two joints 7/8 by 41, then the lower and shorter of each pair: 3/4 by 36 twice,
	// 3/4 by 33.
	assert.Zero(t, p.Glue.Rat(measure.Inch).Cmp(ratio(t, "150.5")), "71.75 + 27 + 27 + 24.75")
	assert.Zero(t, p.Joint.Rat(measure.Inch).Cmp(ratio(t, "35.875")), "the largest is 7/8 by 41")
	// 11/16·29·31.5 over 3·7/8·4·41 + 2·3/4·5·36 + 7·33.
	want := new(big.Rat).Quo(ratio(t, "628.03125"), ratio(t, "931.5"))
	assert.Zero(t, p.Yield().Cmp(want), "yield %s", p.Yield().FloatString(4))
}

func TestACutThatLeavesNothingIsNamed(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, lot string
		cuts      lumber.Cuts
		cut       lumber.Cut
		line      int
		across    string
	}{
		{"a kerf as wide as the board", "1 @ 1 x 3-1/2 x 40", lumber.Cuts{Rip: 2, Kerf: in(t, "3-1/2")}, lumber.Kerf, 0, "3-1/2"},
		{"a kerf as thick as the board", "1 @ 1 x 3 x 40; 1 @ 1/8 x 3 x 40", lumber.Cuts{Resaw: 2, Kerf: in(t, "1/8")}, lumber.Kerf, 1, "1/8"},
		{"more strips than dust leaves", "1 @ 1 x 3-1/2 x 40", lumber.Cuts{Rip: 40, Kerf: in(t, "1/8")}, lumber.Ripping, 0, "3-1/2"},
		{"strips too narrow to glue", "1 @ 1 x 3-1/2 x 40", lumber.Cuts{Rip: 20, Kerf: in(t, "1/8")}, lumber.Ripping, 0, "3-1/2"},
		{"leaves too thin on edge", "1 @ 1 x 3-1/2 x 40", lumber.Cuts{Resaw: 8, Kerf: in(t, "1/8"), OnEdge: true}, lumber.Resawing, 0, "1"},
		{"more leaves than dust leaves", "1 @ 1 x 3-1/2 x 40", lumber.Cuts{Resaw: 9, Kerf: in(t, "1/8")}, lumber.Resawing, 0, "1"},
		{"planed away", "1 @ 5/8 x 3-1/2 x 40", lumber.Cuts{Planing: in(t, "5/16")}, lumber.Planing, 0, "5/8"},
		{"jointed away", "1 @ 5/8 x 3-1/2 x 40", lumber.Cuts{Jointing: in(t, "2")}, lumber.Jointing, 0, "3-1/2"},
		{"jointed to a thread", "1 @ 5/8 x 3-1/2 x 40", lumber.Cuts{Jointing: in(t, "1-47/64")}, lumber.Jointing, 0, "3-1/2"},
		{"squared away", "1 @ 5/8 x 3-1/2 x 40", lumber.Cuts{EndTrim: in(t, "20")}, lumber.EndTrim, 0, "40"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			_, err := lumber.PanelOf(boards(t, tt.lot), tt.cuts)
			var e *lumber.CutError
			require.ErrorAs(t, err, &e)
			assert.Equal(t, lumber.CutError{Cut: tt.cut, Line: tt.line, Across: in(t, tt.across)}, *e)
			var mistake *measure.InputError
			require.ErrorAs(t, err, &mistake, "it is a mistake of the asker's")
			assert.NotEmpty(t, e.Error())
		})
	}
	_, err := lumber.PanelOf(nil, lumber.Cuts{})
	assert.ErrorContains(t, err, "names no boards")
}

func TestBoardsAreCountedForAPanel(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name, panel, board string
		cuts               lumber.Cuts
		want               lumber.Needs
	}{
		// 23 over 5-7/8 is 3.9; two lengths of 40 and a kerf in 96.
		{"a table top", "3/4 x 23 x 39", "1 x 6 x 96",
			lumber.Cuts{Kerf: in(t, "1/8"), Jointing: in(t, "1/16"), Planing: in(t, "1/16"), EndTrim: in(t, "1/2")},
			lumber.Needs{Strip: board(t, "1 x 5-7/8 x 40"), Strips: 4, Last: in(t, "5-3/8"), Lengths: 2, PerBoard: 2, Boards: 2, Surplus: in(t, "1/8")}},
		// Three lengths need two cuts: 3·32 leaves no wood for them, 3·31-7/8 does.
		{"lengths without room for the cuts", "1 x 12 x 32", "1 x 6 x 96", lumber.Cuts{Kerf: in(t, "1/8")},
			lumber.Needs{Strip: board(t, "1 x 6 x 32"), Strips: 2, Last: in(t, "6"), Lengths: 2, PerBoard: 2, Boards: 1}},
		{"lengths with room for the cuts", "1 x 18 x 31-7/8", "1 x 6 x 96", lumber.Cuts{Kerf: in(t, "1/8")},
			lumber.Needs{Strip: board(t, "1 x 6 x 31-7/8"), Strips: 3, Last: in(t, "6"), Lengths: 3, PerBoard: 3, Boards: 1}},
		{"strips on edge", "1-1/2 x 24 x 60", "1-1/2 x 3-1/2 x 96", lumber.Cuts{Kerf: in(t, "1/8"), Rip: 2, OnEdge: true},
			lumber.Needs{Strip: board(t, "1-11/16 x 1-1/2 x 60"), Strips: 16, Last: in(t, "1-1/2"), Lengths: 1, PerBoard: 2, Boards: 8, Surplus: in(t, "3/16")}},
		{"one wide board", "3/4 x 10 x 30", "3/4 x 11 x 40", lumber.Cuts{},
			lumber.Needs{Strip: board(t, "3/4 x 11 x 30"), Strips: 1, Last: in(t, "10"), Lengths: 1, PerBoard: 1, Boards: 1}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			got, err := lumber.BoardsFor(board(t, tt.panel), board(t, tt.board), tt.cuts)
			require.NoError(t, err)
			panel := got.Panel
			got.Panel = lumber.Panel{}
			assert.Equal(t, tt.want, got)
			assert.Equal(t, board(t, tt.panel), panel.Size)
			assert.Equal(t, tt.want.Strips, panel.Strips())
			assert.Equal(t, measure.VolumeOf(got.Boards, board(t, tt.board).Thickness, board(t, tt.board).Width, board(t, tt.board).Length), panel.Stock)
		})
	}
}

func TestABoardTooSmallForThePanelIsSaid(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		panel, board string
		cuts         lumber.Cuts
		want         lumber.TooSmall
	}{
		{"7/8 x 20 x 40", "1 x 6 x 96", lumber.Cuts{Planing: in(t, "1/8")}, lumber.TooSmall{Measure: "thickness", Has: in(t, "1"), Wants: in(t, "1-1/8")}},
		{"7/8 x 20 x 40", "1-3/4 x 6 x 96", lumber.Cuts{Resaw: 2, Kerf: in(t, "1/8")}, lumber.TooSmall{Measure: "thickness", Has: in(t, "1-3/4"), Wants: in(t, "1-7/8")}},
		{"2 x 20 x 40", "1 x 4 x 96", lumber.Cuts{Rip: 2, Kerf: in(t, "1/8"), OnEdge: true}, lumber.TooSmall{Measure: "width", Has: in(t, "4"), Wants: in(t, "4-1/8")}},
		{"3/4 x 20 x 96", "1 x 6 x 96", lumber.Cuts{EndTrim: in(t, "1/2")}, lumber.TooSmall{Measure: "length", Has: in(t, "96"), Wants: in(t, "97")}},
	} {
		_, err := lumber.BoardsFor(board(t, tt.panel), board(t, tt.board), tt.cuts)
		var e *lumber.TooSmall
		require.ErrorAs(t, err, &e, tt.panel)
		assert.Equal(t, tt.want, *e)
		var mistake *measure.InputError
		require.ErrorAs(t, err, &mistake)
		assert.NotEmpty(t, e.Error())
		// With what it wants, the board does.
		better := board(t, tt.board)
		switch e.Measure {
		case "thickness":
			better.Thickness = e.Wants
		case "width":
			better.Width = e.Wants
		default:
			better.Length = e.Wants
		}
		_, err = lumber.BoardsFor(board(t, tt.panel), better, tt.cuts)
		assert.NoError(t, err)
	}
	_, err := lumber.BoardsFor(measure.Board{}, board(t, "1x6x96"), lumber.Cuts{})
	assert.ErrorContains(t, err, "is no panel")
	_, err = lumber.BoardsFor(board(t, "1/2 x 900000 x 40"), board(t, "1x6x96"), lumber.Cuts{})
	assert.ErrorContains(t, err, "is more than 10,000 strips wide")
	_, err = lumber.BoardsFor(board(t, "999999999 m x 1 in x 40 in"), board(t, "1x6x96"), lumber.Cuts{Resaw: 100})
	assert.Error(t, err, "what no length holds is no panic")
}

// Source: testdata/published/shop-quantities.csv, which says of each row whether it is
// standard or custom, and looked up or FROM MEMORY.
func TestGlueAndClampsFollowTheShopTable(t *testing.T) {
	t.Parallel()
	figures := map[string]map[string]string{}
	for _, row := range table(t, "shop-quantities.csv") {
		figures[row["topic"]] = row
	}
	says := func(topic, status string, words ...string) {
		for _, word := range words {
			assert.Contains(t, figures[topic]["figure_or_formula"], word, topic)
		}
		assert.Equal(t, status, figures[topic]["status"], topic)
	}
	says("PVA spread", "memory", "150-200 g/m2", "6 mils")
	assert.EqualValues(t, 150, lumber.LeastPVASpread)
	assert.EqualValues(t, 200, lumber.MostPVASpread)
	assert.Equal(t, 6*measure.Inch/1000, lumber.PVAFilm)
	// 30 to 40 lb/MSGL, at 4.882 g/m² a pound, is the same spread.
	says("glue unit", "looked up", "4.882 g/m2")
	pound := new(big.Rat).Quo(ratio(t, "453.59237"), new(big.Rat).Mul(ratio(t, "1000"), ratio(t, "0.09290304")))
	assert.Equal(t, "4.882", pound.FloatString(3))
	assert.Equal(t, "146", new(big.Rat).Mul(pound, ratio(t, "30")).FloatString(0))
	assert.Equal(t, "195", new(big.Rat).Mul(pound, ratio(t, "40")).FloatString(0))
	// A gallon of 231 in³ at 6 mils covers 267 ft².
	says("glue film", "computed", "6 mils = 267 ft2/gal")
	gallon := new(big.Rat).Quo(ratio(t, "231"), new(big.Rat).Mul(lumber.PVAFilm.Rat(measure.Inch), ratio(t, "144")))
	assert.Equal(t, "267", gallon.FloatString(0))

	says("clamp pressure", "looked up", "100-150 psi for softwoods", "175-250 psi for hardwoods")
	assert.Equal(t, lumber.Pressure{Low: 100, High: 150}, lumber.SoftwoodPressure)
	assert.Equal(t, lumber.Pressure{Low: 175, High: 250}, lumber.HardwoodPressure)
	says("clamp pressure, handbook", "memory", "700 kPa (100 lbf/in2)", "1700 kPa (247 lbf/in2)")
	says("clamp force", "computed", "1 in x 36 in edge at 150 psi = 5400 lbf")
	assert.Zero(t, lumber.ClampForce(150, measure.AreaOf(in(t, "1"), in(t, "36"))).Cmp(ratio(t, "5400")))
	says("clamp realism", "looked up", "3 x 96 in at 1200 psi = 345,600 lbf")
	assert.Zero(t, lumber.ClampForce(1200, measure.AreaOf(in(t, "3"), in(t, "96"))).Cmp(ratio(t, "345600")))
	says("clamp spacing", "memory", "spacing = 2 x distance from clamp head to the first glue line")
	assert.Equal(t, in(t, "7"), lumber.ClampSpacing(in(t, "3-1/2")))
	for along, want := range map[string]int64{"40": 6, "42": 6, "42-1/64": 7, "5": 2} {
		assert.Equal(t, want, lumber.ClampsBySpacing(in(t, along), in(t, "7")), "%s long", along)
	}
	assert.EqualValues(t, 2, lumber.ClampsBySpacing(in(t, "40"), 0))
}
