package twin

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"math/rand/v2"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/proof"
	"gainwright/sim/repair"
	"gainwright/sounds/codec"
	"gainwright/sounds/voice"
)

// The set-up of the scene "One file, two talkers". The converter's full scale
// is low beside the preamp's rail, which leaves the second performance room to
// differ, and the gain is one that clips a laugh.
const (
	twinSeed        = 7
	twinGain        = 50.0
	twinRange       = 24.0
	twinFullScale   = 4.0 // dBu
	twinApartDB     = 6.5
	twinNone        = 0
	twinFirst       = 0
	twinSecond      = 1
	twinFirstFile   = 2
	twinSecondFile  = 3
	twinUnknown     = 4
	twinTracks      = 5
	twinMostSeconds = 2.3
)

func twinScript() voice.Script {
	return voice.Script{{Text: "She sang.", Effort: voice.Normal}, {Do: "laugh", Effort: voice.Loud}}
}

func twinChain(gainDB float64) sim.Chain {
	c := sim.Default()
	c.Converter.FullScaleDBu = twinFullScale
	c.Preamp.GainDB = gainDB
	return c
}

// twinTreatment is something that can be done to both files.
type twinTreatment struct {
	id, name, hint string
	labels         []string // the first that fits
	t              repair.Treatment
}

func twinTreatments() []twinTreatment {
	return []twinTreatment{
		{"none", "Leave the files as they are", "", []string{"nothing"}, nil},
		{"limiter", "Limiter", "Holds peaks at −6 dBFS, looking 2 ms ahead.", []string{"limiter"},
			repair.Limit{CeilingDBFS: -6, LookAheadMS: 2, AttackMS: 1, ReleaseMS: 100}},
		{"compressor", "Compressor", "3:1 above −24 dBFS.", []string{"compressor", "compress"}, repair.DefaultCompress()},
		{"declip", "Declip", "Guesses what was cut off from what is left.", []string{"declip"}, repair.Declip{Effort: repair.Fast}},
		{"denoise", "Noise reduction", "Takes steady noise down by 15 dB.", []string{"noise reduction", "less noise"}, repair.DefaultDenoise()},
		{"deliver", "Delivery", "−19 LUFS under −1 dBTP, peaks limited by up to 6 dB.", []string{"delivery"},
			repair.Deliver{LoudnessLUFS: sim.DeliveryLUFS, CeilingDBTP: -1, LimitDB: 6}},
	}
}

// twinState is everything worked out so far: the pair, both recordings of it at
// a gain, and both of these treated.
type twinState struct {
	pair      *proof.Pair
	gain      float64
	rec       [2]*work.Recorded
	treat     int
	out       [2][]float64
	sum       [2]string // SHA-256 of the files, hexadecimal
	differing int       // samples
	apartDB   float64   // what the two files differ by, against the first's level
}

func (t *twinState) same() bool { return t != nil && t.differing == 0 && t.sum[0] == t.sum[1] }

// tally counts the answers of one kind of question.
type tally struct{ right, n int }

func (t tally) p() float64 { return meter.BinomialP(t.right, t.n) }

// Scene is "One file, two talkers": two performances that differ, the file
// that each leaves, and the question which of them a file came from.
type Scene struct {
	shell kit.Shell
	d     *kit.Deck
	w     *kit.Scope
	acts  kit.Acts
	cs    []ui.Control

	treats []twinTreatment
	gain   *ui.Knob
	treat  []*ui.Choice
	listen [twinTracks]*ui.Choice
	answer [2]*ui.Button
	reset  *ui.Button
	moment *ui.Button

	want struct {
		gain  float64
		treat int
	}
	st     *twinState
	job    *work.Task
	pace   work.Pace
	next   *twinState // what job makes
	failed string

	rnd    *rand.Rand
	drawn  int      // which of the two the question's recording came from
	tally  [2]tally // with equal files, with different ones
	status string
	strong bool

	l    twinLayout
	t    twinTexts
	show kit.Slides
}

