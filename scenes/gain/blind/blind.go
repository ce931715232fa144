package blind

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/sim/meter"
)

// trialCounts are the numbers of trials one can choose, fixed before the first.
var trialCounts = [...]int{8, 12, 16, 20}

// Run compares two sounds by ear alone: X is one of them, by chance, and the
// listener says which; after a fixed number of trials the score is told together
// with how often guessing would reach it.
type Run struct {
	Open, On bool // being prepared or going on; going on
	Trials   int
	Pair     [2]bench.Listen
	X        int // which of the pair X is in this trial
	at       int // what is heard: 0 and 1 the pair, 2 X
	done     int
	right    int
	Coin     func() int // 0 or 1

	Start, stop, count, first, second *ui.Button
	hear                              [3]*ui.Choice
	answer                            [2]*ui.Button
	box, line                         ink.Rect
	txt                               ui.Strs
	held                              bool // sources were matched before

	s     *bench.Session
	Say   func(words string)                           // tells a result
	Moved func()                                       // has all laid out anew
	Warns func(l bench.Listen, then func() error) bool // asks before clipped sound, and does it then
	Play  func() error
	do    map[string]func() error // what each control does
}

// New prepares a comparison of two sounds of the take of s.
func New(s *bench.Session) *Run {
	b := &Run{s: s, Trials: trialCounts[1], Pair: [2]bench.Listen{bench.ListenA, bench.ListenB}, Coin: func() int { return rand.IntN(2) }}
	btn := func(id, name, hint, label string, look ui.Look) *ui.Button {
		k := ui.NewButton(id, name, hint, label, look, ui.NoIcon)
		k.Size = ui.Small
		return k
	}
	b.Start = btn(idStart, "Compare blind", "X is one of two sounds of the take, and you say which: equally loud, a fixed number of times.", "blind", ui.Quiet)
	b.stop = btn(idStop, "End the blind comparison", "Nothing is counted.", "End", ui.Quiet)
	b.count = btn(idTrials, "Number of trials", "Press for another number. It is fixed once the first trial is heard.", "", ui.Plain)
	b.first = btn(idFirst, "First sound", "Press for another.", "", ui.Plain)
	b.second = btn(idSecond, "Second sound", "Press for another.", "", ui.Plain)
	for i, id := range []string{idHearFirst, idHearSecond, IDHearX} {
		b.hear[i] = ui.NewChoice("blind", id, "", "Change over as often as you like; all are equally loud.", "")
		b.hear[i].Look = ui.Tile
	}
	b.hear[2].Label, b.hear[2].Name = "X", "Listen to X"
	b.answer[0] = btn(idIsFirst, "", "Counts as your answer.", "", ui.Plain)
	b.answer[1] = btn(idIsSecond, "", "Counts as your answer.", "", ui.Plain)
	b.do = map[string]func() error{
		b.Start.ID:     b.begin,
		b.stop.ID:      b.end,
		b.count.ID:     b.otherCount,
		b.first.ID:     func() error { return b.other(0) },
		b.second.ID:    func() error { return b.other(1) },
		b.hear[0].ID:   func() error { return b.listen(0) },
		b.hear[1].ID:   func() error { return b.listen(1) },
		b.hear[2].ID:   func() error { return b.listen(2) },
		b.answer[0].ID: func() error { return b.judge(0) },
		b.answer[1].ID: func() error { return b.judge(1) },
	}
	return b
}

// Controls lists the controls in focus order.
func (b *Run) Controls() []ui.Control {
	return []ui.Control{b.Start, b.hear[0], b.hear[2], b.hear[1], b.first, b.second, b.count, b.answer[0], b.answer[1], b.stop}
}

func sourceName(l bench.Listen) string {
	switch l {
	case bench.ListenSpoken:
		return "as spoken"
	case bench.ListenMended:
		return "mended"
	}
	return bench.StripNames[l]
}

func sourceLong(l bench.Listen) string {
	switch l {
	case bench.ListenSpoken:
		return "what was spoken"
	case bench.ListenMended:
		return "the mended strip"
	}
	return "strip " + bench.StripNames[l]
}

// Sync brings the controls up to how the comparison stands.
func (b *Run) Sync() {
	ready := b.ready()
	b.Start.Hidden = b.Open
	b.Start.Disabled, b.Start.Why = !ready, "record something first: two sounds of one take are compared"
	b.Start.Label = "blind"
	if b.Open && !b.On {
		b.Start.Hidden = false
		b.Start.Label = "Begin"
	}
	b.Start.On = b.Open
	b.stop.Hidden = !b.Open
	for _, c := range []*ui.Button{b.count, b.first, b.second} {
		c.Hidden = !b.Open || b.On
	}
	for _, c := range b.hear {
		c.Hidden = !b.On
	}
	for _, c := range b.answer {
		c.Hidden = !b.On
	}
	b.count.Label, b.count.Name = fmtTrials[b.Trials], trialNames[b.Trials]
	b.first.Label, b.second.Label = sourceName(b.Pair[0]), sourceName(b.Pair[1])
	b.first.Name, b.second.Name = firstNames[b.Pair[0]], secondNames[b.Pair[1]]
	for i := range 2 {
		b.hear[i].Label, b.hear[i].Name = sourceName(b.Pair[i]), hearNames[b.Pair[i]]
		b.answer[i].Label, b.answer[i].Name = isNames[b.Pair[i]], isNames[b.Pair[i]]
	}
	for i := range b.hear {
		b.hear[i].Checked = b.On && b.at == i
	}
}

