package commands

import (
	"fmt"
	"strings"

	"tallystick/calc/lumber"
	"tallystick/calc/measure"
)

// The layout of a panel's diagram, in pixels: the panel from its face, its length
// under it and its width beside it; below that its end, with the thickness.
const (
	panelLeft    = 60
	panelTop     = 48
	panelReach   = 670 // the most the longest strip takes
	panelRise    = 520 // the most all strips take beside each other
	leastReach   = 60
	labelledFrom = smallText + 6 // a strip this wide has its number in it
	seamsFrom    = 4             // a strip this wide is drawn by itself
	underFace    = 120
	endRise      = 170
)

// drawPanel is the panel from its face and from its end.
func (w workshop) drawPanel(p lumber.Panel) *Picture {
	return laterPicture("panel.png", func() (string, painter) {
		return w.panelAlt(p), func() ([]byte, error) {
			d := w.layOut(p)
			d.face()
			d.end()
			return d.sheet.png()
		}
	})
}

// panelAlt says in words what the diagram shows.
func (w workshop) panelAlt(p lumber.Panel) string {
	var b strings.Builder
	strips := "one strip"
	if n := p.Strips(); n > 1 {
		strips = fmt.Sprintf("%d strips side by side", n)
	}
	fmt.Fprintf(&b, "Diagram of the panel: %s, %s long, %s wide and %s thick.",
		strips, lengthText(p.Size.Length, w.in), lengthText(p.Size.Width, w.in), lengthText(p.Size.Thickness, w.in))
	next := 1
	for k, run := range p.Runs {
		if k == 6 {
			fmt.Fprintf(&b, " And %d more.", p.Strips()-next+1)
			break
		}
		word := "Strips "
		if run.Count == 1 {
			word = "Strip "
		}
		fmt.Fprintf(&b, " %s%s: %s wide, %s long.", word, numbers(next, run.Count), shortLength(run.Strip.Width, w.in), shortLength(run.Strip.Length, w.in))
		next += run.Count
	}
	b.WriteString(" Dashed lines are cuts; what is hatched is cut off.")
	return b.String()
}

// panelSheet is a panel on its way onto paper.
type panelSheet struct {
	*sheet
	w        workshop
	p        lumber.Panel
	scale    measure.Length // so much to a pixel, on the face
	endScale measure.Length // and on the end
	face0    area           // all strips, from the face
	end0     area           // all strips, from the end
}

func (w workshop) layOut(p lumber.Panel) *panelSheet {
	var long, thick, wide measure.Length
	for _, run := range p.Runs {
		long, thick = max(long, run.Strip.Length), max(thick, run.Strip.Thickness)
		wide += run.Strip.Width * measure.Length(run.Count)
	}
	d := &panelSheet{w: w, p: p}
	d.scale = max(long/panelReach, wide/panelRise) + 1
	d.endScale = max(wide/panelReach, thick/endRise) + 1
	d.face0 = area{x: panelLeft, y: panelTop, width: max(int(long/d.scale), leastReach), height: max(int(wide/d.scale), leastReach)}
	d.end0 = area{x: panelLeft, y: d.face0.bottom() + underFace, width: max(int(wide/d.endScale), leastReach), height: max(int(thick/d.endScale), seamsFrom*3)}
	d.sheet = newSheet(sheetWidth, d.end0.bottom()+largeText*2+panelTop)
	return d
}

// onFace and onEnd are how many pixels a length takes.
func (d *panelSheet) onFace(l measure.Length) int { return int(l / d.scale) }
func (d *panelSheet) onEnd(l measure.Length) int  { return int(l / d.endScale) }

// eachStrip calls see with every strip and where its sides lie, from 0.
func (d *panelSheet) eachStrip(see func(number int, strip measure.Board, from, to measure.Length)) {
	var from measure.Length
	number := 0
	for _, run := range d.p.Runs {
		for range run.Count {
			number++
			see(number, run.Strip, from, from+run.Strip.Width)
			from += run.Strip.Width
		}
	}
}

// drawable is true where every strip is wide enough to be drawn by itself.
func (d *panelSheet) drawable() bool { return d.face0.height/d.p.Strips() >= seamsFrom }

