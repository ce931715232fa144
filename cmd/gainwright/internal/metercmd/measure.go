// Package metercmd is the command meter: a recording measured, and what happened to
// it told, as text, JSON or a page. Repair compares with it, before and after.
package metercmd

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/sim"
	"gainwright/sim/diagnose"
	"gainwright/sim/meter"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

// Measured is what is in a recording. Levels are of the channel in which they are
// highest; counts are sums over the channels.
type Measured struct {
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

	general  []string       // of Advice, what belongs to no finding
	silent   float64        // share of digital silence, 0 to 1
	Overview overview       `json:"-"` // empty unless a picture is wanted
	again    *sounds.Reader // open still, where the file cannot be opened again
}

// leastTalk, in seconds, is the least of a recording of which the level of talk is told: of
// a tone of 0.4 s it reads 0.2 dB too high, of one of 50 ms 4.4 dB, over its peak. It is
// BS.1770's block, too, of the shortest loudness there is.
const leastTalk = 0.4

// channelMeters measure one channel.
type channelMeters struct {
	stats *meter.Stats // diag's own
	peak  *meter.TruePeak
	overs *meter.Overs
	diag  *diagnose.Channel
	above int64
}

// write feeds samples, which only as floating point can lie beyond ±1.
func (c *channelMeters) write(x []float64, float bool) {
	c.peak.Write(x)
	c.overs.Write(x)
	c.diag.Write(x)
	if !float {
		return
	}
	for _, v := range x {
		if v > 1 || v < -1 {
			c.above++
		}
	}
}

// FullScale is the magnitude from which a sample of the encoding stands at full
// scale: the largest positive code of an integer. Floating point has none that
// anyone meets; what was clipped before it became a float shows as flat tops.
func FullScale(e codec.Encoding) float64 {
	switch {
	case e == codec.MP3:
		return FullScale(codec.PCM16) // the decoder gives 16 bits
	case e.Float():
		return math.MaxFloat32
	}
	return 1 - math.Pow(2, float64(1-min(e.Bits(), 24)))
}

// Measure streams the file through the meters. If its picture is wanted and it is a
// pipe, it stays open.
func Measure(ctx context.Context, path string, picture bool, w *cli.Watch) (*Measured, error) {
	w.Begin("reading " + path)
	r, err := sounds.OpenContext(ctx, path, sounds.Lenient()) // what is there is measured, and the fault told
	if err != nil {
		return nil, err
	}
	m, err := MeasureOpen(ctx, r, picture, w)
	if err == nil && picture && r.Once() {
		m.again = r
	} else {
		r.Close()
	}
	return m, err
}

// MeasureOpen measures what r has from where it stands, with an overview if its picture
// is wanted.
func MeasureOpen(ctx context.Context, r *sounds.Reader, picture bool, w *cli.Watch) (*Measured, error) {
	path, info := r.Name(), r.Info()
	if err := meter.CheckRate(info.Rate); err != nil {
		return nil, &sounds.InputError{Path: path, Msg: fmt.Sprintf("%d Hz cannot be measured: %d to %d Hz can", info.Rate, meter.MinRate, meter.MaxRate)}
	}
	loud, err := meter.NewLoudness(info.Rate, info.Channels)
	if err != nil {
		return nil, &sounds.InputError{Path: path, Msg: err.Error(), Err: err}
	}
	full := FullScale(info.Encoding)
	known := diagnose.Options{Lossy: info.Encoding.Bits() == 0}
	known.FullScale, known.Step = info.FullScale()
	ch := make([]channelMeters, info.Channels)
	for i := range ch {
		ch[i] = channelMeters{
			peak:  meter.NewTruePeak(info.Rate),
			overs: meter.NewMeterOvers(info.Rate, 3, full), diag: diagnose.New(info.Rate, known),
		}
		ch[i].stats = ch[i].diag.Stats()
	}
	buf := sounds.NewBlock(info.Channels, 4096)
	part := make([][]float64, info.Channels)
	pair := meter.NewPair(info.Rate)
	frames := int64(0)
	over := overview{per: int64(max(1, info.Rate/50))}
	w.Begin("measuring " + path)
	for {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		n, err := r.Read(buf)
		for i := range ch {
			part[i] = buf[i][:n]
			ch[i].write(part[i], info.Encoding.Float())
		}
		if len(part) == 2 {
			pair.Write(part[0], part[1])
		}
		loud.Write(part)
		if picture {
			over.write(part)
		}
		frames += int64(n)
		share := -1.0
		if info.Frames > 0 {
			share = float64(frames) / float64(info.Frames)
		}
		w.At(share)
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
	m := sumUp(path, r, info, frames, loud, ch, over)
	if info.Channels == 2 && cli.Finite(m.PeakDBFS) && pair.Same() && diagnose.CutAlike(m.Findings, 2) {
		m.Notes = append(m.Notes, "its two channels are one sound: either will do, or both mixed")
	}
	return m, nil
}

// sumUp reads the meters.
func sumUp(path string, r *sounds.Reader, info codec.Info, frames int64, loud *meter.Loudness, ch []channelMeters, over overview) *Measured {
	m := &Measured{
		Path: path, Format: info.Format, Encoding: info.Encoding.String(), RateHz: info.Rate, Channels: info.Channels,
		Seconds:      float64(frames) / float64(info.Rate),
		LoudnessLUFS: sim.Level(loud.Integrated()), LoudnessRangeLU: sim.Level(loud.Range()),
		ShortTermMaxLUFS: sim.Level(loud.MaxShortTerm()), MomentaryMaxLUFS: sim.Level(loud.MaxMomentary()),
		Notes: r.Warnings(), Findings: []diagnose.Finding{}, Overview: over,
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
			m.silent = c.stats.Silent()
			if float64(c.stats.Frames()) < leastTalk*float64(m.RateHz) {
				m.TalkDBFS, m.SNRDB = sim.Level(math.NaN()), sim.Level(math.NaN())
			}
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
