package commands

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"

	"github.com/shopspring/decimal"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
)

// A chart is drawn for a phone: few bars, large words, every value written beside
// its bar. Nothing is told by colour: the tones only set named prices apart from
// round ones, and both have their words. The amounts become binary fractions here
// and nowhere else, to find the pixels a bar ends at.

// barChart is bars lying on top of one another, the first at the bottom.
type barChart struct {
	title string
	bars  []bar
	marks []chartMark
}

// bar is one value with its words. Where upTo is more than value, the bar goes on
// as an outline to there.
type bar struct {
	label       string
	value, upTo decimal.Decimal
	text        string
	// plain bars are the ones between those that have a name.
	plain bool
	// from is where a bar begins that hangs free, and goes on to upTo.
	from decimal.Decimal
}

// chartMark is a line across all bars at a value.
type chartMark struct {
	label  string
	at     decimal.Decimal
	dotted bool
}

const (
	chartWidth, chartHeight = 1000, 600 // pixels
	chartEdge               = 24
	chartDPI                = 96
	wordSize                = 17 // points
)

var (
	ink   = color.Gray{Y: 0x20}
	dark  = color.Gray{Y: 0x50}
	light = color.Gray{Y: 0xc8}
)

// words is the chart's typeface: sans serif, at a size in points.
func words(points vg.Length) text.Style {
	return text.Style{Color: ink, Font: font.Font{Typeface: "Liberation", Variant: "Sans", Size: points}, Handler: plot.DefaultTextHandler}
}

// png draws the chart. The same chart gives the same bytes.
func (c barChart) png() ([]byte, error) {
	p := plot.New()
	p.Title.Text, p.Title.TextStyle = c.title, words(22)
	p.Title.TextStyle.Font.Weight = 2 // bold
	p.Title.TextStyle.XAlign, p.Title.TextStyle.YAlign = draw.XCenter, draw.YTop
	p.Title.Padding = vg.Points(10)
	p.HideX()
	p.Y.LineStyle.Width, p.Y.Tick.Length = 0, 0
	p.Y.Tick.Label = words(wordSize)
	p.Y.Tick.Label.XAlign, p.Y.Tick.Label.YAlign = draw.XRight, draw.YCenter
	names := make([]string, len(c.bars))
	for i, b := range c.bars {
		names[i] = b.label
	}
	p.NominalY(names...)
	low, high := c.bounds()
	if err := c.addMarks(p, high-low); err != nil {
		return nil, err
	}
	if err := c.addBars(p, high-low); err != nil {
		return nil, err
	}
	p.X.Min, p.X.Max = low, c.roomFor(names, low, high)
	p.Y.Min, p.Y.Max = -0.6, flt(len(c.bars))-0.4
	if len(c.marks) > 0 {
		p.Y.Max += 0.9 // and for the names of the lines
	}
	canvas := vgimg.NewWith(vgimg.UseWH(pixels(chartWidth), pixels(chartHeight)), vgimg.UseDPI(chartDPI))
	area := draw.New(canvas)
	p.Draw(draw.Crop(area, pixels(chartEdge), -pixels(chartEdge), pixels(20), -pixels(chartEdge)))
	var out bytes.Buffer
	if err := png.Encode(&out, greyOf(canvas.Image())); err != nil {
		return nil, fmt.Errorf("writing the chart: %w", err)
	}
	return out.Bytes(), nil
}

// greyOf is a sheet with nothing but grey on it in a quarter of the bytes, which
// take as much less time to pack.
func greyOf(sheet image.Image) image.Image {
	colours, ok := sheet.(*image.RGBA)
	if !ok {
		return sheet
	}
	grey := image.NewGray(colours.Bounds())
	for i := range grey.Pix {
		grey.Pix[i] = colours.Pix[4*i]
	}
	return grey
}

func pixels(n vg.Length) vg.Length { return n * vg.Inch / chartDPI }

func flt(n int) float64 { return float64(n) }

// roomFor is how far the axis goes on so that every word written at the end of a
// bar, and the last line's name, stays on the picture.
func (c barChart) roomFor(names []string, low, high float64) float64 {
	left := vg.Length(0)
	for _, n := range names {
		left = max(left, valueWords.Width(n))
	}
	across := float64(pixels(chartWidth-2*chartEdge-24) - left)
	end := high
	reach := func(at float64, text string) {
		// The word's part of the axis is the same however long the axis is.
		part := min(float64(valueWords.Width(text)+pixels(16))/across, 0.7)
		end = max(end, (at-low*part)/(1-part))
	}
	for _, b := range c.bars {
		reach(max(b.value.InexactFloat64(), b.upTo.InexactFloat64(), 0), b.text)
	}
	if n := len(c.marks); n > 0 {
		reach(c.marks[n-1].at.InexactFloat64(), c.marks[n-1].label)
	}
	return end
}

