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
func mend(cmd *cobra.Command, o *repairFlags, in, out string) (err error) {
	list, err := o.chain(cmd)
	if err != nil {
		return err
	}
	enc := codec.EncodingUnknown
	if o.format != "" {
		if enc, err = codec.ParseEncoding(o.format); err != nil || enc == codec.PCM32 {
			return cli.Usagef("--format: there is no %q%s", o.format, meant(o.format, []string{"pcm16", "pcm24", "float32"}, "there are "))
		}
	}
	switch {
	case !hasEnding(out, ".wav"):
		return cli.Usagef("%s does not end in .wav: a WAV file is written", out)
	case o.report != "" && !hasEnding(o.report, ".html", ".htm"):
		return cli.Usagef("--report: %s does not end in .html", o.report)
	}
	for _, p := range []string{in, o.safety, o.truth} {
		a, errA := os.Stat(p)
		b, errB := os.Stat(out)
		if errA == nil && errB == nil && os.SameFile(a, b) {
			return cli.Usagef("%s is a recording that is read; write to another file, so that the original stays", out)
		}
	}
	ctx := cmd.Context()
	w := cli.NewWatch(cmd.ErrOrStderr(), o.quiet)
	defer w.Done()

	// All inputs and outputs are tried before any work is done.
	w.Begin("reading " + in)
	r, err := sounds.OpenContext(ctx, in)
	if err != nil {
		return err
	}
	defer r.Close()
	in = r.Name()
	info := r.Info()
	for _, m := range list {
		if h, ok := m.t.(repair.HighPass); ok && h.FrequencyHz > 0.45*float64(info.Rate) {
			return cli.Usagef("--method high-pass: %g Hz is too high for %d Hz", h.FrequencyHz, info.Rate)
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
	var page *cli.OutFile
	if o.report != "" {
		if pageSet, page, err = outPlace(o.report, o.force); err != nil {
			return err
		}
		defer pageSet.Abort()
	}

	res := &repaired{In: in, Out: out, RateHz: info.Rate, Channels: info.Channels, Report: o.report, Outcome: string(repair.Nothing), Usable: true}
	if res.Before, err = metercmd.MeasureOpen(ctx, r, w); err != nil {
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
		w.Begin("reading " + name)
		t, err := load(ctx, r, w.At)
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
			return cli.Usagef("--truth %s: it has %d samples, the recording %d; both must be of one length and in step", o.truth, truth.frames, first.frames)
		}
	}
	last := first
	for i, m := range list {
		step := m.kind
		if len(list) > 1 {
			step = fmt.Sprintf("%s (%d of %d)", m.kind, i+1, len(list))
		}
		w.Begin(step)
		next := newTape(info.Channels)
		tapes = append(tapes, next)
		rep, err := (&pass{ctx: ctx, rate: info.Rate, in: last, out: next, tell: w.At}).treat(m, safety)
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
			w.Begin("comparing with " + o.truth)
			d, err := distance(ctx, truth, first, last, w.At)
			if err != nil {
				return err
			}
			db := sim.Level(d.AfterDB)
			s.AfterDB = &db
		}
		res.Steps = append(res.Steps, s)
	}
	w.Begin("writing " + out)
	if last, err = res.write(ctx, wav, last, info, enc, o.fit, &tapes, w.At); err != nil {
		return err
	}
	if truth != nil {
		w.Begin("comparing with " + o.truth)
		d, err := distance(ctx, truth, first, last, w.At)
		if err != nil {
			return err
		}
		res.Distance = &fromTruth{o.truth, sim.Level(d.BeforeDB), sim.Level(d.AfterDB), sim.Level(d.GainDB)}
	}
	if res.After, err = metercmd.Measure(ctx, wav.Staged(), false, w); err != nil {
		return err
	}
	res.After.Path = out
	res.judge(list)
	if page != nil {
		w.Begin("the report")
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
	w.Done()
	switch {
	case o.json:
		return cli.WriteJSON(cmd.OutOrStdout(), res)
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
