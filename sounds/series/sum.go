package series

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"

	"gainwright/sim/identify"
	"gainwright/sounds"
)

// Found is what a series' recordings told of a recorder.
type Found struct {
	Gains    *identify.GainLaw
	Noises   identify.Noises
	Clip     *identify.Clip // nil: not known
	ClipFrom string
	Limiter  *identify.Limiter // nil: not known
	// Pair is what the limiter was told from, limiter off first.
	Pair     [2]Stretch
	Bits     int // of the words that are really used; 0 if that is not known
	Stated   int // bits that the headers state
	DC       float64
	FullAt   identify.Estimate // dB SPL of a full-scale sine at the lowest mark
	Anchor   Anchor
	AnchorAt float64 // the mark at which it was found
	Quiet    []Level // noise at marks, as it was recorded
	Sources  []Source
	Notes    []string
}

// A Level is one at a mark, dB of a full-scale sine.
type Level struct {
	Mark    float64
	DBFS    identify.Estimate
	Plugged bool
}

// Pairs remembers pairs that were compared, so that another recording does not have them
// compared again. The zero value is ready; it is not for use by several goroutines.
type Pairs struct {
	of map[[2]pairKey]compared
}

// Clone is a copy that another goroutine may use.
func (p *Pairs) Clone() *Pairs { return &Pairs{maps.Clone(p.of)} }

type pairKey struct {
	sum      string
	channel  int
	from, to int64
}

type compared struct {
	l   *identify.Limiter
	err error
}

// Sum makes one recorder of what recordings told.
func (p *Pairs) Sum(ctx context.Context, list []*Reading, a Anchor, w Progress) (*Found, error) {
	f := &Found{Anchor: a}
	var all []identify.Heard
	var talk []heard
	var off, on []Stretch
	var sums [2][]string
	tops := 0
	for _, r := range list {
		f.Sources = append(f.Sources, r.Sources...)
		f.Notes = append(f.Notes, r.Notes...)
		f.words(r)
		for _, h := range r.heard {
			all = append(all, h.Heard)
			if h.Step == identify.Anchor {
				talk = append(talk, h)
			}
			if h.Step == identify.Quiet || h.Step == identify.Plugged {
				f.Quiet = append(f.Quiet, Level{h.Mark, h.Levels.Noise, h.Step == identify.Plugged})
			}
		}
		for i := range r.clips {
			// A stage that bends leaves no flat tops.
			if c := &r.clips[i]; c.Level.Known() && (f.Clip == nil || c.Tops > tops) {
				f.Clip, f.ClipFrom, tops = &c.Clip, c.from, c.Tops
			}
		}
		for _, s := range r.off {
			off, sums[0] = append(off, s), append(sums[0], r.SHA256)
		}
		for _, s := range r.on {
			on, sums[1] = append(on, s), append(sums[1], r.SHA256)
		}
	}
	var notes []string
	f.Gains, notes = identify.Gains(all)
	f.Notes = append(f.Notes, notes...)
	f.Noises = identify.NoisesOf(all, f.Gains)
	f.Notes = append(f.Notes, f.Noises.Notes...)
	if w := identify.HighPassNote(all); w != "" {
		f.Notes = append(f.Notes, w)
	}
	f.noClip(list)
	if err := p.pairs(ctx, f, off, on, sums, w); err != nil {
		return nil, err
	}
	f.findAnchor(talk)
	return f, nil
}

// Known is what is known of a part of the series: the marks at which it was recorded, and
// how many recordings there are of each of its steps.
func (f *Found) Known(p Part) (marks []float64, each []int) {
	each = make([]int, len(p.Steps))
	for _, s := range f.Sources {
		for i, step := range p.Steps {
			if s.Step == step || s.Step == 0 && step >= identify.Off && step <= identify.On {
				each[i]++
				if !slices.Contains(marks, s.Mark) {
					marks = append(marks, s.Mark)
				}
			}
		}
	}
	slices.Sort(marks)
	return marks, each
}

// words takes word length and offset over.
func (f *Found) words(r *Reading) {
	f.Bits, f.Stated = max(f.Bits, r.bits), max(f.Stated, r.stated)
	if math.Abs(r.dc) > math.Abs(f.DC) {
		f.DC = r.dc
	}
}

// noClip notes why no recording tells where it clips, if there was one that should.
func (f *Found) noClip(list []*Reading) {
	for _, r := range list {
		if f.Clip == nil && len(r.clips) > 0 {
			f.Notes = append(f.Notes, sounds.Shown(r.clips[0].from)+": "+r.clips[0].Why)
			return
		}
	}
}

