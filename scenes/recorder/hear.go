package recorder

import (
	"errors"
	"fmt"
	"math"

	"gainwright/scenes/bench"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/identify"
	"gainwright/sim/repair"
	"gainwright/sounds/series"
)

// hearSeconds is how much of a pair is heard.
const hearSeconds = 8

// treatments are what the pair is heard after.
var treatments = [...]struct {
	id, label, name string
	make            func() repair.Treatment
}{
	{"nothing", "as recorded", "As recorded", nil},
	{"limit", "limiter, −6 dBFS", "After a limiter at −6 dBFS that looks 2 ms ahead", func() repair.Treatment {
		return repair.Limit{CeilingDBFS: -6, LookAheadMS: 2, AttackMS: 1, ReleaseMS: 100}
	}},
	{"compress", "compressor, 3:1", "After a compressor, 3:1 above −24 dBFS", func() repair.Treatment { return repair.DefaultCompress() }},
	{"declip", "declip", "After declipping: what was cut off is guessed", func() repair.Treatment {
		if work.Sliced {
			return repair.Declip{Effort: repair.Fast}
		}
		return repair.Declip{Effort: repair.Balanced}
	}},
}

var sides = [2]struct{ id, label, name string }{
	{"off", "limiter off", "Listen to the recording with the limiter off"},
	{"on", "limiter on", "Listen to the recording with the limiter on"},
}

// hear plays the pair in step, before and after treatments.
type hear struct {
	shell   kit.Shell
	deck    *kit.Deck
	side    [2]*ui.Choice
	after   [len(treatments)]*ui.Choice
	matched *ui.Check
	page    *ui.Button

	of      *identify.Limiter // that x is the pair of; nil: there is none
	x       [2][len(treatments)][]float64
	lufs    [2][len(treatments)]float64
	tracks  [2][len(treatments)]kit.Track
	refused [2][len(treatments)]string
	clipped [2]bool
	inStep  bool
	stopped bool // nothing is made until other recordings come
	at      [2]int
}

func newHear(p kit.Shell) hear {
	h := hear{shell: p, inStep: true, deck: kit.NewDeck(p, "A pair, limiter off and on, is heard here.", "No pair yet.")}
	for i, w := range sides {
		h.side[i] = ui.NewChoice(groupSide, idSide+w.id, w.name, "Both play in step: switch while it plays.", w.label)
		h.side[i].Look = ui.Tile
	}
	for i, w := range treatments {
		h.after[i] = ui.NewChoice(groupAfter, idAfter+w.id, w.name, "Switch while it plays.", w.label)
		h.after[i].Look = ui.Tile
	}
	h.matched = ui.NewCheck(kit.IDMatched, "Matched in loudness", "Plays all equally loud, at −23 LUFS, so that louder does not seem better.", "matched in loudness, −23 LUFS")
	h.page = ui.NewButton(idPage, "Save a page with the pair to hand out", "One page that needs nothing else: the pair, before and after each treatment, in step.", "Save page to hand out", ui.Plain, ui.NoIcon)
	h.page.Size = ui.Small
	return h
}

func (h *hear) controls() (cs []ui.Control) {
	for _, c := range h.side {
		cs = append(cs, c)
	}
	for _, c := range h.after {
		cs = append(cs, c)
	}
	return append(append(cs, h.matched, h.page), h.deck.Controls()...)
}

func (h *hear) acts() kit.Acts {
	a := kit.Acts{
		h.matched.ID: kit.Press(func() { h.inStep = !h.inStep; h.gains() }),
		h.page.ID:    kit.Try(h.handOut),
	}
	for i, c := range h.side {
		a[c.ID] = kit.Try(func() error { return h.choose(c.Disabled, c.Why, i, h.at[1]) })
	}
	for i, c := range h.after {
		a[c.ID] = kit.Try(func() error { return h.choose(c.Disabled, c.Why, h.at[0], i) })
	}
	return a
}

// choose makes one version heard.
func (h *hear) choose(refused bool, why string, side, after int) error {
	if refused {
		return errors.New(why)
	}
	if h.x[side][after] == nil {
		after = 0
	}
	h.at = [2]int{side, after}
	h.deck.Choose(side*len(treatments) + after)
	return nil
}

// ready tells whether there is a pair to hear.
func (h *hear) ready() bool { return h.of != nil && h.x[0][0] != nil }

const (
	whyNoPair  = "there is no pair yet"
	whyNotMade = "it is not made yet"
)

func (h *hear) sync() {
	kit.Refuse(!h.ready(), whyNoPair, h.matched)
	for i, c := range h.side {
		kit.Refuse(!h.ready(), whyNoPair, c)
		c.Checked = h.at[0] == i
	}
	all := h.ready()
	for i, c := range h.after {
		why := ""
		switch {
		case !h.ready():
			why = whyNoPair
		case h.refused[h.at[0]][i] != "":
			why = h.refused[h.at[0]][i]
		case h.x[h.at[0]][i] == nil:
			why, all = whyNotMade, false
		}
		kit.Refuse(why != "", why, c)
		c.Checked = h.at[1] == i
	}
	why := whyNoPair
	if h.ready() {
		why = "the treatments are being made"
	}
	for side := range h.x {
		for i := range h.x[side] {
			all = all && (h.x[side][i] != nil || h.refused[side][i] != "")
		}
	}
	kit.Refuse(!all, why, h.page)
	h.matched.On = h.inStep
	h.deck.Sync()
}

