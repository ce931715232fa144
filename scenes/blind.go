package scenes

import (
	"fmt"
	"math/rand/v2"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim/meter"
)

// trialCounts are the numbers of trials one can choose, fixed before the first.
var trialCounts = [...]int{8, 12, 16, 20}

// blindRun compares two sounds by ear alone: X is one of them, by chance, and the
// listener says which; after a fixed number of trials the score is told together
// with how often guessing would reach it.
type blindRun struct {
	open, on bool // being prepared or going on; going on
	trials   int
	pair     [2]Listen
	x        int // which of the pair X is in this trial
	at       int // what is heard: 0 and 1 the pair, 2 X
	done     int
	right    int
	coin     func() int // 0 or 1

	start, stop, count, first, second *ui.Button
	hear                              [3]*ui.Choice
	answer                            [2]*ui.Button
	box, line                         ink.Rect
	txt                               ui.Strs
	held                              bool // sources were matched before
}

func newBlind() blindRun {
	b := blindRun{trials: trialCounts[1], pair: [2]Listen{ListenA, ListenB}, coin: func() int { return rand.IntN(2) }}
	btn := func(id, name, hint, label string, look ui.Look) *ui.Button {
		k := ui.NewButton(id, name, hint, label, look, ui.NoIcon)
		k.Size = ui.Small
		return k
	}
	b.start = btn("blind.start", "Compare blind", "X is one of two sounds of the take, and you say which: equally loud, a fixed number of times.", "blind", ui.Quiet)
	b.stop = btn("blind.stop", "End the blind comparison", "Nothing is counted.", "End", ui.Quiet)
	b.count = btn("blind.trials", "Number of trials", "Press for another number. It is fixed once the first trial is heard.", "", ui.Plain)
	b.first = btn("blind.first", "First sound", "Press for another.", "", ui.Plain)
	b.second = btn("blind.second", "Second sound", "Press for another.", "", ui.Plain)
	for i, id := range []string{"blind.hear_first", "blind.hear_second", "blind.hear_x"} {
		b.hear[i] = ui.NewChoice("blind", id, "", "Change over as often as you like; all are equally loud.", "")
		b.hear[i].Look = ui.Tile
	}
	b.hear[2].Label, b.hear[2].Name = "X", "Listen to X"
	b.answer[0] = btn("blind.is_first", "", "Counts as your answer.", "", ui.Plain)
	b.answer[1] = btn("blind.is_second", "", "Counts as your answer.", "", ui.Plain)
	return b
}

func (b *blindRun) controls() []ui.Control {
	return []ui.Control{b.start, b.hear[0], b.hear[2], b.hear[1], b.first, b.second, b.count, b.answer[0], b.answer[1], b.stop}
}

func sourceName(l Listen) string {
	switch l {
	case ListenSpoken:
		return "as spoken"
	case ListenMended:
		return "mended"
	}
	return stripNames[l]
}

func sourceLong(l Listen) string {
	switch l {
	case ListenSpoken:
		return "what was spoken"
	case ListenMended:
		return "the mended strip"
	}
	return "strip " + stripNames[l]
}

func (b *blindRun) sync(g *gainScene) {
	t := g.s.Take()
	ready := t != nil && t.Done && g.s.Mode() != ModeRecord
	b.start.Hidden = b.open
	b.start.Disabled, b.start.Why = !ready, "record something first: two sounds of one take are compared"
	b.start.Label = "blind"
	if b.open && !b.on {
		b.start.Hidden = false
		b.start.Label = "Begin"
	}
	b.start.On = b.open
	b.stop.Hidden = !b.open
	for _, c := range []*ui.Button{b.count, b.first, b.second} {
		c.Hidden = !b.open || b.on
	}
	for _, c := range b.hear {
		c.Hidden = !b.on
	}
	for _, c := range b.answer {
		c.Hidden = !b.on
	}
	b.count.Label, b.count.Name = fmtTrials[b.trials], trialNames[b.trials]
	b.first.Label, b.second.Label = sourceName(b.pair[0]), sourceName(b.pair[1])
	b.first.Name, b.second.Name = firstNames[b.pair[0]], secondNames[b.pair[1]]
	for i := range 2 {
		b.hear[i].Label, b.hear[i].Name = sourceName(b.pair[i]), hearNames[b.pair[i]]
		b.answer[i].Label, b.answer[i].Name = isNames[b.pair[i]], isNames[b.pair[i]]
	}
	for i := range b.hear {
		b.hear[i].Checked = b.on && b.at == i
	}
}

