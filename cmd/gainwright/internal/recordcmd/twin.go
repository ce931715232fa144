package recordcmd

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/proof"
	"gainwright/sounds"
	"gainwright/sounds/codec"
	"gainwright/sounds/scenario"
)

// longestTwin bounds what is held in memory at once.
const longestTwinS = 180

func NewTwin() *cobra.Command {
	var (
		set cli.Settings
		out cli.OutputFlags
		one string
	)
	cmd := &cobra.Command{
		Use:   "twin [SCENARIO]",
		Short: "Make two different performances that leave one identical file",
		Long: `Make two different performances that leave one identical file.

Where a take went over the converter's full scale, the file holds the last code,
whatever the talker did. twin uses that freedom: it constructs a second performance,
in pressure at the talker, that differs from the scenario's where the converter ran
out, and that leaves the same file to the last bit through the same chain. So no
software can know from the file which of the two was recorded.

Without a scenario it is ` + scenario.DefaultName + ` on a recorder that reaches
full scale 6 dB earlier, at +4 dBu, with 6 dB less gain: the same is clipped, and
the preamp has 16 dB to go before its rail, room enough for a second performance
that is 6 dB louder.

Written are both performances (first.wav, second.wav: one scale for both, so that
nothing is clipped), the file each of them leaves (first-recorded.wav,
second-recorded.wav), a picture and the numbers (twin.png, twin.json). Then both
are recorded again with 24 dB less gain and with the limiter before the converter:
the files differ.`,
		Example: `  gainwright twin
  gainwright twin captain-laughs --gain 50 --out twin
  gainwright twin mine.yaml --strip A --format pcm16 --json`,
		Args: cli.Args(cobra.MaximumNArgs(1), "takes one scenario at most"),
		RunE: func(cmd *cobra.Command, a []string) error {
			if err := out.Check(); err != nil {
				return err
			}
			name := scenario.DefaultName
			if len(a) == 1 {
				name = a[0]
			}
			sc, err := set.Load(name)
			if err != nil {
				return err
			}
			if len(a) == 0 && sc.Fit == nil {
				sc.Each(roomForTwin)
			}
			if err := set.Apply(sc); err != nil {
				return err
			}
			st := &sc.Strips[0]
			if one != "" {
				if st = sc.Strip(one); st == nil {
					return cli.Usagef("--strip: there is no strip %q: there are %s", one, strings.Join(sc.StripNames(), ", "))
				}
			}
			return twin(cmd, sc, *st, &out)
		},
	}
	cmd.Flags().StringVar(&one, "strip", "", "which strip of the scenario: its `NAME` (the first)")
	set.AddTo(cmd)
	set.AddStrip(cmd)
	out.AddTo(cmd, "`DIR` for the files (a new one, twin-1, twin-2, …)")
	return cmd
}

// roomForTwin lowers the converter's full scale to +4 dBu, and the gain with it.
// Where the rail leaves less room than the usual 10 dB of a handheld recorder, a
// deeply clipped laugh has no second performance that is 6 dB louder.
func roomForTwin(c *sim.Chain) {
	const fullScaleDBu = 4
	c.Preamp.GainDB -= c.Converter.FullScaleDBu - fullScaleDBu
	c.Converter.FullScaleDBu = fullScaleDBu
}

// twinResult is the JSON of twin.
type twinResult struct {
	Title        string            `json:"title"`
	Seed         uint64            `json:"seed"`
	RateHz       int               `json:"rate_hz"`
	Same         bool              `json:"same"`
	Samples      int               `json:"samples"`
	Differing    int               `json:"differing_samples"`
	Free         int               `json:"free_samples"`
	LevelDB      sim.Level         `json:"level_apart_db"`
	DifferenceDB sim.Level         `json:"difference_db"`
	Correlation  sim.Level         `json:"correlation"`
	ResidualLSB  sim.Level         `json:"residual_lsb"`
	Corrections  int               `json:"corrections"`
	Passages     []twinPassage     `json:"passages"`
	SHA256       map[string]string `json:"sha256"`
	// How many samples of the two files differ with a change of the set-up.
	With24DBLess  int               `json:"differing_with_24_db_less_gain"`
	LimiterBefore int               `json:"differing_with_limiter_before"`
	ScalePerPa    float64           `json:"performance_full_scale_per_pa"`
	Settings      sim.Chain         `json:"settings"`
	Files         map[string]string `json:"files,omitempty"`
}

type twinPassage struct {
	StartS float64 `json:"start_s"`
	EndS   float64 `json:"end_s"`
}

