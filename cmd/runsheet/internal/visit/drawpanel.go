package visit

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"runsheet.example/cmd/runsheet/internal/pdf"
	"runsheet.example/validate/issue"
)

func itoa(n int) string { return strconv.Itoa(n) }

// panel draws one measure between two heights; taken are the places of numbers
// off the axes so far.
func (k canvas) panel(p panel, top, bottom float64, taken []rect) []rect {
	k.panelTitle(p, top)
	a := p.axis()
	k.axisNumbers(a, top, bottom)
	frame := pdf.Stroke{WidthMM: 0.15, Color: bar}
	k.line(frame, xy(k.left-0.8, top), xy(k.left-0.8, bottom))
	k.line(frame, xy(k.left, bottom+0.6), xy(k.end, bottom+0.6))
	lastText, lastY := "", math.NaN()
	for _, q := range p.points {
		if !a.off(q.number) {
			lastText, lastY = k.number(q.text), a.y(q.number, top, bottom)
		}
	}
	k.limits(p, a, top, bottom, lastY)
	if p.low != nil {
		k.bars(p, a, top, bottom)
	} else {
		k.curve(p.points, a, top, bottom, mark)
	}
	taken = k.offAxis(p, a, top, bottom, taken)
	if lastText != "" && len(p.points) > 0 {
		if low, ok := p.low[p.points[len(p.points)-1].at]; ok {
			lastText += "/" + k.number(low.text)
		}
		k.text(k.end+1.2, clamp(lastY+k.letter*0.35, top+k.letter*0.7, bottom), 0, lastText, k.strong, mark)
	}
	return taken
}

func (k canvas) number(decimal string) string { return k.c.language.Number(decimal) }

func clamp(v, low, high float64) float64 { return max(low, min(v, high)) }

func (k canvas) panelTitle(p panel, top float64) {
	if k.beside == 0 {
		k.text(0, top-k.letter*1.1, 0, p.title, k.strong, ink)
		k.text(k.strong.WidthMM(p.title)*1.15+1, top-k.letter*1.1, 0, strings.TrimLeft(strings.Trim(p.unit+"; "+p.note, " ;"), " "), k.small, grey)
		return
	}
	k.text(0, top+k.letter, 0, p.title, k.strong, ink)
	lines := k.small.Wrap(strings.Trim(p.unit+"; "+p.note, " ;"), k.beside-1)
	for i, line := range lines {
		k.text(0, top+k.letter*(2.25+1.2*float64(i)), 0, line, k.small, grey)
	}
}

func (k canvas) axisNumbers(a axis, top, bottom float64) {
	x := k.left - 1.4
	if a.low == a.high {
		k.text(x, (top+bottom)/2+k.letter*0.35, 1, k.number(a.lowText), k.small, grey)
		return
	}
	k.text(x, top+k.letter*0.7, 1, k.number(a.highText), k.small, grey)
	k.text(x, bottom, 1, k.number(a.lowText), k.small, grey)
}

// limits draws what was prescribed, and names the last of it at the right
// unless the last value stands there.
func (k canvas) limits(p panel, a axis, top, bottom, lastY float64) {
	stroke := pdf.Stroke{WidthMM: 0.25, DashMM: 1, Color: ink}
	for i, l := range p.limits {
		y := a.y(l.number, top, bottom)
		from, to := k.x(l.from), k.x(l.to)
		if i == len(p.limits)-1 {
			to = k.end
		}
		k.line(stroke, xy(from, y), xy(to, y))
		if i == len(p.limits)-1 {
			at := y + k.letter*0.35
			if gap := k.letter * 1.3; !math.IsNaN(lastY) && math.Abs(y-lastY) < gap {
				at = clamp(lastY, top+k.letter*0.35, bottom-k.letter*0.35) + k.letter*0.35 - gap
				if y > lastY || at < top+k.letter*0.5 {
					at += 2 * gap
				}
			}
			k.text(k.end+1.2, max(at, top+k.letter*0.6), 0, l.text, k.small, ink)
		}
	}
}