// Names are made once, so that a frame allocates nothing.
var (
	fmtTrials, trialNames                       = map[int]string{}, map[int]string{}
	firstNames, secondNames, hearNames, isNames [numListen]string
)

func init() {
	for _, n := range trialCounts {
		fmtTrials[n] = fmt.Sprintf("%d trials", n)
		trialNames[n] = fmt.Sprintf("Number of trials, %d trials", n)
	}
	for l := range numListen {
		firstNames[l] = "First sound: " + sourceLong(l)
		secondNames[l] = "Second sound: " + sourceLong(l)
		hearNames[l] = "Listen to " + sourceLong(l)
		isNames[l] = "X is " + sourceName(l)
	}
}

func (g *gainScene) applyBlind(it Intent) (ok bool, err error) {
	b := &g.blind
	t := g.s.Take()
	next := func(k int) {
		for {
			b.pair[k] = (b.pair[k] + 1) % numListen
			if b.pair[k] != b.pair[1-k] && g.s.canHear(b.pair[k]) {
				return
			}
		}
	}
	running := func() error {
		if !b.on {
			return fmt.Errorf("no blind comparison is going on")
		}
		return nil
	}
	switch it.ID {
	case "blind.start":
		if t == nil || !t.Done || g.s.Mode() == ModeRecord {
			return true, fmt.Errorf("record something first: two sounds of one take are compared")
		}
		switch {
		case b.on:
			return true, fmt.Errorf("a comparison is going on")
		case !b.open:
			b.open = true
			for k := range 2 {
				if !g.s.canHear(b.pair[k]) {
					next(k)
				}
			}
			g.p.Relayout()
			g.status = "Choose two sounds and the number of trials, then begin."
			return true, nil
		}
		for _, l := range b.pair {
			if g.clippedUnwarned(l) {
				g.caution, g.afterCaution = true, func() error { return g.beginBlind() }
				return true, nil
			}
		}
		return true, g.beginBlind()
	case "blind.stop":
		if !b.open {
			return true, running()
		}
		if b.on {
			g.status = fmt.Sprintf("The comparison ended after %d of %d trials. It counts for nothing.", b.done, b.trials)
		}
		g.endBlind()
	case "blind.trials":
		if b.on {
			return true, fmt.Errorf("the number of trials is fixed")
		}
		for i, n := range trialCounts {
			if n == b.trials {
				b.trials = trialCounts[(i+1)%len(trialCounts)]
				break
			}
		}
	case "blind.first", "blind.second":
		if b.on || t == nil {
			return true, fmt.Errorf("the sounds are fixed")
		}
		if it.ID == "blind.first" {
			next(0)
		} else {
			next(1)
		}
	case "blind.hear_first", "blind.hear_second", "blind.hear_x":
		if err := running(); err != nil {
			return true, err
		}
		switch it.ID {
		case "blind.hear_first":
			g.hearBlind(0)
		case "blind.hear_second":
			g.hearBlind(1)
		default:
			g.hearBlind(2)
		}
	case "blind.is_first", "blind.is_second":
		if err := running(); err != nil {
			return true, err
		}
		k := 0
		if it.ID == "blind.is_second" {
			k = 1
		}
		if k == b.x {
			b.right++
		}
		b.done++
		if b.done == b.trials {
			g.status = BlindResult(b.right, b.trials, sourceLong(b.pair[0]), sourceLong(b.pair[1]))
			g.endBlind()
			return true, nil
		}
		b.x = b.coin()
		g.status = fmt.Sprintf("Trial %d of %d: what is X?", b.done+1, b.trials)
		g.hearBlind(2)
	default:
		return false, nil
	}
	return true, nil
}