func twin(cmd *cobra.Command, sc *scenario.Scenario, st scenario.Strip, out *cli.OutputFlags) error {
	dir := out.Dir
	if dir == "" {
		dir = cli.FreeDir("twin")
	}
	outs, err := cli.OpenOutputs(dir, out.Force)
	if err != nil {
		return err
	}
	defer outs.Abort()
	ctx := cmd.Context()
	w := cli.NewWatch(cmd.ErrOrStderr(), out.Quiet)
	defer w.Done()
	w.Begin("the first performance")
	perf, err := sc.Open(ctx, w.At)
	if err != nil {
		return err
	}
	defer perf.Close()
	first, err := readPerformance(ctx, perf, w)
	if err != nil {
		return err
	}
	w.Begin("the second performance")
	pair, err := proof.Construct(ctx, perf.Rate, st.Chain, sc.Seed, first, proof.Options{
		Moves:    perf.Moves,
		Progress: func(done, total int) { w.At(float64(done) / float64(total)) },
	})
	switch {
	case errors.Is(err, proof.ErrKept), errors.Is(err, proof.ErrBefore), errors.Is(err, proof.ErrBent):
		return cli.Usagef("strip %s: %v", st.Name, err)
	case err != nil:
		return err
	}

	t := &twins{ctx: ctx, w: w, outs: outs, sc: sc, chain: st.Chain, perf: perf, first: first, pair: pair}
	t.sum()
	if err := t.writePerformances(); err != nil {
		return err
	}
	if err := t.recordBoth(); err != nil {
		return err
	}
	if err := t.recordOtherwise(); err != nil {
		return err
	}
	if err := t.draw(out.Picture); err != nil {
		return err
	}
	r := &t.r
	js, err := outs.Create("twin.json")
	if err != nil {
		return err
	}
	if err := cli.WriteJSON(js, r); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := outs.Commit(); err != nil {
		return err
	}
	w.Done()
	switch {
	case out.JSON:
		r.Files = cli.ListFiles(outs)
		return cli.WriteJSON(cmd.OutOrStdout(), r)
	case out.Quiet:
		return nil
	}
	_, err = io.WriteString(cmd.OutOrStdout(), r.text(st.Name, dir, outs.Names()))
	return err
}

// twins are two performances on their way to the files.
type twins struct {
	ctx   context.Context
	w     *cli.Watch
	outs  *sounds.Outputs
	sc    *scenario.Scenario
	chain sim.Chain
	perf  *scenario.Performance
	first []float64 // Pa
	pair  *proof.Pair
	r     twinResult
}

// sum begins the result with what is known of the pair.
func (t *twins) sum() {
	sc, perf, first, pair := t.sc, t.perf, t.first, t.pair
	t.r = twinResult{
		Title: sc.Title, Seed: sc.Seed, RateHz: perf.Rate, Samples: len(first),
		Free: pair.Free, LevelDB: sim.Level(pair.LevelDB), DifferenceDB: sim.Level(pair.DifferenceDB), Correlation: sim.Level(pair.Correlation),
		ResidualLSB: sim.Level(pair.ResidualLSB), Corrections: pair.Corrections,
		SHA256: map[string]string{}, Settings: t.chain,
	}
	for _, p := range pair.Passages {
		t.r.Passages = append(t.r.Passages, twinPassage{float64(p.Start) / float64(perf.Rate), float64(p.End) / float64(perf.Rate)})
	}
	// One scale for both performances, 1 dB below full scale.
	peak := 0.0
	for i := range first {
		peak = max(peak, math.Abs(first[i]), math.Abs(pair.Second[i]))
	}
	t.r.ScalePerPa = sim.DB(-1).Lin() / peak
	t.r.Differing = pair.Differing
}

// write writes a file of one channel and notes its hash.
func (t *twins) write(name string, enc codec.Encoding, x []float64, scale float64) error {
	f, err := t.outs.Create(name)
	if err != nil {
		return err
	}
	h := sha256.New()
	if err := writeMono(t.ctx, f, t.perf.Rate, enc, x, scale); err != nil {
		return err
	}
	back, ok := f.(io.ReadSeeker)
	if !ok {
		return fmt.Errorf("%s cannot be read back", name)
	}
	if _, err := back.Seek(0, io.SeekStart); err != nil {
		return err
	}
	if _, err := io.Copy(h, back); err != nil {
		return err
	}
	t.r.SHA256[name] = hex.EncodeToString(h.Sum(nil))
	return nil
}

// writePerformances writes what was performed, as pressure.
func (t *twins) writePerformances() error {
	if err := t.write("first.wav", codec.Float32, t.first, t.r.ScalePerPa); err != nil {
		return err
	}
	return t.write("second.wav", codec.Float32, t.pair.Second, t.r.ScalePerPa)
}

// again records a performance.
func (t *twins) again(c sim.Chain, x []float64) ([]float64, error) {
	return recordFile(t.ctx, t.perf.Rate, c, t.sc.Seed, x, t.perf.Moves)
}