func New(p kit.Shell) *Scene {
	s := &Scene{shell: p, treats: twinTreatments()}
	s.d = kit.NewDeck(p, "The second performance is being worked out.", "Being worked out.")
	s.w = kit.NewScope()
	s.want.gain = twinGain
	s.gain = ui.NewKnob(idGain, "Preamp gain of both recordings",
		"Both performances are recorded with it. At the gain they were made for, the files are equal; turn it down.",
		"gain of both", " dB", twinGain-twinRange, twinGain, twinGain, 1, 6, kit.KnobDBPerDP, 1)
	for i, t := range s.treats {
		c := ui.NewChoice(groupTreat, idTreat+t.id, t.name, t.hint, t.labels[0])
		c.Look = ui.Tile
		c.Checked = i == twinNone
		s.treat = append(s.treat, c)
	}
	for i, w := range [twinTracks]struct{ id, name, label string }{
		{"first", "Listen to the first performance", "first performance"},
		{"second", "Listen to the second performance", "second performance"},
		{"first_file", "Listen to the file of the first", "file of the first"},
		{"second_file", "Listen to the file of the second", "file of the second"},
		{"unknown", "Listen to the recording in question", "the recording"},
	} {
		c := ui.NewChoice(groupListen, idListen+w.id, w.name, "", w.label)
		c.Look = ui.Tile
		s.listen[i] = c
	}
	s.answer[0] = ui.NewButton(idAnswer+ordinals[0], "It came from the first performance", "", "from the first", ui.Plain, ui.NoIcon)
	s.answer[1] = ui.NewButton(idAnswer+ordinals[1], "It came from the second performance", "", "from the second", ui.Plain, ui.NoIcon)
	s.reset = ui.NewButton(idReset, "Begin the score anew", "Forgets all answers.", "Anew", ui.Quiet, ui.NoIcon)
	s.reset.Size = ui.Small
	s.moment = ui.NewButton(kit.IDScopeLoudest, "Go to where most was cut off", "Shows the moment at which the converter cut off most.", "where most was cut off", ui.Quiet, ui.NoIcon)
	s.moment.Size = ui.Small
	for _, b := range s.answer {
		b.Size = ui.Small
	}
	s.acts = s.sceneActs()
	s.sync()
	return s
}

// FootY is where the deck begins.
func (s *Scene) FootY() float32 { return s.d.Top() }

// Title is the name on the tab.
func (s *Scene) Title() string { return "One file, two talkers" }

// ID is that of the scene's tab in the mirror.
func (s *Scene) ID() string { return kit.IDTabTwin }

// Announce is the caution that waits for an answer, or the latest result.
func (s *Scene) Announce() string { return s.d.Announce(s.status) }

// Result is what came of the last step.
func (s *Scene) Result() string { return s.status }

// Controls lists the controls in focus order.
func (s *Scene) Controls() []ui.Control {
	if s.cs != nil {
		return s.cs
	}
	s.cs = append(s.cs, s.w, s.moment)
	s.cs = append(s.cs, s.gain)
	for _, c := range s.treat {
		s.cs = append(s.cs, c)
	}
	for _, c := range s.listen {
		s.cs = append(s.cs, c)
	}
	s.cs = append(s.cs, s.answer[0], s.answer[1], s.reset)
	s.cs = append(s.cs, s.d.Controls()...)
	return s.cs
}

const (
	whyTwin = "the second performance is still being worked out"
	whyAnew = "the files are being made anew"
)

