package commands

import (
	"bytes"
	"cmp"
	"fmt"
	"image/color"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"tallystick/calc/pool"
)

// The chart has a bar for each part of the log whose price a board foot is shown,
// with the words beside it, and a line across them for the asker's own. Values
// become binary fractions here and nowhere else, to find the pixels a bar ends at.

// marketBar is one part of the log in the chart.
type marketBar struct {
	label, text string
	value       pool.Micros
	// asked is true for the part that was asked about: its bar is filled, the
	// others are outlines.
	asked bool
}

// mostBars is how many bars are still read on a phone.
const mostBars = 9

// allPieces names the bar of everything. It has a space, as no word of a host's
// list has.
const allPieces = "all pieces"

// bar tells whether a part stands in the chart: regions beside regions, else
// categories.
func (m market) bar(line pool.Line) (p pool.Published, shown bool) {
	_, byRegion := m.cut.Region()
	_, isCategory := line.Cut.Category()
	_, isRegion := line.Cut.Region()
	if isCategory && byRegion || isRegion && !byRegion {
		return p, false
	}
	return line.Figure(pool.PricePerBoardFoot)
}

func (m market) countBars() (n int) {
	for _, line := range m.lines {
		if _, shown := m.bar(line); shown {
			n++
		}
	}
	return n
}

// bars gives the parts to draw, the dearest first, the asked one and everything
// always among them.
func (m market) bars() []marketBar {
	var list []marketBar
	for _, line := range m.lines {
		p, shown := m.bar(line)
		if !shown {
			continue
		}
		category, _ := line.Cut.Category()
		region, _ := line.Cut.Region()
		label := cmp.Or(category, region)
		if line.Cut == pool.Everything {
			label = allPieces
		}
		list = append(list, marketBar{label: label, value: p.Value, text: moneyOf(p.Value, m.currency).Plain() + "  (" + p.Makers.String() + ")", asked: line.Cut == m.cut})
	}
	slices.SortStableFunc(list, func(a, b marketBar) int { return cmp.Compare(b.value, a.value) })
	for i := len(list) - 1; len(list) > mostBars && i >= 0; i-- {
		if !list[i].asked && list[i].label != allPieces {
			list = slices.Delete(list, i, i+1)
		}
	}
	return list
}

// picture draws the chart, nil when there is nothing to compare.
func (m market) picture() *Picture {
	switch n := m.countBars(); {
	case n == 0, n == 1 && m.mine == nil:
		return nil
	}
	return laterPicture("market.png", m.chart)
}

// chart is the chart and what it says.
func (m market) chart() (alt string, draw painter) {
	bars := m.bars()
	chart := marketDrawing{title: "Median price a board foot, " + m.currency.Code() + "  (makers)", bars: bars}
	parts := make([]string, len(bars))
	for i, b := range bars {
		parts[i] = b.label + " " + b.text
		if b.asked {
			parts[i] += ", asked about"
		}
	}
	alt = "Bars of the median price a board foot in " + m.currency.Code() + " with the band of makers, the dearest first: " + strings.Join(parts, "; ") + "."
	if m.mine != nil {
		own := moneyOf(*m.mine, m.currency).Plain()
		chart.mine, chart.mineText = *m.mine, "yours "+own
		alt += " A line across them marks yours at " + own + "."
	}
	return alt, chart.png
}

// marketDrawing is the chart as it is drawn.
type marketDrawing struct {
	title    string
	bars     []marketBar
	mine     pool.Micros
	mineText string
}

// Sizes in pixels of a picture of 1000 by 600; letters large enough for a phone.
const (
	drawingWide, drawingHigh = 1000, 600
	drawingDPI               = 96
	drawingMargin            = 24
	titleHigh                = 64
	mineHigh                 = 44
	letterHigh               = 24
	titleLetterHigh          = 30
)

func dots(n float64) vg.Length { return vg.Length(n) * vg.Inch / drawingDPI }

func letters(high float64, bold bool) text.Style {
	f := font.Font{Typeface: "Liberation", Variant: "Sans", Size: dots(high)}
	if bold {
		f.Weight = 3 // bold, on the scale of golang.org/x/image/font
	}
	return text.Style{Color: color.Gray{Y: 0x18}, Font: f, Handler: plot.DefaultTextHandler, YAlign: draw.YCenter}
}

// png draws the chart. The same chart gives the same bytes.
func (d marketDrawing) png() ([]byte, error) {
	canvas := vgimg.NewWith(vgimg.UseWH(dots(drawingWide), dots(drawingHigh)), vgimg.UseDPI(drawingDPI))
	d.draw(draw.New(canvas))
	var out bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: canvas}).WriteTo(&out); err != nil {
		return nil, fmt.Errorf("writing the chart: %w", err)
	}
	return out.Bytes(), nil
}

func (d marketDrawing) draw(c draw.Canvas) {
	labels, values := letters(letterHigh, false), letters(letterHigh, true)
	title := letters(titleLetterHigh, true)
	point := func(x, y float64) vg.Point { return vg.Point{X: dots(x), Y: dots(drawingHigh - y)} }
	c.FillText(title, point(drawingMargin, titleHigh/2+8), d.title)

	top := float64(titleHigh + 12)
	if d.mineText != "" {
		top += mineHigh
	}
	left, right, most := 0.0, 0.0, float64(d.mine)
	wide := func(s text.Style, t string) float64 { return float64(s.Width(t) / dots(1)) }
	for _, b := range d.bars {
		left, right, most = max(left, wide(labels, b.label)), max(right, wide(values, b.text)), max(most, float64(b.value))
	}
	left += drawingMargin + 16
	across := drawingWide - drawingMargin - right - 16 - left
	at := func(v pool.Micros) float64 { return left + across*float64(v)/most }
	step := (drawingHigh - drawingMargin - top) / float64(len(d.bars))
	thick := min(step*0.62, 64)
	ink := color.Gray{Y: 0x18}
	line := draw.LineStyle{Color: ink, Width: dots(2)}

	for i, b := range d.bars {
		y := top + step*(float64(i)+0.5)
		low, high := point(left, y+thick/2), point(at(b.value), y-thick/2)
		corners := []vg.Point{low, {X: high.X, Y: low.Y}, high, {X: low.X, Y: high.Y}}
		if b.asked {
			c.FillPolygon(color.Gray{Y: 0x60}, corners)
		} else {
			c.FillPolygon(color.Gray{Y: 0xdd}, corners)
		}
		c.StrokeLines(line, append(corners, low))
		label := labels
		if b.asked {
			label = letters(letterHigh, true)
		}
		label.XAlign = draw.XRight
		c.FillText(label, point(left-14, y), b.label)
		// Behind the bar, or behind the line where that runs through the words.
		x := at(b.value) + 14
		if m := at(d.mine); d.mineText != "" && m > x-14 && m < x+wide(values, b.text)+8 {
			x = m + 14
		}
		c.FillText(values, point(x, y), b.text)
	}
	if d.mineText != "" {
		x := at(d.mine)
		dashes := draw.LineStyle{Color: ink, Width: dots(4), Dashes: []vg.Length{dots(12), dots(7)}}
		c.StrokeLine2(dashes, point(x, top-8).X, point(x, top-8).Y, point(x, drawingHigh-drawingMargin).X, point(x, drawingHigh-drawingMargin).Y)
		words := letters(letterHigh, true)
		words.XAlign = draw.XCenter
		half := wide(words, d.mineText) / 2
		c.FillText(words, point(min(max(x, drawingMargin+half), drawingWide-drawingMargin-half), top-8-mineHigh/2), d.mineText)
	}
}