// next is what is to be done next so that the pair of f can be heard; nil for nothing.
func (h *hear) next(f *series.Found) (do func(*work.Context) error, took func(error)) {
	var of *identify.Limiter
	if f != nil {
		of = f.Limiter
	}
	if of != h.of {
		h.of, h.x, h.stopped = nil, [2][len(treatments)][]float64{}, h.stopped && of == nil
		h.refused = [2][len(treatments)]string{}
		h.deck.Load(true)
		if of == nil {
			h.of = of
			return nil, nil
		}
		return h.open(f)
	}
	if h.stopped || !h.ready() {
		return nil, nil
	}
	for i := 1; i < len(treatments); i++ {
		for side := range h.x {
			if h.x[side][i] == nil && h.refused[side][i] == "" {
				return h.treat(side, i)
			}
		}
	}
	return nil, nil
}

// open reads the pair.
func (h *hear) open(f *series.Found) (do func(*work.Context) error, took func(error)) {
	var x [2][]float64
	var clipped [2]bool
	var lufs [2]float64
	do = func(c *work.Context) (err error) {
		if x, err = f.Hear(c, hearSeconds, bench.Rate, &progress{h: c}); err != nil {
			return err
		}
		for i := range x {
			clipped[i] = repair.Detect(x[i]).Samples > 0 || i == 0 && f.Limiter.Ceiling.Found()
			lufs[i] = work.LoudnessLUFS(x[i])
			if err := c.Err(); err != nil {
				return err
			}
		}
		if len(x[0]) != len(x[1]) || len(x[0]) < bench.Rate/2 {
			return fmt.Errorf("the pair is too short to be heard")
		}
		return nil
	}
	return do, func(err error) {
		h.of = f.Limiter // once, whether it can be heard or not
		if err != nil {
			return
		}
		for i := range x {
			h.x[i][0], h.lufs[i][0] = x[i], lufs[i]
		}
		h.clipped = clipped
		h.at = [2]int{}
		h.load(true)
	}
}

// treat makes one of the treatments.
func (h *hear) treat(side, i int) (do func(*work.Context) error, took func(error)) {
	x := h.x[side][0]
	var y []float64
	var lufs float64
	of := h.of
	do = func(c *work.Context) (err error) {
		if y, _, err = work.Treat(c, treatments[i].make(), x, c.Span(treatments[i].label, 0, 1)); err != nil {
			return err
		}
		lufs = work.LoudnessLUFS(y)
		return nil
	}
	return do, func(err error) {
		switch {
		case h.of != of:
		case err != nil:
			h.refused[side][i] = "it could not be made: " + err.Error()
		default:
			h.x[side][i], h.lufs[side][i] = y, lufs
			h.load(false)
		}
	}
}

// load gives the deck what there is; what is not made yet stands as it was recorded.
func (h *hear) load(fresh bool) {
	var list []kit.Track
	for side := range h.x {
		for i, x := range h.x[side] {
			t := &h.tracks[side][i]
			switch {
			case x == nil:
				*t = h.tracks[side][0]
			case len(t.X) == 0 || &t.X[0] != &x[0]:
				*t = kit.NewTrack(sides[side].label+", "+treatments[i].label, x, 0, h.clipped[side])
			}
			list = append(list, *t)
		}
	}
	h.deck.Load(fresh, list...)
	h.deck.Choose(h.at[0]*len(treatments) + h.at[1])
	h.gains()
}

// gain is by how much a version is turned so that all are equally loud, dB.
func (h *hear) gain(side, i int) float64 {
	if h.x[side][i] == nil {
		i = 0
	}
	if v := h.lufs[side][i]; !math.IsInf(v, 0) && !math.IsNaN(v) {
		return bench.ListenLUFS - v
	}
	return 0
}

// gains sets how loud each is played.
func (h *hear) gains() {
	if !h.ready() {
		return
	}
	for side := range h.x {
		for i := range h.x[side] {
			db := 0.0
			if h.inStep {
				db = h.gain(side, i)
			}
			h.deck.Gain(side*len(treatments)+i, db)
		}
	}
}

// handOut saves the page; its sounds are equally loud, and peak at −6 dBFS at most.
func (h *hear) handOut() error {
	if !h.ready() {
		return errors.New(whyNoPair)
	}
	var list []series.Version
	peak := 0.0
	for side := range h.x {
		for i, x := range h.x[side] {
			if x == nil {
				continue
			}
			g := math.Pow(10, h.gain(side, i)/20)
			y := make([]float64, len(x))
			for k, v := range x {
				y[k] = g * v
				peak = max(peak, math.Abs(y[k]))
			}
			list = append(list, series.Version{Group: kit.Capital(sides[side].label), Name: treatments[i].label, X: y})
		}
	}
	if down := 0.5 / max(peak, 0.5); down < 1 {
		for _, s := range list {
			for k := range s.X {
				s.X[k] *= down
			}
		}
	}
	page, err := series.PairPage(series.TellLimiter(h.of), list, bench.Rate)
	if err != nil {
		return err
	}
	h.shell.Save("limiter-off-and-on.html", page)
	return nil
}
