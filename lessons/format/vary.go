package format

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/sim"
	"gainwright/sounds/scenario/plain"

	"github.com/goccy/go-yaml/ast"
)

// drawKeys are what "vary" may name beside settings.
var drawKeys = []string{model.DrawTalker, model.DrawPerformance, model.DrawEffort, model.DrawLevel}

const (
	maxDrawn     = 20
	drawnDefault = 5
)

func (d *decoder) vary(p pair) {
	o := d.object(p.node, "vary", "quantities, as in \"distance_m: {from: 0.05, to: 0.2}\"")
	if o == nil {
		return
	}
	for _, q := range o.pairs {
		o.taken[q.key] = true
		at := plain.Join("vary", plain.Shorten(q.key))
		dr := model.Draw{Key: q.key}
		before := len(d.faults)
		d.unread = append(d.unread, q.key) // until it is read
		switch q.key {
		case model.DrawTalker, model.DrawPerformance:
		case model.DrawEffort:
		case model.DrawLevel:
			dr.Unit = "dB"
		default:
			key := q.key
			if strip, rest, ok := strings.Cut(key, "."); ok && d.l.Base.Strip(strip) != nil {
				key = rest
			} else if !names.Shared(key) {
				known := slices.Concat(drawKeys, d.settingKeys())
				d.fault(q.at, at, "there is nothing of that name to draw%s", plain.DidYouMean(q.key, known))
				continue
			}
			n, ok := names.Setting(key)
			if !ok {
				d.fault(q.at, at, "there is no such setting%s", plain.DidYouMean(q.key, d.settingKeys()))
				continue
			}
			dr.Unit = n.Unit
		}
		dr.Values = d.drawn(q, at)
		if v, ok := d.measured(q.key); ok && len(dr.Values) > 0 {
			dr.Values = []any{v}
		}
		if len(d.faults) > before {
			continue
		}
		for _, v := range dr.Values {
			s := d.l.Base.Clone()
			if err := model.ApplyDraw(s, nil, q.key, v); err != nil {
				d.fault(q.node.GetToken(), at, "%s", names.FaultText(err))
				break
			}
		}
		if len(d.faults) == before {
			d.unread = d.unread[:len(d.unread)-1]
		}
		d.l.Vary = append(d.l.Vary, dr)
	}
}

// drawn lists the values of one quantity: a list, a number of performances, or a
// range in steps.
func (d *decoder) drawn(q pair, at string) []any {
	if n, ok := q.node.(*ast.IntegerNode); ok && q.key == model.DrawPerformance {
		k := d.whole(n, at, 1, maxDrawn)
		var out []any
		for i := range k {
			out = append(out, float64(i+1))
		}
		return out
	}
	if seq, ok := q.node.(*ast.SequenceNode); ok {
		return d.drawnList(seq, at)
	}
	o := d.object(q.node, at, "a list of values, or a range as in {from: 0.05, to: 0.2, steps: 4}")
	if o == nil {
		return nil
	}
	lo, hi, steps, ok := d.drawnRange(o, at)
	if !ok {
		return nil
	}
	geometric := strings.HasSuffix(q.key, "distance_m") && lo > 0
	var out []any
	for i := range steps {
		t := float64(i) / float64(steps-1)
		v := lo + (hi-lo)*t
		if geometric { // equal steps in level
			v = lo * math.Pow(hi/lo, t)
		}
		if q.key == model.DrawPerformance {
			v = math.Round(v)
		}
		out = append(out, math.Round(v*1000)/1000)
	}
	return slices.Compact(out)
}

// drawnList reads a list of values, all numbers or all words.
func (d *decoder) drawnList(seq *ast.SequenceNode, at string) []any {
	var out []any
	for _, v := range d.list(seq, at, "values to draw from") {
		if x, ok := d.plainValue(v, at); ok {
			out = append(out, x)
		}
	}
	if len(out) > maxDrawn {
		d.fault(seq.GetToken(), at, "%d values, the most is %d", len(out), maxDrawn)
	}
	for _, v := range out[min(1, len(out)):] {
		if fmt.Sprintf("%T", v) != fmt.Sprintf("%T", out[0]) {
			d.fault(seq.GetToken(), at, "numbers and words are mixed")
			break
		}
	}
	return out
}

// drawnRange reads from, to and in how many steps, two or more.
func (d *decoder) drawnRange(o *object, at string) (lo, hi float64, steps int, ok bool) {
	ok = true
	for _, e := range []struct {
		key string
		v   *float64
	}{{"from", &lo}, {"to", &hi}} {
		p, is := o.get(e.key)
		if !is {
			d.fault(o.start, plain.Join(at, e.key), "is missing: a range has from and to")
			ok = false
			continue
		}
		v, good := d.number(p.node, plain.Join(at, e.key), "", -1e6, 1e6)
		*e.v, ok = v, ok && good
	}
	steps = drawnDefault
	if p, is := o.get("steps"); is {
		steps = d.whole(p.node, plain.Join(at, "steps"), 2, maxDrawn)
	}
	o.rest()
	if ok && lo >= hi {
		d.fault(o.start, at, "from %v to %v is no range: from is the smaller one", lo, hi)
		ok = false
	}
	return lo, hi, max(steps, 2), ok
}

func (d *decoder) settingKeys() []string {
	var out []string
	for _, n := range names.Settings() {
		if names.Shared(n.Key) {
			out = append(out, n.Key)
		}
		for _, s := range d.l.Base.StripNames() {
			out = append(out, s+"."+n.Key)
		}
	}
	return out
}

// measured is where the limiter of the user's recorder sits: what was measured is not
// drawn.
func (d *decoder) measured(key string) (any, bool) {
	name, rest, _ := strings.Cut(key, ".")
	st := d.l.Base.Strip(name)
	if d.recorder == nil || st == nil || rest != names.LimiterPlace {
		return nil, false
	}
	p := d.l.Base.Fit.Chain.Place()
	return string(p), p != sim.LimiterOff && d.recorder.Limiter != nil
}
