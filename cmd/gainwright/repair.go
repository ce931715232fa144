package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/repair"
	"gainwright/sounds"
)

// repairFlags are what repair is asked.
type repairFlags struct {
	methods                        []string
	format, safety, truth, quality string
	report                         string
	fit, list                      bool
	force, json, quiet             bool
}

func newRepairCmd() *cobra.Command {
	var o repairFlags
	cmd := &cobra.Command{
		Use:   "repair --method NAME... IN OUT",
		Short: "Mend a recording, and say honestly what came back",
		Long: `Mend a recording: treatments one after the other, in the order given. Each may be
given settings, NAME:KEY=VALUE,KEY=VALUE; --list explains them all.

IN is WAV, FLAC, Ogg Vorbis or MP3, 8 to 192 kHz, one or two channels; - is the
standard input. OUT is a WAV file. The two channels are declipped each by itself; limiter and compressor turn both
by one gain. IN is never changed, and OUT appears whole or not at all.

OUT gets the sample format of IN, unless peaks now exceed full scale, which only
floating point holds: then it is float32. With --fit, or in an integer --format, the
whole is turned down instead so that its highest peak fits at −0.1 dBFS; that is said.

What was clipped is gone: declip guesses, splice takes it from a second recording,
everything else only changes levels. Where the truth is at hand, as for a simulated
take, --truth measures how far the file is from it before and after.

Length does not matter: what does not fit in memory passes through temporary files,
which need 16 bytes a sample and channel (and more with --truth, --splice or delivery).
Detection and splicing of more than a minute go stretch by stretch, so a ceiling that
is barely touched may be told less surely than in one piece.

Clipped and restored material can be loud: turn the volume down before you play it.`,
		Example: `  gainwright repair --method declip interview.wav mended.wav
  gainwright repair --method declip --quality fast --fit interview.wav mended.wav
  gainwright repair --method splice --splice safety.wav interview.wav mended.wav
  gainwright repair --method high-pass:frequency_hz=90 --method noise-reduction \
      --method delivery:limit_db=6 --report mended.html low.wav mended.wav
  gainwright repair --list`,
		Args: func(cmd *cobra.Command, a []string) error {
			if o.list {
				return args(cobra.NoArgs, "--list wants no files")(cmd, a)
			}
			return args(cobra.ExactArgs(2), "wants a recording and the name of the file to write")(cmd, a)
		},
		RunE: func(cmd *cobra.Command, a []string) error {
			if o.list {
				if o.json {
					return writeJSON(cmd.OutOrStdout(), struct {
						Methods []methodKind `json:"methods"`
					}{methodKinds})
				}
				var b bytes.Buffer
				listMethods(&b)
				_, err := cmd.OutOrStdout().Write(b.Bytes())
				return err
			}
			return mend(cmd, &o, a[0], a[1])
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&o.methods, "method", nil, "a treatment, `NAME` or NAME:KEY=VALUE,…; several in their order")
	f.BoolVar(&o.list, "list", false, "explain the treatments and their settings")
	f.StringVar(&o.quality, "quality", "best", "declip's `EFFORT`: fast, balanced or best")
	f.StringVar(&o.safety, "splice", "", "the safety track for splice, a recording `FILE` made with less gain")
	f.StringVar(&o.format, "format", "", "sample `FORMAT` of OUT: pcm16, pcm24 or float32")
	f.BoolVar(&o.fit, "fit", false, "turn the whole down if its peaks exceed full scale")
	f.StringVar(&o.truth, "truth", "", "what it ought to be, where a `FILE` of that is at hand: measures the distance")
	f.StringVar(&o.report, "report", "", "write a page with readings, a picture and excerpts to `FILE.html`")
	f.BoolVar(&o.force, "force", false, "replace files that are there")
	f.BoolVar(&o.json, "json", false, "print one JSON object on the standard output, and nothing else")
	f.BoolVar(&o.quiet, "quiet", false, "print nothing but errors")
	return cmd
}

// chain reads the methods and checks that the options go with them.
func (o *repairFlags) chain(cmd *cobra.Command) ([]*method, error) {
	if len(o.methods) == 0 {
		return nil, usagef("no --method is given: there are %s; gainwright repair --list explains them", strings.Join(methodNames(), ", "))
	}
	effort, err := repair.ParseEffort(o.quality)
	if err != nil {
		return nil, usagef("--quality: there is no %q%s", o.quality, meant(o.quality, []string{"fast", "balanced", "best"}, "there are "))
	}
	var list []*method
	declips, splices := false, false
	for _, text := range o.methods {
		m, err := parseMethod(text)
		if err != nil {
			return nil, err
		}
		switch t := m.t.(type) {
		case repair.Declip:
			declips = true
			if !m.given["effort"] {
				t.Effort = effort
				m.t = t
			}
		case repair.Splice:
			splices = true
		}
		list = append(list, m)
	}
	switch {
	case cmd.Flags().Changed("quality") && !declips:
		return nil, usagef("--quality is for declip, which is not among the methods")
	case splices && o.safety == "":
		return nil, usagef("--method splice needs the safety track: --splice FILE")
	case !splices && o.safety != "":
		return nil, usagef("--splice %s: splice is not among the methods", o.safety)
	}
	return list, nil
}

const (
	fitDBFS = -0.1 // where the highest peak goes when all is turned down
)

// repaired is the JSON of repair.
type repaired struct {
	In       string    `json:"in"`
	Out      string    `json:"out"`
	Format   string    `json:"format"`
	RateHz   int       `json:"rate_hz"`
	Channels int       `json:"channels"`
	Seconds  float64   `json:"seconds"`
	Steps    []mending `json:"treatments"`
	// FitDB is the gain that made the peaks fit, 0 for none.
	FitDB    sim.Level  `json:"fit_gain_db"`
	Outcome  string     `json:"outcome"`
	Usable   bool       `json:"usable"`
	Verdict  []string   `json:"verdict"`
	Distance *fromTruth `json:"distance,omitempty"`
	Before   *measured  `json:"before"`
	After    *measured  `json:"after"`
	Report   string     `json:"report,omitempty"`

	caution string
}

type mending struct {
	Name    string               `json:"treatment"`
	Asked   string               `json:"asked"`
	Outcome repair.Outcome       `json:"outcome"`
	Usable  bool                 `json:"usable"`
	Back    string               `json:"back"`
	Lost    string               `json:"lost"`
	Numbers map[string]sim.Level `json:"numbers"`
	// AfterDB is how far the take is from the truth after this treatment, the
	// voice over what differs, where the truth is at hand.
	AfterDB *sim.Level `json:"after_db,omitempty"`
}

type fromTruth struct {
	Path     string    `json:"truth"`
	BeforeDB sim.Level `json:"before_db"`
	AfterDB  sim.Level `json:"after_db"`
	GainDB   sim.Level `json:"gain_db"`
}

// openLike opens a second recording that must have the take's rate and length.
func openLike(ctx context.Context, path, what string, info sounds.Info) (*sounds.Reader, error) {
	r, err := sounds.OpenContext(ctx, path)
	if err != nil {
		return nil, err
	}
	if i := r.Info(); i.Rate != info.Rate {
		r.Close()
		return nil, usagef("%s %s: it has %d Hz, the recording %d Hz; both must have one rate", what, path, i.Rate, info.Rate)
	} else if i.Channels != info.Channels && !(what == "--splice" && i.Channels == 1) {
		r.Close()
		return nil, usagef("%s %s: it has %s, the recording %d", what, path, counted(i.Channels, "channel", "channels"), info.Channels)
	}
	return r, nil
}

// outPlace checks where a file shall go and begins a set of files there.
func outPlace(path string, force bool) (*sounds.Outputs, *outFile, error) {
	dir, name := filepath.Split(path)
	if dir == "" {
		dir = "."
	}
	if isMissing(dir) {
		return nil, nil, usagef("%s: there is no directory %s", path, filepath.Clean(dir))
	}
	set, err := sounds.NewOutputs(dir, force)
	if err != nil {
		return nil, nil, err
	}
	f, err := create(set, name)
	if err != nil {
		set.Abort()
		return nil, nil, err
	}
	f.path = path
	return set, f, nil
}

func hasEnding(path string, endings ...string) bool {
	ext := strings.ToLower(filepath.Ext(path))
	for _, e := range endings {
		if ext == e && len(filepath.Base(path)) > len(e) {
			return true
		}
	}
	return false
}

// mend is the command.
func mend(cmd *cobra.Command, o *repairFlags, in, out string) (err error) {
	list, err := o.chain(cmd)
	if err != nil {
		return err
	}
	enc := sounds.EncodingUnknown
	if o.format != "" {
		if enc, err = sounds.ParseEncoding(o.format); err != nil || enc == sounds.PCM32 {
			return usagef("--format: there is no %q%s", o.format, meant(o.format, []string{"pcm16", "pcm24", "float32"}, "there are "))
		}
	}
	switch {
	case !hasEnding(out, ".wav"):
		return usagef("%s does not end in .wav: a WAV file is written", out)
	case o.report != "" && !hasEnding(o.report, ".html", ".htm"):
		return usagef("--report: %s does not end in .html", o.report)
	}
	for _, p := range []string{in, o.safety, o.truth} {
		a, errA := os.Stat(p)
		b, errB := os.Stat(out)
		if errA == nil && errB == nil && os.SameFile(a, b) {
			return usagef("%s is a recording that is read; write to another file, so that the original stays", out)
		}
	}
	ctx := cmd.Context()
	w := newWatch(cmd.ErrOrStderr(), o.quiet)
	defer w.done()

	// All inputs and outputs are tried before any work is done.
	w.begin("reading " + in)
	r, err := sounds.OpenContext(ctx, in)
	if err != nil {
		return err
	}
	defer r.Close()
	in = r.Name()
	info := r.Info()
	for _, m := range list {
		if h, ok := m.t.(repair.HighPass); ok && h.FrequencyHz > 0.45*float64(info.Rate) {
			return usagef("--method high-pass: %g Hz is too high for %d Hz", h.FrequencyHz, info.Rate)
		}
	}
	var second [2]*sounds.Reader
	for i, p := range []string{o.safety, o.truth} {
		if p == "" {
			continue
		}
		if second[i], err = openLike(ctx, p, []string{"--splice", "--truth"}[i], info); err != nil {
			return err
		}
		defer second[i].Close()
	}
	set, wav, err := outPlace(out, o.force)
	if err != nil {
		return err
	}
	defer set.Abort()
	var pageSet *sounds.Outputs
	var page *outFile
	if o.report != "" {
		if pageSet, page, err = outPlace(o.report, o.force); err != nil {
			return err
		}
		defer pageSet.Abort()
	}

	res := &repaired{In: in, Out: out, RateHz: info.Rate, Channels: info.Channels, Report: o.report, Outcome: string(repair.Nothing), Usable: true}
	if res.Before, err = measureOpen(ctx, r, w); err != nil {
		return err
	}
	if err := r.Rewind(); err != nil {
		return err
	}
	var tapes []*tape
	defer func() {
		for _, t := range tapes {
			t.close()
		}
	}()
	take := func(name string, r *sounds.Reader) (*tape, error) {
		w.begin("reading " + name)
		t, err := load(ctx, r, w.at)
		if err == nil {
			tapes = append(tapes, t)
		}
		return t, err
	}
	first, err := take(in, r)
	if err != nil {
		return err
	}
	res.Seconds = float64(first.frames) / float64(info.Rate)
	var safety, truth *tape
	if second[0] != nil {
		if safety, err = take(o.safety, second[0]); err != nil {
			return err
		}
	}
	if second[1] != nil {
		if truth, err = take(o.truth, second[1]); err != nil {
			return err
		}
		if truth.frames != first.frames {
			return usagef("--truth %s: it has %d samples, the recording %d; both must be of one length and in step", o.truth, truth.frames, first.frames)
		}
	}
	last := first
	for i, m := range list {
		step := m.kind
		if len(list) > 1 {
			step = fmt.Sprintf("%s (%d of %d)", m.kind, i+1, len(list))
		}
		w.begin(step)
		next := newTape(info.Channels)
		tapes = append(tapes, next)
		rep, err := (&pass{ctx: ctx, rate: info.Rate, in: last, out: next, tell: w.at}).treat(m, safety)
		if err != nil {
			return err
		}
		if next.frames != last.frames {
			return fmt.Errorf("%s gave %d samples for %d", m.kind, next.frames, last.frames)
		}
		if last != first {
			last.close()
		}
		last = next
		s := mending{Name: m.kind, Asked: o.methods[i], Outcome: rep.Verdict.Outcome, Usable: rep.Verdict.Usable, Back: rep.Verdict.Back, Lost: rep.Verdict.Lost, Numbers: map[string]sim.Level{}}
		for _, n := range rep.Numbers {
			s.Numbers[n.Key] = sim.Level(n.Value)
		}
		if truth != nil {
			w.begin("comparing with " + o.truth)
			d, err := distance(ctx, truth, first, last, w.at)
			if err != nil {
				return err
			}
			db := sim.Level(d.AfterDB)
			s.AfterDB = &db
		}
		res.Steps = append(res.Steps, s)
	}
	w.begin("writing " + out)
	if last, err = res.write(ctx, wav, last, info, enc, o.fit, &tapes, w.at); err != nil {
		return err
	}
	if truth != nil {
		w.begin("comparing with " + o.truth)
		d, err := distance(ctx, truth, first, last, w.at)
		if err != nil {
			return err
		}
		res.Distance = &fromTruth{o.truth, sim.Level(d.BeforeDB), sim.Level(d.AfterDB), sim.Level(d.GainDB)}
	}
	if res.After, err = measure(ctx, wav.staged(), false, w); err != nil {
		return err
	}
	res.After.Path = out
	res.judge(list)
	if page != nil {
		w.begin("the report")
		b, err := res.page(ctx, first, last, truth)
		if err != nil {
			return err
		}
		if _, err := page.Write(b); err != nil {
			return err
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := set.Commit(); err != nil {
		return err
	}
	if pageSet != nil {
		if err := pageSet.Commit(); err != nil {
			return fmt.Errorf("%s is written, its report is not: %w", out, err)
		}
	}
	w.done()
	switch {
	case o.json:
		return writeJSON(cmd.OutOrStdout(), res)
	case o.quiet:
		return nil
	}
	var b bytes.Buffer
	res.print(&b)
	_, err = cmd.OutOrStdout().Write(b.Bytes())
	return err
}

// write chooses the sample format, makes the peaks fit if they must, and writes the
// file. It returns the tape that the file holds.
func (res *repaired) write(ctx context.Context, f io.WriteSeeker, t *tape, info sounds.Info, enc sounds.Encoding, fit bool, tapes *[]*tape, tell func(float64)) (*tape, error) {
	asked := enc != sounds.EncodingUnknown
	if !asked {
		switch info.Encoding {
		case sounds.PCM8, sounds.PCM12, sounds.PCM16:
			enc = sounds.PCM16
		case sounds.PCM32:
			enc = sounds.PCM32
		case sounds.Float32, sounds.Float64:
			enc = sounds.Float32
		default: // 20 and 24 bits, and what was decoded from a lossy format
			enc = sounds.PCM24
		}
	}
	top, bottom, err := t.peak(ctx)
	if err != nil {
		return nil, err
	}
	most := 1.0
	if !enc.Float() {
		most = fullScale(enc)
	}
	if top > most || bottom < -1 {
		switch {
		case fit || asked && !enc.Float():
			peak := max(top, -bottom)
			g := sim.DB(fitDBFS).Lin() / peak
			res.FitDB = sim.Level(meter.DB(g))
			down := newTape(t.channels)
			*tapes = append(*tapes, down)
			p := &pass{ctx: ctx, rate: info.Rate}
			if err := p.scale(t, down, g, nil); err != nil {
				return nil, err
			}
			t = down
		default:
			enc = sounds.Float32
		}
	}
	res.Format = enc.String()
	wav, err := sounds.NewWAVWriter(f, info.Rate, t.channels, enc)
	if err != nil {
		return nil, err
	}
	if err := t.each(ctx, tell, func(x [][]float64, _ int64) error { return wav.Write(x) }); err != nil {
		return nil, err
	}
	return t, wav.Close()
}

// clippedTake tells whether tops were cut off.
func (m *measured) clippedTake() bool { return m.lost() != nil || m.MeterOvers > 0 }

// judge puts all together in plain words.
func (res *repaired) judge(list []*method) {
	say := func(format string, a ...any) { res.Verdict = append(res.Verdict, fmt.Sprintf(format, a...)) }
	worst := []repair.Outcome{repair.Nothing, repair.Done, repair.Partly, repair.EmptyTake, repair.Hopeless}
	at, mends, shaped := 0, false, ""
	known := sim.Level(math.NaN()) // distance before anything was shaped
	for i, s := range res.Steps {
		for k, o := range worst {
			if o == s.Outcome {
				at = max(at, k)
			}
		}
		res.Usable = res.Usable && s.Usable
		switch list[i].t.(type) {
		case repair.Declip, repair.Splice:
			mends = true
		case repair.HighPass, repair.Denoise, repair.Limit, repair.Compress, repair.Deliver:
			shaped = s.Name
		}
		if shaped == "" && s.AfterDB != nil {
			known = *s.AfterDB
		}
		text := sentence(s.Back, s.Lost)
		if len(res.Steps) > 1 {
			text = s.Name + ": " + text
			if s.AfterDB != nil {
				text += " " + differs("Then", float64(*s.AfterDB))
			}
		}
		say("%s", text)
	}
	res.Outcome = string(worst[at])
	if !mends && res.Before.clippedTake() {
		res.Usable = false
		say("The recording was clipped before, and is clipped still: none of these treatments puts back what was cut off. declip guesses it, splice takes it from a second recording.")
	}
	if d := res.Distance; d != nil {
		end, when := float64(d.AfterDB), ""
		if mended := float64(known); shaped != "" && !math.IsNaN(mended) {
			end, when = mended, ", as mended"
		}
		dist := repair.Distance{BeforeDB: float64(d.BeforeDB), AfterDB: end, GainDB: end - float64(d.BeforeDB)}
		if math.IsInf(dist.BeforeDB, 1) && math.IsInf(end, 1) {
			dist.GainDB = 0
		}
		v := dist.Verdict()
		say("Against the truth%s: %s", when, v.String())
		if v.Outcome != repair.EmptyTake && (shaped == "" || when != "") {
			res.Usable = v.Usable // what is known goes before what is guessed
		}
		if shaped != "" {
			text := differs("At the end", float64(d.AfterDB))
			if finite(d.AfterDB) {
				text += " That counts what a treatment does on purpose, too: a high-pass turns the phase of low sounds, levels are moved, noise is taken away."
			}
			say("%s", text)
		}
	}
	switch {
	case res.Outcome == string(repair.EmptyTake):
		res.Usable = false
	case res.Usable && res.Distance == nil:
		say("Usable, as far as the file alone can tell. Listen to the loudest places before you rely on it.")
	case res.Usable:
		say("Usable: what is left of the damage lies well below the voice.")
	case mends:
		say("Not usable where it matters, unless there is nothing else: record it again with less gain if that can be done.")
	default:
		say("Not mended.")
	}
	switch {
	case res.FitDB != 0:
		say("Turned down by %s as a whole, so that the highest peak fits at %s.", picture.DB(-float64(res.FitDB), "dB"), picture.DB(fitDBFS, "dBFS"))
	case res.After.AboveFullScale > 0:
		say("Peaks exceed full scale by %s. The file holds them, as %s; a player does not: turn it down by that much or more before it is played or made an integer file, or use --fit.",
			picture.DB(float64(res.After.PeakDBFS), "dB"), res.Format)
	}
	if res.Before.clippedTake() {
		res.caution = "Mind your ears: clipped material sounds harsh, and restored peaks are louder. Turn the volume down before you play, and up slowly."
	}
}

// differs says how far from the truth a take is; sdr may be infinite or undefined.
func differs(when string, sdr float64) string {
	switch {
	case math.IsNaN(sdr):
		return when + " there is no voice in the truth to compare with."
	case math.IsInf(sdr, 1):
		return when + " nothing differs from the truth but, perhaps, the level."
	case math.IsInf(sdr, -1):
		return when + " nothing is left of the truth."
	}
	return fmt.Sprintf("%s the voice lies %s above what differs from the truth.", when, picture.DB(sdr, "dB"))
}

// rows are the readings before and after.
func (res *repaired) rows() [][3]string {
	var out [][3]string
	b, a := res.Before.rows(), res.After.rows()
	after := map[string]string{}
	for _, r := range a {
		after[r[0]] = r[1]
	}
	seen := map[string]bool{}
	for _, r := range b {
		v, ok := after[r[0]]
		if !ok {
			v = "0"
		}
		seen[r[0]] = true
		out = append(out, [3]string{r[0], r[1], v})
	}
	for _, r := range a {
		if !seen[r[0]] {
			out = append(out, [3]string{r[0], "0", r[1]})
		}
	}
	if d := res.Distance; d != nil {
		out = append(out, [3]string{"voice over distortion", picture.DB(float64(d.BeforeDB), "dB"), picture.DB(float64(d.AfterDB), "dB")})
	}
	return out
}

func (res *repaired) print(w io.Writer) {
	if res.caution != "" {
		fmt.Fprintln(w, wrap(res.caution, 78)+"\n")
	}
	fmt.Fprintf(w, "%s: %s\n\n", sounds.Shown(res.In), res.Before.facts())
	rows := append([][3]string{{"", "before", "after"}}, res.rows()...)
	var wide [3]int
	for _, r := range rows {
		for i := range r {
			wide[i] = max(wide[i], runes(r[i]))
		}
	}
	for _, r := range rows {
		fmt.Fprintln(w, strings.TrimRight(r[0]+strings.Repeat(" ", wide[0]-runes(r[0]))+"  "+left(r[1], wide[1])+"  "+left(r[2], wide[2]), " "))
	}
	fmt.Fprintln(w)
	for _, v := range res.Verdict {
		fmt.Fprintln(w, wrap(v, 78))
	}
	fmt.Fprintf(w, "\nWritten: %s (%s)", sounds.Shown(res.Out), res.Format)
	if res.Report != "" {
		fmt.Fprintf(w, ", %s (open it in a browser)", sounds.Shown(res.Report))
	}
	fmt.Fprintln(w)
}

// worstPlaces are the samples at which a repair changed most, and the loudest one
// away from there, with the channel.
func worstPlaces(ctx context.Context, before, after *tape, rate int) (places [][2]int64, err error) {
	type peak struct {
		at, ch int64
		v      float64
	}
	// A peak a second, of the change and of the level.
	n := int(after.frames/int64(rate)) + 1
	diff, loud := make([]peak, n), make([]peak, n)
	// A change of level is no change of the wave.
	var bb, ba float64
	var y [][]float64
	for round := range 2 {
		g := 1.0
		if bb > 0 && ba > 0 {
			g = ba / bb
		}
		err := after.each(ctx, nil, func(x [][]float64, at int64) error {
			var err error
			if y, err = before.read(y, at, at+int64(len(x[0]))); err != nil {
				return err
			}
			for c := range x {
				for i, v := range x[c] {
					if round == 0 {
						bb += y[c][i] * y[c][i]
						ba += y[c][i] * v
						continue
					}
					p := at + int64(i)
					k := p / int64(rate)
					if d := math.Abs(v - g*y[c][i]); d > diff[k].v {
						diff[k] = peak{p, int64(c), d}
					}
					if d := math.Abs(v); d > loud[k].v {
						loud[k] = peak{p, int64(c), d}
					}
				}
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	best := func(list []peak, away int64) peak {
		var b peak
		for _, p := range list {
			if p.v > b.v && (away < 0 || max(p.at-away, away-p.at) > int64(rate)/10) {
				b = p
			}
		}
		return b
	}
	one := best(diff, -1)
	if one.v == 0 {
		one = best(loud, -1)
	}
	if one.v == 0 {
		return nil, nil
	}
	places = append(places, [2]int64{one.at, one.ch})
	if two := best(loud, one.at); two.v > 0 {
		places = append(places, [2]int64{two.at, two.ch})
	}
	return places, nil
}
