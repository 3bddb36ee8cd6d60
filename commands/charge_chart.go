package commands

import (
	"image/color"
	"strings"

	"github.com/shopspring/decimal"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"tallystick/calc/pool"
)

// chart draws the ladder of prices with what sold here beside it: the middle half
// of makers as a bar that hangs free, the median as a line through it.
func (c *charged) chart(sold *soldHere) (*Picture, error) {
	d := c.deal
	code := d.in.currency.Code()
	chart := barChart{title: "Your prices in " + code}
	var alt []string
	median, shown := sold.figure(pool.Price)
	if shown && sold.currency == d.in.currency {
		middle := "median " + moneyOf(median.Value, sold.currency).Plain()
		chart.title += ", and what sold here"
		if m := median.Middle; m != nil {
			text := moneyOf(m.Low, sold.currency).Plain() + " to " + moneyOf(m.High, sold.currency).Plain()
			chart.bars = append(chart.bars, bar{label: "sold here", from: majors(m.Low), value: majors(m.Low), upTo: majors(m.High), text: text})
			alt = append(alt, "the middle half of makers sold at "+text+", the "+middle)
		} else {
			middle = "sold here, " + middle
			alt = append(alt, "what sold here has the "+strings.TrimPrefix(middle, "sold here, "))
		}
		chart.marks = append(chart.marks, chartMark{label: middle, at: majors(median.Value), dotted: true})
	} else {
		alt = append(alt, "nothing is shown of what sold here")
	}
	for _, p := range c.prices {
		b := bar{label: p.short, value: p.low.Decimal(), upTo: p.high.Decimal(), text: p.high.Plain()}
		if p.low.Cmp(p.high) != 0 {
			b.text = p.low.Plain() + " to " + p.high.Plain()
		}
		if d.timed() {
			pays, err := d.job.Hourly(p.high)
			if err != nil {
				return nil, err
			}
			b.text += ", " + pays.Plain() + "/h"
		}
		chart.bars = append(chart.bars, b)
		alt = append(alt, p.short+" "+b.text)
	}
	return NewPicture("charge.png", cutAlt("Bars of your prices in "+code+", the lowest first, with what sold here beside them: "+strings.Join(alt, "; ")+"."), chart.png), nil
}

// majors is a value of the log in whole units of money.
func majors(v pool.Micros) decimal.Decimal { return decimal.New(int64(v), -6) }

// hanging is a bar that does not begin at nought.
type hanging struct {
	place    int
	from, to float64
	thick    vg.Length
}

// Plot draws the bar; one of no length becomes a short upright.
func (h hanging) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	left, right, middle := x(h.from), x(h.to), y(flt(h.place))
	if right-left < vg.Points(3) {
		left, right = left-vg.Points(1.5), left+vg.Points(1.5)
	}
	box := []vg.Point{{X: left, Y: middle - h.thick/2}, {X: right, Y: middle - h.thick/2}, {X: right, Y: middle + h.thick/2}, {X: left, Y: middle + h.thick/2}}
	c.FillPolygon(color.White, box)
	c.StrokeLines(draw.LineStyle{Color: ink, Width: vg.Points(1)}, append(box, box[0]))
	for at := left + vg.Points(6); at < right; at += vg.Points(6) { // hatched, so that no tone tells it apart
		c.StrokeLines(draw.LineStyle{Color: ink, Width: vg.Points(0.5)}, []vg.Point{{X: at, Y: middle - h.thick/2}, {X: at, Y: middle + h.thick/2}})
	}
}