// Names are made once, so that a frame allocates nothing.
var (
	fmtTrials, trialNames                       = map[int]string{}, map[int]string{}
	firstNames, secondNames, hearNames, isNames [bench.NumListen]string
)

func init() {
	for _, n := range trialCounts {
		fmtTrials[n] = fmt.Sprintf("%d trials", n)
		trialNames[n] = fmt.Sprintf("Number of trials, %d trials", n)
	}
	for l := range bench.NumListen {
		firstNames[l] = "First sound: " + sourceLong(l)
		secondNames[l] = "Second sound: " + sourceLong(l)
		hearNames[l] = "Listen to " + sourceLong(l)
		isNames[l] = "X is " + sourceName(l)
	}
}

// Apply carries an intent out; ok is false if it is about no control of its own.
func (b *Run) Apply(it ui.Intent) (ok bool, err error) {
	do := b.do[it.ID]
	if do == nil {
		return false, nil
	}
	return true, do()
}

// ready reports whether there are sounds to be compared.
func (b *Run) ready() bool {
	t := b.s.Take()
	return t != nil && t.Done && b.s.Mode() != bench.ModeRecord
}

var errNotBlind = errors.New("no blind comparison is going on")

// begin prepares a comparison, and then begins it.
func (b *Run) begin() error {
	if !b.ready() {
		return errors.New("record something first: two sounds of one take are compared")
	}
	if b.On {
		return errors.New("a comparison is going on")
	}
	if !b.Open {
		b.Open = true
		for k := range 2 {
			if !b.s.CanHear(b.Pair[k]) {
				b.next(k)
			}
		}
		b.Moved()
		b.Say("Choose two sounds and the number of trials, then begin.")
		return nil
	}
	for _, l := range b.Pair {
		if b.Warns(l, b.run) {
			return nil
		}
	}
	return b.run()
}

// run lets the first trial be heard.
func (b *Run) run() error {
	b.On, b.done, b.right, b.X = true, 0, 0, b.Coin()
	b.held = b.s.Matched()
	b.s.SetMatched(true)
	b.s.SetLoop(true)
	b.Say(fmt.Sprintf("Trial 1 of %d: what is X?", b.Trials))
	b.Moved()
	b.choose(2)
	if b.s.Playing() {
		return nil
	}
	return b.Play()
}

// end gives a comparison up.
func (b *Run) end() error {
	if !b.Open {
		return errNotBlind
	}
	if b.On {
		b.Say(fmt.Sprintf("The comparison ended after %d of %d trials. It counts for nothing.", b.done, b.Trials))
	}
	b.Close()
	return nil
}

// Close puts the sounds back to how they were.
func (b *Run) Close() {
	if b.On {
		b.s.Stop()
		b.s.SetMatched(b.held)
		b.s.SetListen(b.Pair[0])
	}
	b.On, b.Open = false, false
	b.Moved()
}

func (b *Run) otherCount() error {
	if b.On {
		return errors.New("the number of trials is fixed")
	}
	i := slices.Index(trialCounts[:], b.Trials)
	b.Trials = trialCounts[(i+1)%len(trialCounts)]
	return nil
}

// other takes another sound as one of the pair.
func (b *Run) other(k int) error {
	if b.On || b.s.Take() == nil {
		return errors.New("the sounds are fixed")
	}
	b.next(k)
	return nil
}

func (b *Run) next(k int) {
	for {
		b.Pair[k] = (b.Pair[k] + 1) % bench.NumListen
		if b.Pair[k] != b.Pair[1-k] && b.s.CanHear(b.Pair[k]) {
			return
		}
	}
}

func (b *Run) listen(k int) error {
	if !b.On {
		return errNotBlind
	}
	b.choose(k)
	return nil
}

// choose lets one of the pair, or X, be heard; the pictures stay as they are,
// since they would tell.
func (b *Run) choose(k int) {
	b.at = k
	if k == 2 {
		k = b.X
	}
	b.s.SetListen(b.Pair[k])
}

// judge counts an answer.
func (b *Run) judge(k int) error {
	if !b.On {
		return errNotBlind
	}
	if k == b.X {
		b.right++
	}
	b.done++
	if b.done == b.Trials {
		b.Say(BlindResult(b.right, b.Trials, sourceLong(b.Pair[0]), sourceLong(b.Pair[1])))
		b.Close()
		return nil
	}
	b.X = b.Coin()
	b.Say(fmt.Sprintf("Trial %d of %d: what is X?", b.done+1, b.Trials))
	b.choose(2)
	return nil
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

// Height is what the panel needs, dp.
func (b *Run) Height(th *ui.Theme) float32 {
	return 16 + 2*max(32, th.Row(ui.Small)+10, th.Least) + 6 + th.Row(ui.Small) + 4
}

// Layout puts the panel into box.
func (b *Run) Layout(th *ui.Theme, box ink.Rect) {
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
	if b.On {
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
	b.Start.Bounds = two
}

// Draw draws the words; the controls come after.
func (b *Run) Draw(l *ink.List, th *ui.Theme) {
	kit.Panel(l, th, b.box)
	st := th.Style(ui.Small, ink.Bold, ink.Left, th.Say)
	s := b.txt.Get([6]int64{kit.Bit(b.On), int64(b.done), int64(b.Trials), int64(b.line.W), int64(th.Text * 100)}, func() string {
		if !b.On {
			return ui.Fit(st, b.line.W, "Compare blind: which two sounds, how often?", "Compare blind", "Blind")
		}
		n := fmt.Sprintf("Trial %d of %d", b.done+1, b.Trials)
		return ui.Fit(st, b.line.W, n+": which one is X?", n)
	})
	l.TextIn(b.line, s, st)
}
