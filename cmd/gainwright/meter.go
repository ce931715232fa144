package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"gainwright/cmd/gainwright/internal/picture"
	"gainwright/sim"
	"gainwright/sim/diagnose"
	"gainwright/sim/meter"
	"gainwright/sounds"
)

func newMeterCmd() *cobra.Command {
	var (
		asJSON, quiet, force bool
		page                 string
	)
	cmd := &cobra.Command{
		Use:   "meter FILE...",
		Short: "Measure what is in a recording, and tell what happened to it",
		Long: `Measure what is in a recording: levels, loudness and its range (BS.1770, EBU Tech
3342), true peak, noise floor, runs at full scale and flat tops below it. Then tell
what happened to it, from the file alone: flattened at full scale; flattened first
and turned down later, by a constant or a moving gain; flattened, then filtered or
coded; rounded by an overdriven stage; limited; cut on one side only; loud; quiet and
noisy; hum; an offset. Each with a confidence, with where it is, what it means, what
can be done, and by how much less gain it would have been kept clean.

What it tells is an estimate, made for talk; music, tones and noise can fool it.

--report FILE.html makes a page to keep or to hand on: with a picture, and short
excerpts to listen to. It needs no other file.

A file is read in a stream: its length does not matter. WAV, FLAC, Ogg Vorbis and
MP3, one or two channels; - is the standard input. Of several channels, levels are those of the higher one.`,
		Example: `  gainwright meter interview.wav
  gainwright meter --report interview.html interview.wav
  gainwright meter --json take-1/A.wav take-1/B.wav`,
		Args: args(cobra.MinimumNArgs(1), "wants one or more recordings"),
		RunE: func(cmd *cobra.Command, files []string) error {
			w := newWatch(cmd.ErrOrStderr(), quiet)
			if page != "" {
				if ext := strings.ToLower(filepath.Ext(page)); ext != ".html" && ext != ".htm" {
					return usagef("--report: %s does not end in .html", page)
				}
				if _, err := os.Stat(page); err == nil && !force {
					return &sounds.ExistsError{Path: page}
				}
			}
			out := struct {
				Files []*measured `json:"files"`
			}{Files: []*measured{}}
			// One bad file does not hide the others.
			var errs []error
			for _, path := range files {
				m, err := measure(cmd.Context(), path, page != "", w)
				w.done()
				if errors.Is(err, context.Canceled) {
					return err
				}
				if err != nil {
					errs = append(errs, err)
					continue
				}
				out.Files = append(out.Files, m)
				if m.again != nil {
					defer m.again.Close()
				}
			}
			if page != "" && len(out.Files) > 0 {
				if err := writeDiagnosis(cmd.Context(), page, force, out.Files, w); err != nil {
					return errors.Join(append(errs, err)...)
				}
			}
			if asJSON {
				if err := writeJSON(cmd.OutOrStdout(), out); err != nil {
					return err
				}
				return errors.Join(errs...)
			}
			var b bytes.Buffer
			for i, m := range out.Files {
				if i > 0 {
					fmt.Fprintln(&b)
				}
				m.print(&b)
			}
			if page != "" && len(out.Files) > 0 {
				fmt.Fprintf(&b, "\nWritten: %s. Open it in a browser.\n", sounds.Shown(page))
			}
			if _, err := cmd.OutOrStdout().Write(b.Bytes()); err != nil {
				return err
			}
			return errors.Join(errs...)
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print one JSON object on the standard output, and nothing else")
	cmd.Flags().BoolVar(&quiet, "quiet", false, "show no progress")
	cmd.Flags().StringVar(&page, "report", "", "write a page with pictures and excerpts to `FILE.html`")
	cmd.Flags().BoolVar(&force, "force", false, "replace a page that is there")
	return cmd
}

// measured is what is in a recording. Levels are of the channel in which they are
// highest; counts are sums over the channels.
type measured struct {
	Path     string  `json:"path"`
	Format   string  `json:"format"`
	Encoding string  `json:"encoding"`
	RateHz   int     `json:"rate_hz"`
	Channels int     `json:"channels"`
	Seconds  float64 `json:"seconds"`

	PeakDBFS         sim.Level `json:"peak_dbfs"`
	TruePeakDBTP     sim.Level `json:"true_peak_dbtp"`
	LoudnessLUFS     sim.Level `json:"loudness_lufs"`
	LoudnessRangeLU  sim.Level `json:"loudness_range_lu"`
	ShortTermMaxLUFS sim.Level `json:"short_term_max_lufs"`
	MomentaryMaxLUFS sim.Level `json:"momentary_max_lufs"`
	RMSDBFS          sim.Level `json:"rms_dbfs"`         // AES17
	TalkDBFS         sim.Level `json:"talk_dbfs"`        // rms while somebody speaks, AES17
	NoiseFloorDBFS   sim.Level `json:"noise_floor_dbfs"` // lowest decile of 100 ms rms, AES17
	SNRDB            sim.Level `json:"snr_db"`           // talk over the noise floor
	CrestDB          sim.Level `json:"crest_db"`
	DCPercent        sim.Level `json:"dc_percent"` // mean, of full scale
	// MeterOvers are runs of three or more samples at full scale; FlatTops runs
	// below it that end in corners, as clipped waves have after they were turned
	// down.
	MeterOvers    int       `json:"meter_overs"`
	LongestOverMS sim.Level `json:"longest_over_ms"`
	FlatTops      int       `json:"flat_tops"`
	FlatTopDBFS   sim.Level `json:"flat_top_dbfs"` // the level at which most of them lie
	LongestFlatMS sim.Level `json:"longest_flat_ms"`
	// ClippedPercent is the share of samples in runs of either kind.
	ClippedPercent sim.Level `json:"clipped_percent"`
	// AboveFullScale counts samples beyond ±1, which only floating point holds.
	AboveFullScale int64    `json:"above_full_scale"`
	Notes          []string `json:"notes,omitempty"`
	Verdict        string   `json:"verdict"`
	// Findings tell what happened to the recording, the gravest first.
	Findings []diagnose.Finding `json:"findings"`
	Advice   []string           `json:"advice"`

	general  []string // of Advice, what belongs to no finding
	overview overview
	again    *sounds.Reader // open still, where the file cannot be opened again
}

// channelMeters measure one channel.
type channelMeters struct {
	stats *meter.Stats
	peak  *meter.TruePeak
	overs *meter.Overs
	diag  *diagnose.Channel
	above int64
}

// fullScale is the magnitude from which a sample of the encoding stands at full
// scale: the largest positive code of an integer. Floating point has none that
// anyone meets; what was clipped before it became a float shows as flat tops.
func fullScale(e sounds.Encoding) float64 {
	switch {
	case e == sounds.MP3:
		return fullScale(sounds.PCM16) // the decoder gives 16 bits
	case e.Float():
		return math.MaxFloat32
	}
	return 1 - math.Pow(2, float64(1-min(e.Bits(), 24)))
}

// measure streams the file through the meters. If it is wanted again and is a pipe,
// it stays open.
func measure(ctx context.Context, path string, again bool, w *watch) (*measured, error) {
	w.begin("reading " + path)
	r, err := sounds.OpenContext(ctx, path)
	if err != nil {
		return nil, err
	}
	m, err := measureOpen(ctx, r, w)
	if err == nil && again && r.Once() {
		m.again = r
	} else {
		r.Close()
	}
	return m, err
}

// measureOpen measures what r has from where it stands.
func measureOpen(ctx context.Context, r *sounds.Reader, w *watch) (*measured, error) {
	path, info := r.Name(), r.Info()
	if err := meter.CheckRate(info.Rate); err != nil {
		return nil, &sounds.InputError{Path: path, Msg: fmt.Sprintf("%d Hz cannot be measured: %d to %d Hz can", info.Rate, meter.MinRate, meter.MaxRate)}
	}
	loud, err := meter.NewLoudness(info.Rate, info.Channels)
	if err != nil {
		return nil, &sounds.InputError{Path: path, Msg: err.Error(), Err: err}
	}
	full := fullScale(info.Encoding)
	known := diagnose.Options{Lossy: info.Encoding.Bits() == 0}
	known.FullScale, known.Step = info.FullScale()
	ch := make([]channelMeters, info.Channels)
	for i := range ch {
		ch[i] = channelMeters{
			stats: meter.NewStats(info.Rate), peak: meter.NewTruePeak(info.Rate),
			overs: meter.NewMeterOvers(info.Rate, 3, full), diag: diagnose.New(info.Rate, known),
		}
	}
	buf := sounds.NewBlock(info.Channels, 4096)
	part := make([][]float64, info.Channels)
	frames := int64(0)
	over := overview{per: int64(max(1, info.Rate/50))}
	w.begin("measuring " + path)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := r.Read(buf)
		for i := range ch {
			part[i] = buf[i][:n]
			c := &ch[i]
			c.stats.Write(part[i])
			c.peak.Write(part[i])
			c.overs.Write(part[i])
			c.diag.Write(part[i])
			for _, v := range part[i] {
				if v > 1 || v < -1 {
					c.above++
				}
			}
		}
		loud.Write(part)
		over.write(part)
		frames += int64(n)
		share := -1.0
		if info.Frames > 0 {
			share = float64(frames) / float64(info.Frames)
		}
		w.at(share)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	if frames == 0 {
		return nil, &sounds.InputError{Path: path, Msg: "holds no samples"}
	}
	return sumUp(path, r, info, frames, loud, ch, over), nil
}

// sumUp reads the meters.
func sumUp(path string, r *sounds.Reader, info sounds.Info, frames int64, loud *meter.Loudness, ch []channelMeters, over overview) *measured {
	m := &measured{
		Path: path, Format: info.Format, Encoding: info.Encoding.String(), RateHz: info.Rate, Channels: info.Channels,
		Seconds:      float64(frames) / float64(info.Rate),
		LoudnessLUFS: sim.Level(loud.Integrated()), LoudnessRangeLU: sim.Level(loud.Range()),
		ShortTermMaxLUFS: sim.Level(loud.MaxShortTerm()), MomentaryMaxLUFS: sim.Level(loud.MaxMomentary()),
		Notes: r.Warnings(), Findings: []diagnose.Finding{}, overview: over,
	}
	diags := make([]*diagnose.Channel, len(ch))
	for i := range ch {
		diags[i] = ch[i].diag
	}
	m.Findings = append(m.Findings, diagnose.Diagnose(diags)...)
	low := sim.Level(math.Inf(-1))
	m.PeakDBFS, m.TruePeakDBTP, m.RMSDBFS, m.TalkDBFS, m.NoiseFloorDBFS = low, low, low, low, low
	m.SNRDB, m.CrestDB, m.FlatTopDBFS = sim.Level(math.NaN()), sim.Level(math.NaN()), sim.Level(math.NaN())
	longest, longestFlat, bad, flatMost := 0, 0, 0, 0
	silent := 0
	for i := range ch {
		c := &ch[i]
		c.peak.Flush()
		m.PeakDBFS = max(m.PeakDBFS, sim.Level(meter.DB(c.stats.Peak())))
		m.TruePeakDBTP = max(m.TruePeakDBTP, sim.Level(c.peak.DB()))
		// The voice is where it is loudest; the noise that matters is beside it.
		if rms := sim.Level(meter.SineDB(c.stats.RMS())); i == 0 || rms > m.RMSDBFS {
			m.RMSDBFS = rms
			m.TalkDBFS = sim.Level(c.stats.ActiveDB() + meter.SineDB(1)) // to AES17
			m.NoiseFloorDBFS = sim.Level(meter.SineDB(c.stats.NoiseRMS()))
			m.CrestDB = sim.Level(c.stats.CrestDB())
			m.SNRDB = sim.Level(c.stats.SNRDB())
		}
		if dc := sim.Level(100 * c.stats.DC()); math.Abs(float64(dc)) > math.Abs(float64(m.DCPercent)) {
			m.DCPercent = dc
		}
		m.MeterOvers += c.overs.Count()
		longest = max(longest, c.overs.Longest())
		n, in, long, level := c.diag.FlatTops()
		m.FlatTops += n
		longestFlat = max(longestFlat, long)
		if n > flatMost {
			flatMost = n
			m.FlatTopDBFS = sim.Level(meter.DB(level))
		}
		bad += c.overs.Samples() + in
		m.AboveFullScale += c.above
		if c.stats.Peak() == 0 {
			silent++
		}
	}
	rate := float64(info.Rate)
	m.LongestOverMS, m.LongestFlatMS = sim.Level(1000*float64(longest)/rate), sim.Level(1000*float64(longestFlat)/rate)
	m.ClippedPercent = sim.Level(100 * float64(bad) / (float64(frames) * float64(info.Channels)))
	if info.Channels > 1 && silent > 0 && silent < info.Channels {
		m.Notes = append(m.Notes, "one of its channels is silent")
	}
	if info.HeldAtFullScale && m.MeterOvers > 0 {
		m.Notes = append(m.Notes, "its decoder holds values at full scale, so runs there may be the decoder's and not the recording's")
	}
	m.judge()
	return m
}

// Levels behind the advice: common practice among people who record talk, no
// source.
const (
	lowLUFS       = -45 // below this a recording is a case of too little gain
	noPauseSNR    = 3
	noisySNR      = 25 // dB of talk above the noise under which it is heard
	topForSharing = -1 // dBTP, EBU R 128's most for delivery
)

// find returns the finding of a kind, or nil.
func (m *measured) find(kinds ...diagnose.Kind) *diagnose.Finding {
	for i := range m.Findings {
		if slices.Contains(kinds, m.Findings[i].Kind) {
			return &m.Findings[i]
		}
	}
	return nil
}

// nearSilence reports whether no channel has more than near silence.
func (m *measured) nearSilence() bool {
	f := m.find(diagnose.NearSilence)
	return f != nil && len(f.Channels) == m.Channels
}

// lost returns the finding that tops were cut off, or nil.
func (m *measured) lost() *diagnose.Finding {
	return m.find(diagnose.FlatFull, diagnose.FlatLower, diagnose.FlatMoving, diagnose.FlatSoftened)
}

// judge says in plain words what the figures mean.
func (m *measured) judge() {
	say := func(format string, a ...any) { m.general = append(m.general, fmt.Sprintf(format, a...)) }
	m.Advice = []string{}
	cut := m.lost()
	level := func(f *diagnose.Finding) string {
		v, _ := f.Number("level_dbfs")
		return picture.DB(v, "dBFS")
	}
	switch bent, held := m.find(diagnose.Bent), m.find(diagnose.HeldDown); {
	case math.IsInf(float64(m.PeakDBFS), -1):
		m.Verdict = "Silent: every sample is zero."
		m.Advice = append(m.Advice, "Check the microphone, its cable, its power and which input was recorded.")
		m.general = m.Advice
		return
	case m.nearSilence():
		m.Verdict = m.find(diagnose.NearSilence).Title + "."
		for _, f := range m.Findings {
			m.Advice = append(m.Advice, f.Remedy, f.Advice)
		}
		return
	case m.MeterOvers > 0:
		how := "Clipped"
		switch p := float64(m.ClippedPercent); {
		case p < 0.005:
			how = "Clipped in a few peaks"
		case p > 0.5:
			how = "Badly clipped"
		}
		m.Verdict = fmt.Sprintf("%s: %s of three or more samples at full scale, the longest %.2f ms.", how, counted(m.MeterOvers, "run", "runs"), float64(m.LongestOverMS))
	case cut != nil && cut.Kind == diagnose.FlatFull:
		n, _ := cut.Number("tops")
		m.Verdict = fmt.Sprintf("Clipped before it was written: %s, at %s.", counted(int(n), "flat top", "flat tops"), level(cut))
	case cut != nil && cut.Kind == diagnose.FlatLower:
		m.Verdict = fmt.Sprintf("Clipped earlier and turned down since: %s below full scale, most near %s.", counted(m.FlatTops, "flat top", "flat tops"), level(cut))
	case cut != nil && cut.Kind == diagnose.FlatMoving:
		m.Verdict = fmt.Sprintf("Clipped earlier, then turned by a moving gain: %s, most near %s.", counted(m.FlatTops, "flat top", "flat tops"), level(cut))
	case cut != nil:
		m.Verdict = fmt.Sprintf("Clipped earlier, then filtered, resampled or coded: its tops end in a blurred wall near %s.", level(cut))
	case m.AboveFullScale > 0:
		m.Verdict = fmt.Sprintf("Whole, but above full scale by %s.", picture.DB(float64(m.PeakDBFS), "dB"))
	case bent != nil:
		m.Verdict = fmt.Sprintf("Overdriven, not clipped: its highest tops, near %s, are rounded off.", level(bent))
	case finite(m.LoudnessLUFS) && m.LoudnessLUFS < lowLUFS:
		m.Verdict = fmt.Sprintf("Whole, but very low: %s.", picture.DB(float64(m.LoudnessLUFS), "LUFS"))
	case held != nil:
		m.Verdict = fmt.Sprintf("Whole: no clipping found; its peaks are held near %s by a limiter or compressor.", level(held))
	case m.PeakDBFS > -1:
		m.Verdict = fmt.Sprintf("Whole, with no room to spare: the highest sample lies at %s.", picture.DB(float64(m.PeakDBFS), "dBFS"))
	default:
		m.Verdict = fmt.Sprintf("Whole: no clipping found, %s below full scale.", picture.DB(-float64(m.PeakDBFS), "dB"))
	}
	if cut != nil {
		m.Verdict = strings.TrimSuffix(m.Verdict, ".") + channelText(cut, m.Channels) + "."
	}
	for i := range m.Findings {
		f := &m.Findings[i]
		m.Advice = append(m.Advice, f.Remedy)
		if f.Advice != "" {
			m.Advice = append(m.Advice, f.Advice)
		}
	}
	if m.MeterOvers > 0 && cut == nil {
		say("The cut-off peaks are gone for good; repair can only guess at them, and turning the file down does not bring them back. Set the gain lower next time.")
	}
	if m.FlatTops > 0 {
		say("A limiter behind the converter, or a fader, cannot prevent flat tops: the gain before the converter must be lower.")
	}
	if m.AboveFullScale > 0 {
		say("Turn it down by %s or more before it is turned into an integer format, which would clip it.", picture.DB(float64(m.PeakDBFS)+1, "dB"))
	}
	whole := cut == nil && m.MeterOvers == 0 && m.AboveFullScale == 0
	if whole && m.PeakDBFS > -3 && m.find(diagnose.NearlyFull, diagnose.HeldDown, diagnose.Bent) == nil {
		say("If this is as it was recorded, it was a close call: 6 to 12 dB less gain leaves room for a louder moment.")
	}
	if whole && m.PeakDBFS < -30 && finite(m.PeakDBFS) && m.find(diagnose.LowNoisy) == nil {
		say("There was room for more gain: about %.0f dB, with the loudest moment still 12 dB below full scale.", math.Floor(-12-float64(m.PeakDBFS)))
	}
	// Without pauses the quietest tenth is no noise floor: nothing is said then.
	if finite(m.SNRDB) && m.SNRDB < noisySNR && m.SNRDB > noPauseSNR && m.find(diagnose.LowNoisy) == nil {
		say("The noise lies only %s under the voice: come closer to the microphone, or find a quieter room. More gain lifts both.", picture.DB(float64(m.SNRDB), "dB"))
	}
	if finite(m.LoudnessLUFS) {
		goal := float64(sim.DeliveryLUFS)
		if m.Channels > 1 {
			goal += 3
		}
		up := goal - float64(m.LoudnessLUFS)
		line := fmt.Sprintf("To deliver at %s, change its level by %s", picture.DB(goal, "LUFS"), signedDB(up))
		if over := float64(m.TruePeakDBTP) + up - topForSharing; over > 0 {
			line += fmt.Sprintf("; its peaks then need a limiter, by %s", picture.DB(over, "dB"))
		}
		say("%s.", line)
	}
	m.Advice = append(m.Advice, m.general...)
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

func signedDB(v float64) string {
	t := picture.DB(v, "dB")
	if v >= 0.05 {
		t = "+" + t
	}
	return t
}

// facts says what kind of file it is.
func (m *measured) facts() string {
	chans := "mono"
	if m.Channels == 2 {
		chans = "stereo"
	} else if m.Channels > 2 {
		chans = fmt.Sprintf("%d channels", m.Channels)
	}
	return fmt.Sprintf("%s %s, %d Hz, %s, %s", m.Format, m.Encoding, m.RateHz, chans, picture.Clock(m.Seconds))
}

// rows are the figures that are shown.
func (m *measured) rows() [][2]string {
	rows := [][2]string{
		{"highest sample", picture.DB(float64(m.PeakDBFS), "dBFS")},
		{"true peak", picture.DB(float64(m.TruePeakDBTP), "dBTP")},
		{"loudness", picture.DB(float64(m.LoudnessLUFS), "LUFS")},
		{"loudness range", picture.DB(float64(m.LoudnessRangeLU), "LU")},
		{"loudest 3 s", picture.DB(float64(m.ShortTermMaxLUFS), "LUFS")},
		{"loudest 400 ms", picture.DB(float64(m.MomentaryMaxLUFS), "LUFS")},
		{"talk, rms", picture.DB(float64(m.TalkDBFS), "dBFS")},
		{"noise floor", picture.DB(float64(m.NoiseFloorDBFS), "dBFS")},
		{"talk above the noise", picture.DB(float64(m.SNRDB), "dB")},
		{"runs at full scale", fmt.Sprint(m.MeterOvers)},
		{"flat tops below it", fmt.Sprint(m.FlatTops)},
		{"samples in either", fmt.Sprintf("%.3f %%", float64(m.ClippedPercent))},
	}
	if m.AboveFullScale > 0 {
		rows = append(rows, [2]string{"samples above full scale", fmt.Sprint(m.AboveFullScale)})
	}
	return rows
}

// print shows the figures, the verdict, the findings and the advice.
func (m *measured) print(w io.Writer) {
	fmt.Fprintf(w, "%s: %s\n\n", sounds.Shown(m.Path), m.facts())
	rows := m.rows()
	name, value := 0, 0
	for _, r := range rows {
		name, value = max(name, runes(r[0])), max(value, runes(r[1]))
	}
	for _, r := range rows {
		fmt.Fprintln(w, r[0]+strings.Repeat(" ", name-runes(r[0]))+"  "+left(r[1], value))
	}
	fmt.Fprintln(w, "\n"+m.Verdict)
	for i := range m.Findings {
		fmt.Fprintln(w)
		printFinding(w, &m.Findings[i], m.Channels)
	}
	if len(m.Findings) > 0 {
		fmt.Fprintln(w)
	}
	for _, a := range slices.Concat(notes(m.Notes), m.general) {
		fmt.Fprintln(w, "- "+a)
	}
}

// printFinding shows one finding.
func printFinding(w io.Writer, f *diagnose.Finding, channels int) {
	fmt.Fprintln(w, wrap(fmt.Sprintf("%s (confidence %.0f %%)%s.", f.Title, 100*f.Confidence, channelText(f, channels)), 78))
	line := func(name, text string) {
		if text == "" {
			return
		}
		const indent = 12
		body := strings.ReplaceAll(wrap(text, 78-indent), "\n", "\n"+strings.Repeat(" ", indent))
		fmt.Fprintf(w, "  %-10s%s\n", name, body)
	}
	line("where", f.Places(6))
	line("means", f.Means)
	now := f.Remedy
	if len(f.Treatments) > 0 {
		now += " Treatments: " + strings.Join(f.Treatments, ", ") + "."
	}
	line("now", now)
	line("next time", nextTime(f.Advice))
}

// nextTime takes from an advice the words that stand before it already.
func nextTime(advice string) string {
	t, ok := strings.CutPrefix(advice, "Next time ")
	if !ok {
		return advice
	}
	return strings.ToUpper(t[:1]) + t[1:]
}

// channelText names the channels of several that have the finding.
func channelText(f *diagnose.Finding, channels int) string {
	if w := f.On(channels); w != "" {
		return ", " + w
	}
	return ""
}

// notes makes sentences of remarks.
func notes(list []string) []string {
	out := make([]string, len(list))
	for i, n := range list {
		out[i] = "Note: " + n + "."
	}
	return out
}