// BlindResult says in plain words what came of a blind comparison.
func BlindResult(right, trials int, a, b string) string {
	p := meter.BinomialP(right, trials)
	s := fmt.Sprintf("%d of %d right, %s against %s. ", right, trials, a, b)
	chance := ui.Decimal(100*p, 1) + " %"
	if p < 0.001 {
		chance = "less than 0.1 %"
	}
	switch {
	case p < 0.05:
		return s + "Guessing alone gets that far in " + chance + " of such runs (p = " + pText(p) + "): you most likely heard a difference."
	case 2*right > trials:
		return s + "Guessing alone gets that far in " + chance + " of such runs (p = " + pText(p) + "): that shows nothing yet."
	}
	return s + "That is no better than guessing (p = " + pText(p) + "), which is no proof that there is no difference."
}

func pText(p float64) string {
	if p < 0.001 {
		return "less than 0.001"
	}
	return ui.Decimal(p, 3)
}

func (g *gainScene) beginBlind() error {
	b := &g.blind
	b.on, b.done, b.right, b.x = true, 0, 0, b.coin()
	b.held = g.s.Matched()
	g.s.SetMatched(true)
	g.s.SetLoop(true)
	g.status = fmt.Sprintf("Trial 1 of %d: what is X?", b.trials)
	g.p.Relayout()
	g.hearBlind(2)
	if g.s.Playing() {
		return nil
	}
	return g.startPlay()
}

func (g *gainScene) endBlind() {
	b := &g.blind
	if b.on {
		g.s.Stop()
		g.s.SetMatched(b.held)
		g.s.SetListen(b.pair[0])
	}
	b.on, b.open = false, false
	g.p.Relayout()
}

// hearBlind lets one of the pair, or X, be heard; the pictures stay as they are,
// since they would tell.
func (g *gainScene) hearBlind(k int) {
	b := &g.blind
	b.at = k
	if k == 2 {
		k = b.x
	}
	g.s.SetListen(b.pair[k])
}

func (b *blindRun) height(th *ui.Theme) float32 {
	return 16 + 2*max(32, th.Row(ui.Small)+10) + 6 + th.Row(ui.Small) + 4
}

func (b *blindRun) layout(th *ui.Theme, box ink.Rect) {
	b.box = box
	in := ui.Pad(box, 12, 8)
	head := ui.Top(&in, th.Row(ui.Small)+2)
	ui.Top(&in, 2)
	b.line = head
	h := (in.H - 6) / 2
	one := ui.Top(&in, h)
	ui.Top(&in, 6)
	two := in
	stop := ui.Right(&two, b.stop.Width(th))
	ui.Right(&two, 8)
	b.stop.Bounds = stop
	if b.on {
		for k, i := range []int{0, 2, 1} {
			b.hear[i].Bounds = ui.Column(one, k, 3, 6)
		}
		for i := range b.answer {
			b.answer[i].Bounds = ui.Column(two, i, 2, 6)
		}
		return
	}
	b.count.Bounds = ui.Right(&one, b.count.Width(th))
	ui.Right(&one, 8)
	b.first.Bounds, b.second.Bounds = ui.Column(one, 0, 2, 6), ui.Column(one, 1, 2, 6)
	b.start.Bounds = two
}

func (b *blindRun) draw(l *ink.List, th *ui.Theme) {
	panel(l, th, b.box)
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	s := b.txt.Get([6]int64{b2i(b.on), int64(b.done), int64(b.trials), int64(b.line.W), int64(th.Text * 100)}, func() string {
		if !b.on {
			return ui.Fit(st, b.line.W, "Compare blind: which two sounds, how often?", "Compare blind", "Blind")
		}
		n := fmt.Sprintf("Trial %d of %d", b.done+1, b.trials)
		return ui.Fit(st, b.line.W, n+": which one is X?", n)
	})
	l.TextIn(b.line, s, st)
}