func (d *panelSheet) face() {
	trim := d.w.cuts.EndTrim
	left, right := d.face0.x+d.onFace(trim), d.face0.x+d.onFace(trim+d.p.Size.Length)
	bottom := d.face0.y + d.onFace(d.p.Size.Width)
	if d.drawable() {
		d.eachStrip(func(number int, s measure.Board, from, to measure.Length) {
			d.faceStrip(number, area{x: d.face0.x, y: d.face0.y + d.onFace(from), width: max(d.onFace(s.Length), leastReach),
				height: d.onFace(to) - d.onFace(from)}, left, right, bottom)
		})
	} else {
		d.fill(d.face0, lightWood)
		d.frame(d.face0, outlinePen)
		d.label(d.face0.x+d.face0.width/2, d.face0.y+d.face0.height/2, largeText, lightWood, fmt.Sprintf("%d strips", d.p.Strips()))
	}
	if bottom < d.face0.bottom()-1 {
		d.line(d.face0.x, bottom, d.face0.right(), bottom, cutPen)
	}
	if trim > 0 {
		d.line(left, d.face0.y-14, left, d.face0.bottom()+14, cutPen)
	}
	if trim > 0 || right < d.face0.right()-1 {
		d.line(right, d.face0.y-14, right, d.face0.bottom()+14, cutPen)
	}
	d.across(left, right, d.face0.bottom()+34, lengthText(d.p.Size.Length, d.w.in))
	d.down(d.face0.right()+26, d.face0.y, bottom, twoLines(d.p.Size.Width, d.w.in)...)
}

// faceStrip draws one strip with its grain, its number and its width, and hatches
// what is cut off it.
func (d *panelSheet) faceStrip(number int, a area, left, right, bottom int) {
	shade := lightWood
	if number%2 == 0 {
		shade = darkWood
	}
	d.fill(a, shade)
	for k := 1; k <= 3 && a.height >= labelledFrom && right-left > 400; k++ {
		y := a.y + a.height*k/4
		d.line(left+20+(number*37+k*91)%120, y, right-20-(number*53+k*67)%150, y, grainPen)
	}
	for _, off := range []area{
		{x: a.x, y: a.y, width: left - a.x, height: a.height},
		{x: right, y: a.y, width: a.right() - right, height: a.height},
		{x: left, y: max(bottom, a.y), width: min(right, a.right()) - left, height: a.bottom() - max(bottom, a.y)},
	} {
		if off.width > 1 && off.height > 1 {
			d.hatch(off)
		}
	}
	d.frame(a, finePen)
	if a.height < labelledFrom {
		return
	}
	words := fmt.Sprint(number)
	_, strip := d.nth(number)
	if long := words + ":  " + shortLength(strip.Width, d.w.in); textWidth(long, smallText)+40 < right-left {
		words = long
	}
	half := textWidth(words, smallText)/2 + 12
	middle := (left + right) / 2
	patch := min(a.height-4, 2*smallText)
	d.fill(area{x: middle - half, y: a.y + (a.height-patch)/2, width: 2 * half, height: patch}, shade)
	d.text(middle, a.y+a.height/2, smallText, centreAt, words)
}

// nth is the strip with a number, from 1.
func (d *panelSheet) nth(number int) (run int, strip measure.Board) {
	for k, r := range d.p.Runs {
		if number -= r.Count; number <= 0 {
			return k, r.Strip
		}
	}
	return -1, measure.Board{}
}

// end draws the strips from their end, standing on one line, and where planing cuts.
func (d *panelSheet) end() {
	base := d.end0.bottom()
	right := d.end0.x + d.onEnd(d.p.Size.Width)
	if d.drawable() {
		d.eachStrip(func(number int, s measure.Board, from, to measure.Length) {
			a := area{x: d.end0.x + d.onEnd(from), width: d.onEnd(to) - d.onEnd(from), height: max(d.onEnd(s.Thickness), seamsFrom)}
			a.y = base - a.height
			shade := lightWood
			if number%2 == 0 {
				shade = darkWood
			}
			d.fill(a, shade)
			if off := a.right() - max(right, a.x); off > 1 {
				d.hatch(area{x: max(right, a.x), y: a.y, width: off, height: a.height})
			}
			d.frame(a, finePen)
			if words := fmt.Sprint(number); a.height >= labelledFrom && a.width > textWidth(words, smallText)+6 {
				half := textWidth(words, smallText)/2 + 2
				d.fill(area{x: a.x + a.width/2 - half, y: a.y + a.height/2 - smallText/2, width: 2 * half, height: smallText}, shade)
				d.text(a.x+a.width/2, a.y+a.height/2, smallText, centreAt, words)
			}
		})
	} else {
		d.fill(d.end0, lightWood)
		d.frame(d.end0, outlinePen)
	}
	under := base - d.onEnd(d.w.cuts.Planing)
	over := under - d.onEnd(d.p.Size.Thickness)
	for _, y := range []int{under, over} {
		if y <= base-seamsFrom && y >= d.end0.y+seamsFrom {
			d.line(d.end0.x-14, y, d.end0.right()+14, y, cutPen)
		}
	}
	d.down(d.end0.right()+26, over, under, twoLines(d.p.Size.Thickness, d.w.in)...)
	d.text(d.end0.x, base+largeText, smallText, startAt, "From the end")
}

// twoLines writes a length in each system on its own short line.
func twoLines(l measure.Length, in *reading) []string {
	first, second := strings.Replace(in.tapeText(l), "about", "≈", 1), metricText(l)
	if in.bare == measure.Millimetre {
		first, second = second, first
	}
	return []string{first, second}
}