func (s *Scene) sync() {
	ready := s.st != nil
	s.gain.Value = s.want.gain
	s.gain.Disabled, s.gain.Why = !ready, whyTwin
	for i, c := range s.treat {
		c.Checked = i == s.want.treat
		c.Disabled, c.Why = !ready, whyTwin
	}
	for i, c := range s.listen {
		c.Checked = s.d.At == i
		c.Disabled, c.Why = !ready, whyTwin
	}
	for _, b := range s.answer {
		b.Disabled, b.Why = !ready || s.job != nil, whyTwin
		if ready && s.job != nil {
			b.Why = whyAnew
		}
	}
	s.reset.Disabled, s.reset.Why = s.tally[0].n+s.tally[1].n == 0, "nothing was answered yet"
	s.w.Disabled, s.w.Why = !ready, whyTwin
	s.moment.Disabled, s.moment.Why = !ready, whyTwin
	s.d.Sync()
	s.show.Sync(s.Controls())
}

// Update works on in slices and takes over what is finished.
func (s *Scene) Update(in *ui.Input) bool {
	s.shell.Hear(s.d.Player)
	for _, d := range in.Drops {
		s.shell.Fail(fmt.Errorf("%s: drop it in the scene “Set the gain” or “Mend it later”", d.Name))
	}
	changed := s.work(in)
	s.sync()
	return changed || s.d.Playing()
}

// work keeps the state up with what is wanted.
func (s *Scene) work(in *ui.Input) bool {
	if s.job == nil && s.failed == "" && !s.upToDate() {
		s.begin()
	}
	if s.job == nil {
		return false
	}
	paint := s.pace.Run(s.job, in.Seconds, s.d.Playing())
	if !s.job.Finished() {
		return paint
	}
	err, next := s.job.Err, s.next
	s.job, s.next = nil, nil
	switch {
	case err != nil && s.st == nil:
		s.failed = err.Error()
		s.status = "The second performance was not found: " + s.failed
	case err != nil:
		// Given up for something newer, or a treatment that failed.
		if s.upToDateBut(next) {
			s.shell.Fail(err)
			s.want.treat = twinNone
		}
	default:
		s.applyState(next, in.Seconds)
	}
	return true
}

func (s *Scene) upToDate() bool {
	return s.st != nil && s.st.gain == s.want.gain && s.st.treat == s.want.treat
}

func (s *Scene) upToDateBut(n *twinState) bool {
	return n != nil && n.gain == s.want.gain && n.treat == s.want.treat
}

// begin starts the work from what there is to what is wanted.
func (s *Scene) begin() {
	next := &twinState{gain: s.want.gain, treat: s.want.treat}
	if s.st != nil {
		next.pair = s.st.pair
		if s.st.gain == next.gain {
			next.rec = s.st.rec
		}
	}
	s.next = next
	t := s.treats[next.treat]
	s.job = work.Start(func(h *work.Context) error { return next.make(h, t) })
	if s.st == nil {
		s.status = "The second performance is being worked out."
	}
}

// make does what is missing of t.
func (t *twinState) make(h *work.Context, treatment twinTreatment) error {
	lo := 0.0
	if t.pair == nil {
		perf, err := voice.New(twinScript(), "captain", twinSeed)
		if err != nil {
			return err
		}
		first, err := perf.Render(h, func(done, total int) { h.Report("the first performance", 0.1*float64(done)/float64(total)) })
		if err != nil {
			return err
		}
		first = first[:min(len(first), int(twinMostSeconds*bench.Rate))]
		const fade = bench.Rate / 50 // a laugh that is cut short does not click
		for i := range fade {
			first[len(first)-1-i] *= float64(i) / fade
		}
		t.pair, err = proof.Construct(h, bench.Rate, twinChain(twinGain), twinSeed, first, proof.Options{ApartDB: twinApartDB,
			Progress: func(done, total int) {
				// Few of the corrections that there is room for are needed.
				h.Report("the second performance", 0.1+0.7*(1-math.Exp(-8*float64(done)/float64(total))))
			}})
		if err != nil {
			return err
		}
		if !t.pair.Same {
			return fmt.Errorf("%d samples of the files still differ", t.pair.Differing)
		}
		lo = 0.8
	}
	if t.rec[0] == nil {
		for i, x := range [2][]float64{t.pair.First, t.pair.Second} {
			at := lo + (1-lo)*0.3*float64(i)
			r, err := work.Record(h, twinChain(t.gain), twinSeed, x, func(p float64) { h.Report("recording both", at+(1-lo)*0.3*p) })
			if err != nil {
				return err
			}
			t.rec[i] = r
		}
		lo += (1 - lo) * 0.6
	}
	enc := codec.PCM24
	for i, r := range t.rec {
		t.out[i] = r.File
		if treatment.t != nil {
			enc = codec.Float32
			mid := lo + (1-lo)*0.5*float64(i)
			y, _, err := work.Treat(h, treatment.t, r.File, h.Span("treating both", mid, mid+(1-lo)*0.5))
			if err != nil {
				return err
			}
			t.out[i] = y
		}
	}
	var own, apart float64
	for i, a := range t.out[0] {
		b := t.out[1][i]
		if a != b {
			t.differing++
		}
		own += a * a
		apart += (a - b) * (a - b)
	}
	t.apartDB = 10 * math.Log10(apart/own)
	for i, y := range t.out {
		wav, err := codec.WAVBytes(bench.Rate, [][]float64{y}, enc)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(wav)
		t.sum[i] = hex.EncodeToString(sum[:])
		if err := h.Err(); err != nil {
			return err
		}
	}
	return nil
}

