package commands

import (
	"bytes"
	"fmt"
	"image/color"
	"image/png"
	"sync"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// sheet is a drawing surface for diagrams, counted in whole pixels from the top
// left. What it shows reads without colour: shapes differ by outline, hatching and
// label. The same calls give the same bytes.
type sheet struct {
	canvas *vgimg.Canvas
	height int
}

// The sizes a diagram is drawn with. A phone shows a sheet 1000 wide at less than
// half its size, so nothing people read is smaller than smallText.
const (
	sheetWidth = 1000
	smallText  = 26
	largeText  = 32
)

// pen is the look of a line.
type pen struct {
	shade  color.Color
	width  int
	dashed bool
}

// The pens and fills of a diagram. Wood is tinted for the eye alone; nothing hangs
// on the tint.
var (
	black      = color.Gray{}
	lightWood  = color.NRGBA{R: 0xf6, G: 0xea, B: 0xd6, A: 0xff}
	darkWood   = color.NRGBA{R: 0xea, G: 0xd8, B: 0xba, A: 0xff}
	outlinePen = pen{shade: black, width: 4}
	finePen    = pen{shade: black, width: 2}
	cutPen     = pen{shade: black, width: 3, dashed: true}
	grainPen   = pen{shade: color.NRGBA{R: 0xcf, G: 0xb8, B: 0x90, A: 0xff}, width: 2}
	hatchPen   = pen{shade: color.Gray{Y: 0x70}, width: 2}
)

func newSheet(width, height int) *sheet {
	const pixels = 72 // so that a point is a pixel
	canvas := vgimg.NewWith(vgimg.UseWH(vg.Length(width), vg.Length(height)), vgimg.UseDPI(pixels))
	return &sheet{canvas: canvas, height: height}
}

// at turns the sheet the canvas' way up.
func (s *sheet) at(x, y int) vg.Point {
	return vg.Point{X: vg.Length(x), Y: vg.Length(s.height - y)}
}

// area is a rectangle of a sheet.
type area struct{ x, y, width, height int }

func (a area) right() int  { return a.x + a.width }
func (a area) bottom() int { return a.y + a.height }

func (s *sheet) path(a area) vg.Path {
	var p vg.Path
	p.Move(s.at(a.x, a.y))
	p.Line(s.at(a.right(), a.y))
	p.Line(s.at(a.right(), a.bottom()))
	p.Line(s.at(a.x, a.bottom()))
	p.Close()
	return p
}

func (s *sheet) use(with pen) {
	s.canvas.SetColor(with.shade)
	s.canvas.SetLineWidth(vg.Length(with.width))
	if with.dashed {
		s.canvas.SetLineDash([]vg.Length{14, 10}, 0)
	} else {
		s.canvas.SetLineDash(nil, 0)
	}
}

// frame draws the outline of an area.
func (s *sheet) frame(a area, with pen) {
	s.use(with)
	s.canvas.Stroke(s.path(a))
}

// fill covers an area.
func (s *sheet) fill(a area, shade color.Color) {
	s.canvas.SetColor(shade)
	s.canvas.Fill(s.path(a))
}

// line draws from one point to another.
func (s *sheet) line(x1, y1, x2, y2 int, with pen) {
	s.use(with)
	var p vg.Path
	p.Move(s.at(x1, y1))
	p.Line(s.at(x2, y2))
	s.canvas.Stroke(p)
}

// hatch fills an area with slanting lines: what is cut away.
func (s *sheet) hatch(a area) {
	const step = 14
	for reach := step; reach < a.width+a.height; reach += step {
		fromX, fromY := a.x+min(reach, a.width), a.y+max(0, reach-a.width)
		toX, toY := a.x+max(0, reach-a.height), a.y+min(reach, a.height)
		s.line(fromX, fromY, toX, toY, hatchPen)
	}
}

// anchor is which end of a text stands at its point.
type anchor int

const (
	startAt anchor = iota
	centreAt
	endAt
)

// text writes one line whose middle height is at y.
func (s *sheet) text(x, y, size int, where anchor, words string) {
	switch where {
	case centreAt:
		x -= textWidth(words, size) / 2
	case endAt:
		x -= textWidth(words, size)
	}
	s.canvas.SetColor(black)
	// Figures and capitals are about 0.7 of the size high.
	s.canvas.FillString(faceOf(size), s.at(x, y+size*36/100), words)
}

// label writes centred text on a patch of its own, for where lines run.
func (s *sheet) label(x, y, size int, ground color.Color, words string) {
	w := textWidth(words, size)
	s.fill(area{x: x - w/2 - size/4, y: y - size*6/10, width: w + size/2, height: size * 12 / 10}, ground)
	s.text(x, y, size, centreAt, words)
}

// across is a dimension line from x1 to x2 at y, with its label below the middle.
func (s *sheet) across(x1, x2, y int, words string) {
	s.line(x1, y, x2, y, finePen)
	s.arrow(x1, y, 1, 0)
	s.arrow(x2, y, -1, 0)
	middle, half := (x1+x2)/2, textWidth(words, largeText)/2+8
	s.text(min(max(middle, half), sheetWidth-half), y+largeText, largeText, centreAt, words)
}

// down is a dimension line from y1 to y2 at x; the lines of its label stand to its
// right.
func (s *sheet) down(x, y1, y2 int, lines ...string) {
	const narrow, tail = 44, 34
	if y2-y1 < narrow { // the arrows stand outside
		s.line(x, y1-tail, x, y2+tail, finePen)
		s.arrow(x, y1, 0, -1)
		s.arrow(x, y2, 0, 1)
	} else {
		s.line(x, y1, x, y2, finePen)
		s.arrow(x, y1, 0, 1)
		s.arrow(x, y2, 0, -1)
	}
	const leading = largeText * 5 / 4
	top := (y1+y2)/2 - leading*(len(lines)-1)/2
	for k, words := range lines {
		s.text(x+26, top+k*leading, largeText, startAt, words)
	}
}

// arrow is the head and the end mark of a dimension line; dx and dy point inward.
func (s *sheet) arrow(x, y, dx, dy int) {
	const long, half, mark = 16, 6, 12
	s.use(finePen)
	var p vg.Path
	p.Move(s.at(x, y))
	p.Line(s.at(x+dx*long+dy*half, y+dy*long+dx*half))
	p.Line(s.at(x+dx*long-dy*half, y+dy*long-dx*half))
	p.Close()
	s.canvas.Fill(p)
	s.line(x-dy*mark, y-dx*mark, x+dy*mark, y+dx*mark, finePen)
}

// png is the finished sheet as a file.
func (s *sheet) png() ([]byte, error) {
	var file bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestCompression}
	if err := encoder.Encode(&file, s.canvas.Image()); err != nil {
		return nil, fmt.Errorf("writing the sheet: %w", err)
	}
	return file.Bytes(), nil
}

var fonts = sync.OnceValue(func() *font.Cache { return font.NewCache(liberation.Collection()) })

func faceOf(size int) font.Face {
	return fonts().Lookup(font.Font{Typeface: "Liberation", Variant: "Sans"}, vg.Length(size))
}

// textWidth is how wide a text is drawn, in whole pixels.
func textWidth(words string, size int) int {
	face := faceOf(size)
	return int(face.Width(words) + 0.5)
}
