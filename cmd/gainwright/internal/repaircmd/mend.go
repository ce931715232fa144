package repaircmd

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/metercmd"
	"gainwright/sim"
	"gainwright/sim/meter"
	"gainwright/sim/repair"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

const (
	fitDBFS = -0.1 // where the highest peak goes when all is turned down
)

// openLike opens a second recording that must have the take's rate and length.
func openLike(ctx context.Context, path, what string, info codec.Info) (*sounds.Reader, error) {
	r, err := sounds.OpenContext(ctx, path)
	if err != nil {
		return nil, err
	}
	if i := r.Info(); i.Rate != info.Rate {
		r.Close()
		return nil, cli.Usagef("%s %s: it has %d Hz, the recording %d Hz; both must have one rate", what, path, i.Rate, info.Rate)
	} else if i.Channels != info.Channels && !(what == "--splice" && i.Channels == 1) {
		r.Close()
		return nil, cli.Usagef("%s %s: it has %s, the recording %d", what, path, cli.Counted(i.Channels, "channel", "channels"), info.Channels)
	}
	return r, nil
}

// outPlace checks where a file shall go and begins a set of files there.
func outPlace(path string, force bool) (*sounds.Outputs, *cli.OutFile, error) {
	dir, name := filepath.Split(path)
	if dir == "" {
		dir = "."
	}
	if cli.IsMissing(dir) {
		return nil, nil, cli.Usagef("%s: there is no directory %s", path, filepath.Clean(dir))
	}
	set, err := sounds.NewOutputs(dir, force)
	if err != nil {
		return nil, nil, err
	}
	f, err := cli.Create(set, name)
	if err != nil {
		set.Abort()
		return nil, nil, err
	}
	f.Path = path
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
func mend(cmd *cobra.Command, o *repairFlags, in, out string) error {
	list, err := o.chain(cmd)
	if err != nil {
		return err
	}
	enc, err := o.check(in, out)
	if err != nil {
		return err
	}
	j := &job{o: o, ctx: cmd.Context(), w: cli.NewWatch(cmd.ErrOrStderr(), o.quiet), list: list}
	defer j.close()
	if err := j.open(in, out); err != nil {
		return err
	}
	if err := j.load(); err != nil {
		return err
	}
	for i := range list {
		if err := j.treat(i); err != nil {
			return err
		}
	}
	if err := j.write(enc); err != nil {
		return err
	}
	if err := j.publish(); err != nil {
		return err
	}
	j.w.Done()
	switch {
	case o.json:
		return cli.WriteJSON(cmd.OutOrStdout(), j.res)
	case o.quiet:
		return nil
	}
	var b bytes.Buffer
	j.res.print(&b)
	_, err = cmd.OutOrStdout().Write(b.Bytes())
	return err
}

// check looks at the names and the format before any file is opened, and returns the
// format asked for, if any.
func (o *repairFlags) check(in, out string) (enc codec.Encoding, err error) {
	enc = codec.EncodingUnknown
	if o.format != "" {
		if enc, err = codec.ParseEncoding(o.format); err != nil || enc == codec.PCM32 {
			return enc, cli.Usagef("--format: there is no %q%s", o.format, meant(o.format, []string{"pcm16", "pcm24", "float32"}, "there are "))
		}
	}
	switch {
	case !hasEnding(out, ".wav"):
		return enc, cli.Usagef("%s does not end in .wav: a WAV file is written", out)
	case o.report != "" && !hasEnding(o.report, ".html", ".htm"):
		return enc, cli.Usagef("--report: %s does not end in .html", o.report)
	}
	for _, p := range []string{in, o.safety, o.truth} {
		a, errA := os.Stat(p)
		b, errB := os.Stat(out)
		if errA == nil && errB == nil && os.SameFile(a, b) {
			return enc, cli.Usagef("%s is a recording that is read; write to another file, so that the original stays", out)
		}
	}
	return enc, nil
}

// A job is one run of repair.
type job struct {
	o    *repairFlags
	ctx  context.Context
	w    *cli.Watch
	list []*method
	res  *repaired

	r             *sounds.Reader
	safety, truth second // nil inside, where none is given

	set, pageSet *sounds.Outputs // of the file and of the report
	wav, page    *cli.OutFile

	tapes       []*tape // all, to be closed
	first, last *tape   // as read, and after the treatments so far
}

// A second recording, beside the one that is mended.
type second struct {
	path string
	r    *sounds.Reader
	t    *tape
}

// close gives up what is open; files that are not published vanish.
func (j *job) close() {
	for _, t := range j.tapes {
		t.close()
	}
	for _, s := range []*sounds.Outputs{j.pageSet, j.set} {
		if s != nil {
			s.Abort()
		}
	}
	for _, r := range []*sounds.Reader{j.truth.r, j.safety.r, j.r} {
		if r != nil {
			r.Close()
		}
	}
	j.w.Done()
}

// open tries all inputs and outputs before any work is done.
func (j *job) open(in, out string) (err error) {
	o := j.o
	j.w.Begin("reading " + in)
	if j.r, err = sounds.OpenContext(j.ctx, in); err != nil {
		return err
	}
	info := j.r.Info()
	for _, m := range j.list {
		if h, ok := m.t.(repair.HighPass); ok && h.FrequencyHz > 0.45*float64(info.Rate) {
			return cli.Usagef("--method high-pass: %g Hz is too high for %d Hz", h.FrequencyHz, info.Rate)
		}
	}
	j.safety.path, j.truth.path = o.safety, o.truth
	for i, s := range []*second{&j.safety, &j.truth} {
		if s.path == "" {
			continue
		}
		if s.r, err = openLike(j.ctx, s.path, []string{"--splice", "--truth"}[i], info); err != nil {
			return err
		}
	}
	if j.set, j.wav, err = outPlace(out, o.force); err != nil {
		return err
	}
	if o.report != "" {
		if j.pageSet, j.page, err = outPlace(o.report, o.force); err != nil {
			return err
		}
	}
	j.res = &repaired{In: j.r.Name(), Out: out, RateHz: info.Rate, Channels: info.Channels, Report: o.report, Outcome: string(repair.Nothing), Usable: true}
	return nil
}

// take puts a whole file on a tape.
func (j *job) take(name string, r *sounds.Reader) (*tape, error) {
	j.w.Begin("reading " + name)
	t, err := load(j.ctx, r, j.w.At)
	if err == nil {
		j.tapes = append(j.tapes, t)
	}
	return t, err
}

// load measures the recording and puts all inputs on tapes.
func (j *job) load() (err error) {
	if j.res.Before, err = metercmd.MeasureOpen(j.ctx, j.r, j.page != nil, j.w); err != nil {
		return err
	}
	if err := j.r.Rewind(); err != nil {
		return err
	}
	if j.first, err = j.take(j.res.In, j.r); err != nil {
		return err
	}
	j.last = j.first
	j.res.Seconds = float64(j.first.frames) / float64(j.res.RateHz)
	for _, s := range []*second{&j.safety, &j.truth} {
		if s.r == nil {
			continue
		}
		if s.t, err = j.take(s.path, s.r); err != nil {
			return err
		}
	}
	if t := j.truth.t; t != nil && t.frames != j.first.frames {
		return cli.Usagef("--truth %s: it has %d samples, the recording %d; both must be of one length and in step", j.truth.path, t.frames, j.first.frames)
	}
	return nil
}

// treat applies treatment i and writes down what it did.
func (j *job) treat(i int) error {
	m := j.list[i]
	step := m.kind
	if len(j.list) > 1 {
		step = fmt.Sprintf("%s (%d of %d)", m.kind, i+1, len(j.list))
	}
	j.w.Begin(step)
	next := newTape(j.res.Channels)
	j.tapes = append(j.tapes, next)
	rep, err := (&pass{ctx: j.ctx, rate: j.res.RateHz, in: j.last, out: next, tell: j.w.At}).treat(m, j.safety.t)
	if err != nil {
		return err
	}
	if next.frames != j.last.frames {
		return fmt.Errorf("%s gave %d samples for %d", m.kind, next.frames, j.last.frames)
	}
	if j.last != j.first {
		j.last.close()
	}
	j.last = next
	s := mending{Name: m.kind, Asked: j.o.methods[i], Outcome: rep.Verdict.Outcome, Usable: rep.Verdict.Usable, Back: rep.Verdict.Back, Lost: rep.Verdict.Lost, Numbers: map[string]sim.Level{}}
	for _, n := range rep.Numbers {
		s.Numbers[n.Key] = sim.Level(n.Value)
	}
	d, err := j.distance()
	if err != nil {
		return err
	}
	if d != nil {
		s.AfterDB = &d.AfterDB
	}
	j.res.Steps = append(j.res.Steps, s)
	return nil
}

// distance measures how far the take is from the truth; nil if that is not at hand.
func (j *job) distance() (*fromTruth, error) {
	if j.truth.t == nil {
		return nil, nil
	}
	j.w.Begin("comparing with " + j.truth.path)
	d, err := distance(j.ctx, j.truth.t, j.first, j.last, j.w.At)
	if err != nil {
		return nil, err
	}
	return &fromTruth{j.truth.path, sim.Level(d.BeforeDB), sim.Level(d.AfterDB), sim.Level(d.GainDB)}, nil
}

// write writes the file and the report, and judges.
func (j *job) write(enc codec.Encoding) (err error) {
	res := j.res
	j.w.Begin("writing " + res.Out)
	if j.last, err = res.write(j.ctx, j.wav, j.last, j.r.Info(), enc, j.o.fit, &j.tapes, j.w.At); err != nil {
		return err
	}
	if res.Distance, err = j.distance(); err != nil {
		return err
	}
	if res.After, err = metercmd.Measure(j.ctx, j.wav.Staged(), j.page != nil, j.w); err != nil {
		return err
	}
	res.After.Path = res.Out
	res.judge(j.list)
	if j.page == nil {
		return nil
	}
	j.w.Begin("the report")
	b, err := res.page(j.ctx, j.first, j.last, j.truth.t)
	if err != nil {
		return err
	}
	_, err = j.page.Write(b)
	return err
}

// publish lets the files appear.
func (j *job) publish() error {
	if err := j.ctx.Err(); err != nil {
		return err
	}
	if err := j.set.Commit(); err != nil {
		return err
	}
	if j.pageSet != nil {
		if err := j.pageSet.Commit(); err != nil {
			return fmt.Errorf("%s is written, its report is not: %w", j.res.Out, err)
		}
	}
	return nil
}

// write chooses the sample format, makes the peaks fit if they must, and writes the
// file. It returns the tape that the file holds.
func (res *repaired) write(ctx context.Context, f io.WriteSeeker, t *tape, info codec.Info, enc codec.Encoding, fit bool, tapes *[]*tape, tell func(float64)) (*tape, error) {
	asked := enc != codec.EncodingUnknown
	if !asked {
		switch info.Encoding {
		case codec.PCM8, codec.PCM12, codec.PCM16:
			enc = codec.PCM16
		case codec.PCM32:
			enc = codec.PCM32
		case codec.Float32, codec.Float64:
			enc = codec.Float32
		default: // 20 and 24 bits, and what was decoded from a lossy format
			enc = codec.PCM24
		}
	}
	top, bottom, err := t.peak(ctx)
	if err != nil {
		return nil, err
	}
	most := 1.0
	if !enc.Float() {
		most = metercmd.FullScale(enc)
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
			enc = codec.Float32
		}
	}
	res.Format = enc.String()
	wav, err := codec.NewWAVWriter(f, info.Rate, t.channels, enc)
	if err != nil {
		return nil, err
	}
	if err := t.each(ctx, tell, func(x [][]float64, _ int64) error { return wav.Write(x) }); err != nil {
		return nil, err
	}
	return t, wav.Close()
}