// applyState takes over what was worked out, and asks anew.
func (s *Scene) applyState(t *twinState, now float64) {
	fresh := s.st == nil
	s.st = t
	if s.rnd == nil {
		s.rnd = rand.New(rand.NewPCG(math.Float64bits(now), twinSeed))
	}
	if fresh {
		s.w.Load(int64(len(t.pair.First)), t.busiest())
	}
	s.draw()
	s.strong = true
	n := len(t.out[0])
	switch {
	case t.same() && t.treat == twinNone:
		s.status = "Two performances, one file: equal in all " + kit.Grouped(n) + " samples."
	case t.same():
		s.status = "Both files treated: the results are equal to the last bit."
	case t.treat == twinNone:
		s.status = "At " + ui.Decimal(t.gain, 1) + " dB " + kit.Grouped(t.differing) + " samples differ: the files tell the two apart."
	default:
		s.status = "Both files treated: " + kit.Grouped(t.differing) + " samples of the results differ."
	}
}

// busiest is the middle of the 8 ms in which most was cut off.
func (t *twinState) busiest() int64 {
	const n = bench.Rate * 8 / 1000
	best, at, sum := 0, 0, 0
	over := func(i int) int { return int(kit.Bit(math.Abs(t.rec[0].Demand[i]) > t.rec[0].Ceiling)) }
	for i := range t.rec[0].Demand {
		sum += over(i)
		if i >= n {
			sum -= over(i - n)
		}
		if sum > best {
			best, at = sum, i-n/2
		}
	}
	return int64(at)
}

// draw picks anew which recording the question is about, and loads the sounds.
func (s *Scene) draw() {
	s.drawn = s.rnd.IntN(2)
	s.load()
}

func (s *Scene) load() {
	t := s.st
	// One gain for both performances and one for both files: what differs between
	// them is heard as it is.
	perf := bench.ListenLUFS - work.LoudnessLUFS(t.pair.First)
	file := bench.ListenLUFS - work.LoudnessLUFS(t.out[0])
	clipped := func(i int) bool { return t.rec[i].Over > 0 }
	s.d.Load(false,
		kit.NewTrack("first performance", t.pair.First, perf, false),
		kit.NewTrack("second performance", t.pair.Second, perf, false),
		kit.NewTrack("file of the first", t.out[0], file, clipped(0)),
		kit.NewTrack("file of the second", t.out[1], file, clipped(1)),
		kit.NewTrack("the recording", t.out[s.drawn], file, clipped(s.drawn)))
}

// kind is which tally counts: 0 for equal files, 1 for different ones.
func (s *Scene) kind() int {
	if s.st.same() {
		return 0
	}
	return 1
}