// recordBoth records both performances, which shall leave one file.
func (t *twins) recordBoth() error {
	enc, err := codec.ParseEncoding(string(t.chain.File.Format))
	if err != nil {
		return err
	}
	t.w.Begin("recording both")
	for i, x := range [][]float64{t.first, t.pair.Second} {
		name := []string{"first-recorded.wav", "second-recorded.wav"}[i]
		file, err := t.again(t.chain, x)
		if err != nil {
			return err
		}
		if err := t.write(name, enc, file, 1); err != nil {
			return err
		}
		t.w.At(float64(i+1) / 6)
	}
	t.r.Same = t.r.SHA256["first-recorded.wav"] == t.r.SHA256["second-recorded.wav"]
	return nil
}

// recordOtherwise counts the samples that differ with less gain and with a limiter
// before the converter.
func (t *twins) recordOtherwise() error {
	low := t.chain
	low.Preamp.GainDB -= 24
	for i, c := range []sim.Chain{low, t.chain.WithPlace(sim.LimiterBefore)} {
		a, err := t.again(c, t.first)
		if err != nil {
			return err
		}
		b, err := t.again(c, t.pair.Second)
		if err != nil {
			return err
		}
		n := 0
		for k := range a {
			if a[k] != b[k] {
				n++
			}
		}
		*[]*int{&t.r.With24DBLess, &t.r.LimiterBefore}[i] = n
		t.w.At(float64(i+2) / 3)
	}
	return nil
}

// draw makes the picture.
func (t *twins) draw(kind string) error {
	pic, err := t.outs.Create("twin." + kind)
	if err != nil {
		return err
	}
	sheet := &picture.Twin{Title: t.sc.Title, Pair: t.pair, Rate: t.perf.Rate, PerPa: sim.ToFullScale(t.chain)[sim.AtTalker], At: loudestDifference(t.pair)}
	if at := float64(sheet.At) / float64(t.perf.Rate); len(t.perf.Moves) > 0 {
		sheet.PerPa *= t.chain.DistanceM / sim.DistanceAt(t.perf.Moves, t.chain.DistanceM, at)
	}
	var b bytes.Buffer
	if err := sheet.Draw(&b, kind); err != nil {
		return err
	}
	_, err = pic.Write(b.Bytes())
	return err
}

// text tells a person what was found.
func (r *twinResult) text(strip, dir string, names []string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, strip %s: %d of %d samples were beyond the converter's full scale, and free.\n\n", r.Title, strip, r.Free, r.Samples)
	fmt.Fprintf(&b, "There the two performances are %s apart in level.\n", picture.DB(math.Abs(float64(r.LevelDB)), "dB"))
	rest := 1 - float64(r.Correlation*r.Correlation)
	fmt.Fprintf(&b, "It is another wave, too, not the same one louder: after the best gain %.0f %% of its\nenergy there is left over (correlation %.3f).\n", 100*rest, float64(r.Correlation))
	if r.Same {
		fmt.Fprintf(&b, "The files they leave are identical:\n")
	} else {
		fmt.Fprintf(&b, "The files they leave differ in %d samples; the search fell short:\n", r.Differing)
	}
	for _, n := range []string{"first-recorded.wav", "second-recorded.wav"} {
		fmt.Fprintf(&b, "  %s  %s\n", r.SHA256[n], n)
	}
	fmt.Fprintf(&b, "\nWith 24 dB less gain their files differ in %d samples; with a limiter before the\nconverter, in %d.\n\n", r.With24DBLess, r.LimiterBefore)
	fmt.Fprintln(&b, caution([]string{strip}))
	fmt.Fprintf(&b, "Written to %s: %s\n", sounds.Shown(dir), strings.Join(names, ", "))
	return b.String()
}

func readPerformance(ctx context.Context, p *scenario.Performance, w *cli.Watch) ([]float64, error) {
	var x []float64
	buf := make([]float64, 4096)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := p.Read(buf)
		x = append(x, buf[:n]...)
		if len(x) > longestTwinS*p.Rate {
			return nil, cli.Usagef("the performance is longer than %d s; twin holds it whole: cut out the part that went over", longestTwinS)
		}
		if p.Frames > 0 {
			w.At(float64(len(x)) / float64(p.Frames))
		}
		if errors.Is(err, io.EOF) {
			return x, nil
		}
		if err != nil {
			return nil, err
		}
	}
}

// recordFile runs x through a strip and returns the file's samples.
func recordFile(ctx context.Context, rate int, c sim.Chain, seed uint64, x []float64, moves []sim.Move) ([]float64, error) {
	s, err := sim.NewStrip(rate, c, seed)
	if err != nil {
		return nil, err
	}
	file := make([]float64, 0, len(x))
	_, err = sim.Run(ctx, &sim.Samples{X: x}, []*sim.Strip{s}, sim.RunOptions{Moves: moves, Sink: func(_ int, t *sim.Taps) error {
		file = append(file, t.Wave[sim.AtFile]...)
		return nil
	}})
	return file, err
}

// loudestDifference is the sample at which the two performances differ most.
func loudestDifference(p *proof.Pair) (at int) {
	most := 0.0
	for i := range p.First {
		if d := math.Abs(p.First[i] - p.Second[i]); d > most {
			most, at = d, i
		}
	}
	return at
}