// pairs compares what was recorded with the limiter off and on. Where there are several,
// what tells the place counts.
func (p *Pairs) pairs(ctx context.Context, f *Found, off, on []Stretch, sums [2][]string, w Progress) error {
	if len(off) != len(on) {
		f.Notes = append(f.Notes, fmt.Sprintf("%s with the limiter off and %d with it on: a pair is one of each", counted(len(off), "recording", "recordings"), len(on)))
	}
	for i := range min(len(off), len(on)) {
		a, b := off[i], on[i]
		key := [2]pairKey{{sums[0][i], a.Channel, a.From, a.To}, {sums[1][i], b.Channel, b.From, b.To}}
		got, known := p.of[key]
		if !known {
			got.l, got.err = compare(ctx, a, b, w)
			if got.err != nil && !identify.AsFault(got.err) {
				return got.err
			}
			if p.of == nil {
				p.of = map[[2]pairKey]compared{}
			}
			p.of[key] = got
		}
		l := got.l
		switch {
		case got.err != nil:
			f.Notes = append(f.Notes, got.err.Error())
		case f.Limiter == nil || f.Limiter.Place == identify.Undecided && l.Place != identify.Undecided:
			f.Limiter, f.Pair = l, [2]Stretch{a, b}
		case l.Place != identify.Undecided && l.Place != f.Limiter.Place:
			f.Notes = append(f.Notes, fmt.Sprintf("%s and %s tell another place of the limiter than %s: was the menu the same?", sounds.Shown(a.File.Name), sounds.Shown(b.File.Name), f.PairBy()))
		}
	}
	return nil
}

// PairBy names the files that told of the limiter.
func (f *Found) PairBy() string {
	a, b := sounds.Shown(f.Pair[0].File.Name), sounds.Shown(f.Pair[1].File.Name)
	if a == b {
		return a
	}
	return a + " and " + b
}

// OpenPair opens both stretches and looks at them; the caller closes the channels.
func OpenPair(ctx context.Context, pair [2]Stretch, w Progress) (c [2]*Channel, sec [2]*identify.Section, s [2]*identify.Survey, err error) {
	for i, q := range pair {
		if c[i], err = OpenChannel(ctx, q.File, q.Channel, w); err != nil {
			break
		}
		w.Begin("comparing " + q.File.Name)
		sec[i] = &identify.Section{Of: c[i], From: q.From, To: q.To}
		if s[i], err = identify.Look(sec[i], c[i].Format); err != nil {
			if identify.AsFault(err) {
				err = &sounds.InputError{Path: q.File.Name, Msg: err.Error(), Err: err}
			}
			break
		}
	}
	if err != nil {
		closeAll(c)
	}
	return c, sec, s, err
}

func closeAll(c [2]*Channel) {
	for _, x := range c {
		if x != nil {
			x.Close()
		}
	}
}

func compare(ctx context.Context, off, on Stretch, w Progress) (*identify.Limiter, error) {
	c, sec, s, err := OpenPair(ctx, [2]Stretch{off, on}, w)
	if err != nil {
		return nil, err
	}
	defer closeAll(c)
	return PairOf([2]string{off.File.Name, on.File.Name}, sec[0], sec[1], s[0], s[1])
}

// PairOf compares two recordings of one sound, from the files names, the first with the
// limiter off and the second with it on. What is wrong with them names both files.
func PairOf(names [2]string, first, second identify.Recording, a, b *identify.Survey) (*identify.Limiter, error) {
	l, err := identify.Identify(first, second, a, b)
	if identify.AsFault(err) {
		return nil, &sounds.InputError{Path: sounds.Shown(names[0]) + ", " + sounds.Shown(names[1]), Msg: err.Error(), Err: err}
	}
	return l, err
}

// findAnchor works out the acoustic full scale at the lowest mark.
func (f *Found) findAnchor(list []heard) {
	f.FullAt = identify.Unknown()
	a := f.Anchor
	if a.Kind == "" {
		return
	}
	level, gain := identify.Unknown(), 0.0
	if len(list) > 0 {
		h := list[0]
		level, gain, f.AnchorAt = h.Levels.Tone, f.Gains.At(h.Mark), h.Mark
		if a.Kind == "talk" {
			level = h.talk
		}
	}
	if !level.Known() && a.Kind == "meter" && len(f.Gains.Marks) > 0 {
		r := f.Gains.Reaches
		level, gain, f.AnchorAt = identify.Estimate{Value: r, Low: r - 0.2, High: r + 0.2}, 0, f.Gains.Marks[0].Mark
	}
	switch {
	case !level.Known():
		f.Notes = append(f.Notes, "the anchor was not heard: record it, and name it anchor, by hand")
	case math.IsNaN(gain):
		f.Notes = append(f.Notes, fmt.Sprintf("the gain at mark %s, at which the anchor was recorded, is not known: record the tone there", Mark(f.AnchorAt)))
	default:
		v := a.Level - level.Value + gain
		half := math.Hypot(a.Within, level.High-level.Value)
		f.FullAt = identify.Estimate{Value: v, Low: v - half, High: v + half}
	}
}

// FullScale is the acoustic full scale at a mark, dB SPL.
func (f *Found) FullScale(m identify.MarkGain) identify.Estimate {
	if !f.FullAt.Known() {
		return identify.Unknown()
	}
	v := f.FullAt.Value - m.Gain.Value
	half := math.Hypot(f.FullAt.High-f.FullAt.Value, m.Gain.High-m.Gain.Value)
	return identify.Estimate{Value: v, Low: v - half, High: v + half}
}