// curve draws a line through the values, broken at gaps, and a dot for each.
// Of many values only those without a neighbour, and hollow ones, get a dot.
func (k canvas) curve(points []point, a axis, top, bottom float64, color pdf.Color) {
	var run []pdf.Point
	var before time.Time
	size := k.dotSize(len(points))
	end := func() {
		if len(run) > 1 {
			k.line(pdf.Stroke{WidthMM: 0.2, Color: color}, run...)
		}
		if len(run) == 1 || len(points) <= manyValues {
			for _, at := range run {
				k.dot(color, at.X, at.Y, size)
			}
		}
		run = nil
	}
	var hollow []pdf.Point
	for _, p := range points {
		if a.off(p.number) {
			end()
			continue
		}
		at := xy(k.x(p.at), a.y(p.number, top, bottom))
		if len(run) > 0 && p.at.Sub(before) > longestGap {
			end()
		}
		run, before = append(run, at), p.at
		if p.preliminary {
			hollow = append(hollow, at)
		}
	}
	end()
	for _, at := range hollow {
		k.dot(color, at.X, at.Y, size)
		k.dot(pdf.White, at.X, at.Y, size*0.55)
	}
}

// manyValues is the number of values above which a line stands without dots:
// they would touch, and a year of them would make the file too large.
const manyValues = 120

// dotSize keeps the dots of many values apart.
func (k canvas) dotSize(n int) float64 {
	return clamp((k.end-k.left)/float64(n)*0.8, 0.6, 1.1)
}

// bars draws blood pressure as bars from the lower to the upper number, with a
// dot for the lowest during the session.
func (k canvas) bars(p panel, a axis, top, bottom float64) {
	width := clamp((k.end-k.left)/float64(7*len(k.c.weeks))*0.5, 0.25, 1)
	for _, q := range p.points {
		low, ok := p.low[q.at]
		if !ok || a.off(q.number) || a.off(low.number) {
			continue
		}
		x := k.x(q.at)
		k.line(pdf.Stroke{WidthMM: width, Color: bar}, xy(x, a.y(q.number, top, bottom)), xy(x, a.y(low.number, top, bottom)))
	}
	if len(p.beside) > manyValues {
		k.curve(p.beside, a, top, bottom, ink)
		return
	}
	for _, q := range p.beside {
		if !a.off(q.number) {
			k.dot(ink, k.x(q.at), a.y(q.number, top, bottom), k.dotSize(len(p.beside)))
		}
	}
}

// rect is the place of a text or a sign.
type rect struct{ left, top, right, bottom float64 }

func (r rect) over(o rect) bool {
	return r.left < o.right && o.left < r.right && r.top < o.bottom && o.top < r.bottom
}

// offAxis draws the values far off the others at the edge, beyond a broken
// axis, each with its number where there is room beside the other numbers and
// signs; those without are counted. taken are the places of earlier panels.
func (k canvas) offAxis(p panel, a axis, top, bottom float64, taken []rect) []rect {
	var off []point
	for _, q := range append(slices.Clone(p.points), p.beside...) {
		if a.off(q.number) {
			off = append(off, q)
		}
		if low, ok := p.low[q.at]; ok && a.off(low.number) {
			off = append(off, point{q.at, low})
		}
	}
	broken := pdf.Stroke{WidthMM: 0.25, Color: ink}
	y := func(q point) float64 {
		if q.number < a.offLow {
			return bottom + 0.9 + k.letter*0.37 // below the line of the axis
		}
		return top - 0.4 - k.letter*0.35 // above a limit
	}
	for _, q := range off {
		x, y := k.x(q.at), y(q)
		k.line(broken, xy(x-1, y), xy(x-0.35, y-0.6), xy(x+0.35, y+0.6), xy(x+1, y))
		taken = append(taken, rect{x - 1, y - 0.6, x + 1, y + 0.6})
	}
	unnamed, after := 0, " "+k.c.offAxis
	for _, q := range off {
		named, base := false, y(q)+k.letter*0.35
		for _, label := range [...]string{k.number(q.text) + after, k.number(q.text)} {
			width := k.small.WidthMM(label)
			for _, x := range [...]float64{k.x(q.at) + 1.3, k.x(q.at) - 1.3 - width} {
				place := rect{x, base - k.letter*0.75, x + width, base + k.letter*0.1}
				if !named && x >= k.left && x+width <= k.end && !slices.ContainsFunc(taken, place.over) {
					k.text(x, base, 0, label, k.small, ink)
					taken, named = append(taken, place), true
					if label != k.number(q.text) {
						after = "" // said once in a panel
					}
				}
			}
		}
		if !named {
			unnamed++
		}
	}
	beside := ""
	switch {
	case unnamed > 0:
		beside = k.c.language.Text(issue.T("and {} more", unnamed))
	case len(off) > 0:
		beside = strings.TrimSpace(after) // no number had room for it
	}
	x, base := min(k.end+1.2, k.width-k.small.WidthMM(beside)), top-0.4
	if place := (rect{x, base - k.letter*0.75, k.width, base}); !slices.ContainsFunc(taken, place.over) {
		k.text(x, base, 0, beside, k.small, ink)
	}
	return taken
}