// Apply carries an intent out.
func (s *Scene) Apply(it ui.Intent) error {
	err := s.apply(it)
	s.sync()
	return err
}

// renew gives up work on what is no longer wanted.
func (s *Scene) renew() {
	if s.job != nil && !s.upToDateBut(s.next) {
		s.job.Cancel()
	}
}

var ordinals = [2]string{"first", "second"}

func (s *Scene) judge(said int) {
	t := &s.tally[s.kind()]
	t.n++
	right := said == s.drawn
	verdict := "not so"
	if right {
		t.right++
		verdict = "right"
	}
	s.status = fmt.Sprintf("It came from the %s: %s. Another one is drawn.", ordinals[s.drawn], verdict)
	s.strong = true
	s.draw()
}

// Nodes tells what the pictures show.
func (s *Scene) Nodes(dst []ui.Node) []ui.Node {
	dst = s.show.Nodes(dst)
	return append(dst,
		ui.Node{ID: kit.IDStatus, Role: ui.RoleStatus, Name: "Result", Value: s.shell.Announce(), Bounds: s.d.Result},
		ui.Node{ID: idFiles, Role: ui.RoleText, Name: "The two files", Value: s.fileWords(), Bounds: s.l.verdict},
		ui.Node{ID: idPicture, Role: ui.RoleImage, Name: "Both performances and both files", Value: s.pictureWords(), Bounds: s.l.picture},
		ui.Node{ID: idScore, Role: ui.RoleText, Name: "Score", Value: s.scoreWords(), Bounds: s.l.score},
	)
}

func (s *Scene) fileWords() string {
	t := s.st
	if t == nil {
		return whyTwin
	}
	what := "The files"
	if t.treat != twinNone {
		what = "The files after " + s.treats[t.treat].name
	}
	sums := ", SHA-256 " + t.sum[0][:12] + " and " + t.sum[1][:12]
	if t.same() {
		return what + " are equal to the last bit" + sums
	}
	return fmt.Sprintf("%s differ in %d of %d samples, by %s dB of their level%s", what, t.differing, len(t.out[0]), ui.Decimal(t.apartDB, 1), sums)
}

func (s *Scene) pictureWords() string {
	t := s.st
	if t == nil {
		return whyTwin
	}
	c := t.rec[0].Ceiling
	return fmt.Sprintf("Around %s ms the first performance asks the converter for %s dBFS, the second for %s dBFS; the converter ends at %s dBFS. "+
		"%d of %d samples are free; there the two are %s dB apart in level.",
		ui.Decimal(s.w.MS(), 0), ui.Decimal(kit.Decibel(s.w.Peak(t.rec[0].Demand)), 1), ui.Decimal(kit.Decibel(s.w.Peak(t.rec[1].Demand)), 1),
		ui.Decimal(kit.Decibel(c), 1), t.pair.Free, t.pair.Total, ui.Decimal(math.Abs(t.pair.LevelDB), 1))
}

func (s *Scene) scoreWords() string {
	say := func(t tally, what string) string {
		if t.n == 0 {
			return what + ": nothing answered yet"
		}
		return fmt.Sprintf("%s: %d of %d right, %s", what, t.right, t.n, pValue(t.p()))
	}
	return say(s.tally[0], "equal files") + "; " + say(s.tally[1], "different files")
}

// pValue writes a probability.
func pValue(p float64) string {
	if p < 0.0005 {
		return "p < 0.001"
	}
	return "p = " + ui.Decimal(p, 3)
}

// Scroll moves the column.
func (s *Scene) Scroll(dy float32) {
	if s.l.Scrolled(dy) {
		s.Layout(s.shell.Theme(), s.l.Area)
	}
}

// Reveal scrolls until r can be seen.
func (s *Scene) Reveal(r ink.Rect) {
	if dy := s.l.Reveal(r); dy != 0 {
		s.Scroll(dy)
	}
}