// bounds is from where to where the bars and lines go; zero is always in it.
func (c barChart) bounds() (low, high float64) {
	for _, b := range c.bars {
		low = min(low, b.value.InexactFloat64())
		high = max(high, b.value.InexactFloat64(), b.upTo.InexactFloat64())
	}
	for _, m := range c.marks {
		high = max(high, m.at.InexactFloat64())
	}
	if high == low {
		high = low + 1
	}
	return low, high
}

// addBars draws the bars and writes their values at their ends.
func (c barChart) addBars(p *plot.Plot, across float64) error {
	thick := pixels(vg.Length(min(44, 380/max(1, len(c.bars)))))
	ends := plotter.XYLabels{}
	for i, b := range c.bars {
		end := max(b.value.InexactFloat64(), 0)
		if b.from.IsPositive() {
			end = max(b.upTo.InexactFloat64(), end)
			p.Add(hanging{i, b.from.InexactFloat64(), end, thick})
			ends.XYs = append(ends.XYs, plotter.XY{X: end + across*0.012, Y: flt(i)})
			ends.Labels = append(ends.Labels, b.text)
			continue
		}
		if b.upTo.GreaterThan(b.value) {
			end = max(b.upTo.InexactFloat64(), 0)
			if err := addBar(p, i, b.upTo.InexactFloat64(), thick, color.White); err != nil {
				return err
			}
		}
		fill := color.Color(dark)
		if b.plain {
			fill = light
		}
		if err := addBar(p, i, b.value.InexactFloat64(), thick, fill); err != nil {
			return err
		}
		ends.XYs = append(ends.XYs, plotter.XY{X: end + across*0.012, Y: flt(i)})
		ends.Labels = append(ends.Labels, b.text)
	}
	p.Add(written{ends, draw.XLeft})
	return nil
}

func addBar(p *plot.Plot, place int, value float64, thick vg.Length, fill color.Color) error {
	one, err := plotter.NewBarChart(plotter.Values{value}, thick)
	if err != nil {
		return fmt.Errorf("drawing a bar: %w", err)
	}
	one.Horizontal, one.XMin, one.Color = true, flt(place), fill
	one.LineStyle.Color, one.LineStyle.Width = ink, vg.Points(1)
	p.Add(one)
	return nil
}

// addMarks draws the lines behind the bars and their names above them: those of
// the lesser values to the left of their line, the last to its right.
func (c barChart) addMarks(p *plot.Plot, across float64) error {
	top := flt(len(c.bars)) - 0.35
	for i, m := range c.marks {
		x := m.at.InexactFloat64()
		line, err := plotter.NewLine(plotter.XYs{{X: x, Y: -0.6}, {X: x, Y: top}})
		if err != nil {
			return fmt.Errorf("drawing a line: %w", err)
		}
		line.Color, line.Width = ink, vg.Points(1.5)
		line.Dashes = []vg.Length{vg.Points(8), vg.Points(5)}
		if m.dotted {
			line.Dashes = []vg.Length{vg.Points(2), vg.Points(4)}
		}
		p.Add(line)
		side, nudge := draw.XRight, -across*0.01
		if i == len(c.marks)-1 {
			side, nudge = draw.XLeft, across*0.01
		}
		name := plotter.XYLabels{XYs: plotter.XYs{{X: x + nudge, Y: top + 0.3}}, Labels: []string{m.label}}
		p.Add(written{name, side})
	}
	return nil
}

// valueWords is how values are written.
var valueWords = words(wordSize)

// written is words on the chart, on a ground of their own so that no line runs
// through them.
type written struct {
	plotter.XYLabels
	side text.XAlignment
}

// Plot draws the words.
func (w written) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	style := valueWords
	style.XAlign, style.YAlign = w.side, draw.YCenter
	for i, at := range w.XYs {
		// Digits have no descenders: lifted a little they stand in the middle.
		where := vg.Point{X: x(at.X), Y: y(at.Y) + pixels(3)}
		box := style.Rectangle(w.Labels[i]).Add(where)
		c.FillPolygon(color.White, []vg.Point{box.Min, {X: box.Max.X, Y: box.Min.Y}, box.Max, {X: box.Min.X, Y: box.Max.Y}})
		c.FillText(style, where, w.Labels[i])
	}
}
