package equipment

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/sim"
)

// A Fit is a chain that behaves as the recorder was measured to. Files tell the product
// of microphone, gain and full scale only, so it is one of many that do: microphone and
// full scale stay as they were, and the gain takes up the rest.
type Fit struct {
	Chain   sim.Chain
	Knob    *Knob    // nil if no marks are known
	Filled  []string // the settings that the file told, by their keys
	Assumed []string // what it did not tell, a clause each
}

// bandDB is by how much white noise is louder in all that a file of 48 kHz holds than in
// the 20 kHz over which a chain's noise is stated.
var bandDB = 10 * math.Log10(24000.0/sim.NoiseBandHz)

// Steepest is the ratio above which a limiter's estimate is no other than a wall's.
const steepest = 20

// On fits a chain to the recorder: what the file tells replaces what c has, at the gain
// nearest to that of c that the knob can give. Errors, a sentence each, are of a recorder
// that no chain has.
func (r *Recorder) On(c sim.Chain) (*Fit, error) {
	f := &Fit{Chain: c}
	f.assume("microphone, gain and full scale are not told apart: of the chains that fit, one was chosen")
	if err := f.level(r); err != nil {
		return nil, err
	}
	f.words(r)
	f.clip(r.Clip)
	f.noise(r)
	f.limiter(r.Limiter)
	for _, a := range r.Assumed { // what the measurement itself rests on
		if !strings.HasPrefix(a, "microphone, gain") {
			f.assume("%s", a)
		}
	}
	if err := f.Chain.Validate(); err != nil {
		return nil, fmt.Errorf("no chain behaves like this recorder: %s", strings.ReplaceAll(err.Error(), "\n", "; "))
	}
	return f, nil
}

// Departs lists the settings of c that are not as the file told, by their keys.
func (f *Fit) Departs(c sim.Chain) (keys []string) {
	for _, k := range f.Filled {
		s, _ := sim.SettingByKey(k)
		if a, b := s.Value(&c), s.Value(&f.Chain); a != b {
			keys = append(keys, k)
		}
	}
	return keys
}

func (f *Fit) assume(format string, a ...any) {
	if s := fmt.Sprintf(format, a...); !slices.Contains(f.Assumed, s) {
		f.Assumed = append(f.Assumed, s)
	}
}

func (f *Fit) filled(keys ...string) { f.Filled = append(f.Filled, keys...) }

// anchored tells whether a level in dB SPL was known.
func (r *Recorder) anchored() bool { return r.fullScale() != nil }

// fullScale is the level of a sine that just reaches full scale at the lowest mark; nil if
// no level was known.
func (r *Recorder) fullScale() *Interval {
	for _, m := range r.Marks {
		if m.FullScale.known() && m.Gain.known() {
			g := *m.Gain.Value
			lo, hi := m.FullScale.widths()
			v := *m.FullScale.Value + g
			return Of(v, v-lo, v+hi)
		}
	}
	return nil
}

// levelAt is the gain that a chain needs for a sine of a level, dB SPL, to reach full
// scale.
func levelAt(c *sim.Chain, dbSPL float64) float64 {
	v := float64(sim.DBSPL(dbSPL).Pascal()) * c.Microphone.SensitivityMVPerPa / 1000
	return c.Converter.FullScaleDBu + c.Preamp.PadDB - float64(sim.ToDB(v/sim.DBuRef))
}

// FullScaleDBSPL is the level of a sine at the microphone that just reaches full scale in
// c, dB SPL.
func FullScaleDBSPL(c sim.Chain) float64 { return levelAt(&c, 0) - c.Preamp.GainDB }

// level sets gain, and microphone or full scale if no gain that can be will do.
func (f *Fit) level(r *Recorder) error {
	c := &f.Chain
	f.filled("preamp.pad_db", "converter.full_scale_dbu", "microphone.sensitivity_mv_per_pa", "microphone.max_spl_db")
	c.Preamp.PadDB = 0
	c.Microphone.Proximity = false // what a microphone does close up is part of nothing that was measured
	if len(r.Marks) == 0 {
		f.assume("the knob's marks are not known: gain in dB, as of a typical recorder")
		return nil
	}
	own := c.Preamp.GainDB
	span := *r.Marks[len(r.Marks)-1].Gain.Value
	gain, _ := sim.SettingByKey("preamp.gain_db")
	full := r.fullScale()
	at := FullScaleDBSPL(*c) + span/2
	if full != nil {
		at = *full.Value
	} else {
		f.assume("no level in dB SPL is known: the middle of the knob was taken for %.0f dB of gain", own)
	}
	if span > gain.Max-gain.Min {
		return fmt.Errorf("its knob spans %.0f dB, more than any preamp", span)
	}
	// A microphone that gives more needs less gain.
	lowest := levelAt(c, at)
	shift := max(0, lowest+span-gain.Max) - max(0, gain.Min-lowest)
	c.Microphone.SensitivityMVPerPa *= math.Pow(10, shift/20)
	sens, _ := sim.SettingByKey("microphone.sensitivity_mv_per_pa")
	if s := c.Microphone.SensitivityMVPerPa; !(s >= sens.Min && s <= sens.Max) {
		return fmt.Errorf("full scale at %.0f dB SPL at mark %s is beyond any microphone and preamp", at, MarkText(r.Marks[0].Mark))
	}
	f.Knob = newKnob(r, at)
	lo, hi := f.Knob.Range(*c)
	c.Preamp.GainDB = min(max(own, lo), hi)
	f.microphone(full)
	return nil
}

// microphone leaves room for what the lowest mark takes.
func (f *Fit) microphone(full *Interval) {
	m := &f.Chain.Microphone
	if full != nil {
		spl, _ := sim.SettingByKey("microphone.max_spl_db")
		m.MaxSPLDB = min(max(m.MaxSPLDB, *full.Value+6), spl.Max)
	}
	f.assume("the microphone itself takes %.0f dB SPL", m.MaxSPLDB)
}

// words sets the converter's and the file's words.
func (f *Fit) words(r *Recorder) {
	c := &f.Chain
	f.filled("converter.bits", "file.format")
	above := r.Clip != nil && r.Clip.Level.known() && *r.Clip.Level.Value > 0.5
	switch {
	case above || r.WordLength > 24:
		c.File.Format = sim.Float32
	case r.WordLength == 0:
		f.assume("words of %d bit, as the scenario has them", c.Converter.Bits)
	case r.WordLength > 16:
		c.File.Format = sim.PCM24
	default:
		c.File.Format = sim.PCM16
	}
	if r.WordLength > 0 {
		c.Converter.Bits = min(max(r.WordLength, 4), 32)
	}
}

// clip sets where the chain stops: the converter, a stage before it, or beyond full scale.
func (f *Fit) clip(q *Clip) {
	c := &f.Chain
	f.filled("converter.dual_range_db", "converter.mismatch_db", "converter.mismatch_samples", "preamp.rail_dbu", "preamp.rail_knee")
	c.Converter.DualRangeDB, c.Converter.MismatchDB, c.Converter.MismatchSamples = 0, 0, 0
	head := max(c.Preamp.RailDBu-c.Converter.FullScaleDBu, 6)
	c.Preamp.RailDBu = c.Converter.FullScaleDBu + head
	if q == nil || !q.Level.known() {
		f.assume("the converter clips first, at full scale")
		return
	}
	at := *q.Level.Value
	switch {
	case at > 0.5:
		wide, _ := sim.SettingByKey("converter.dual_range_db")
		c.Converter.DualRangeDB = min(at, wide.Max)
		c.Preamp.RailDBu = c.Converter.FullScaleDBu + max(head, c.Converter.DualRangeDB+6)
		f.assume("what keeps peaks above full scale is a converter with a second range, without faults")
	case at < -0.3:
		c.Preamp.RailDBu = c.Converter.FullScaleDBu + at
		c.Preamp.RailKnee = sim.HardKnee
		if q.Shape == "round" {
			c.Preamp.RailKnee = sim.RoundKnee
		}
		f.assume("what clips below full scale lies after the gain, so at one level in the file at every mark")
	default:
		f.assume("no stage before the converter clips first at any mark")
	}
	if q.OneSided {
		f.assume("it clips on both sides alike, though it was measured on one")
	}
}

// noise sets the noises before and after the gain.
func (f *Fit) noise(r *Recorder) {
	c := &f.Chain
	if r.Noise == nil {
		f.assume("noise as of a typical recorder")
		return
	}
	in, out := r.Noise.Input, r.Noise.Output
	// Of two that only have bounds, each is half of what was heard.
	both := 0.0
	if in != nil && out != nil && in.Value == nil && out.Value == nil {
		both = 10 * math.Log10(2)
		f.assume("noise before and after the gain were not told apart: each was taken for half")
	}
	if v, ok := f.heard(in, "before the gain", both); ok && f.Knob != nil {
		lowest, _ := f.Knob.Range(*c)
		f.inputNoise(v-bandDB+c.Converter.FullScaleDBu-lowest, r.plugged())
	}
	if v, ok := f.heard(out, "after the gain", both); ok {
		f.outputNoise(v)
	}
}

// heard is a noise, or the bound of one that is not known better.
func (f *Fit) heard(i *Interval, where string, less float64) (float64, bool) {
	switch {
	case i.known():
		return *i.Value, true
	case i != nil && i.High != nil:
		if less == 0 {
			f.assume("noise %s is as high as can be: only a bound is known", where)
		}
		return *i.High - less, true
	}
	f.assume("noise %s as of a typical recorder", where)
	return 0, false
}

// plugged tells whether the noise was measured without room and microphone.
func (r *Recorder) plugged() bool {
	return slices.ContainsFunc(r.Measured, func(m Measured) bool { return strings.HasPrefix(m.What, "plugged") })
}

// inputNoise shares a noise in dBu at the preamp's input between microphone and preamp.
func (f *Fit) inputNoise(dbu float64, plugged bool) {
	c := &f.Chain
	f.filled("preamp.ein_dbu", "microphone.source_ohm")
	n := float64(sim.DBu(dbu).Volt())
	thermal := func(ohm float64) float64 { return float64(sim.ThermalNoise(ohm, sim.RoomKelvin, sim.NoiseBandHz)) }
	const plug = 150.0 // Ω, part of a stated input noise
	if plugged {
		f.assume("the microphone's own noise is that of a typical one")
		if th := thermal(plug); n < th {
			c.Microphone.SourceOhm = max(1, min(c.Microphone.SourceOhm, plug*n*n/th/th))
		}
		f.ein(dbu)
		return
	}
	f.assume("the quiet that was recorded was the recorder's and the microphone's; a room that was heard in it makes them look noisier")
	f.filled("microphone.self_noise_dba")
	c.Microphone.SelfNoiseDBA = 0
	mic := thermal(c.Microphone.SourceOhm)
	if mic > n/math.Sqrt2 {
		c.Microphone.SourceOhm = max(1, c.Microphone.SourceOhm*n*n/2/mic/mic)
		mic = thermal(c.Microphone.SourceOhm)
	}
	amp := math.Sqrt(max(n*n-mic*mic, 0))
	f.ein(float64(sim.ToDB(math.Hypot(amp, thermal(plug)) / sim.DBuRef)))
}

func (f *Fit) ein(dbu float64) {
	s, _ := sim.SettingByKey("preamp.ein_dbu")
	f.Chain.Preamp.EINDBu = min(max(dbu, s.Min), s.Max)
}

// outputNoise puts into the preamp's output what rounding does not make: rms against a
// full-scale sine, over all that a file holds.
func (f *Fit) outputNoise(dbfs float64) {
	c := &f.Chain
	f.filled("preamp.output_noise_dbu", "converter.dynamic_range_dba", "converter.dither")
	dr, _ := sim.SettingByKey("converter.dynamic_range_dba")
	c.Converter.DynamicRangeDBA = dr.Max
	n2 := math.Pow(10, dbfs/10) / 2
	q := math.Pow(2, float64(1-c.Converter.Bits))
	rounding := q * q / 4
	if rounding > n2 {
		c.Converter.Dither = sim.NoDither
		rounding = q * q / 12
	}
	rest := max(n2-rounding, 1e-24)
	out, _ := sim.SettingByKey("preamp.output_noise_dbu")
	v := c.Converter.FullScaleDBu + 10*math.Log10(2*rest) - bandDB
	c.Preamp.OutputNoiseDBu = min(max(v, out.Min), out.Max)
}

// limiter sets place and law. What is not known to protect does not.
func (f *Fit) limiter(l *Limiter) {
	c := &f.Chain
	if l == nil {
		f.assume("the limiter is as the scenario has it: none was measured")
		return
	}
	f.filled("input_limiter.on", "limiter.on")
	c.InputLimiter.On, c.Limiter.On = false, false
	switch l.Place {
	case "before_converter":
		c.InputLimiter.On = true
		f.assume("no limiter acts behind the one before the converter: whether one does was not seen")
	case "after_converter":
		c.Limiter.On = true
	case "both":
		c.InputLimiter.On, c.Limiter.On = true, true
		f.assume("the limiters on both sides of the converter follow one law")
	case "automatic_level":
		f.assume("the automatic level control is switched off: a chain has none")
	case "unknown":
		f.assume("there is no limiter: where it sits is not known, so nothing is hoped of it")
	}
	if !c.InputLimiter.On && !c.Limiter.On {
		return
	}
	if c.InputLimiter.On {
		f.filled("input_limiter.threshold_dbfs", "input_limiter.ratio", "input_limiter.attack_ms", "input_limiter.release_ms")
	}
	if c.Limiter.On {
		f.filled("limiter.threshold_dbfs", "limiter.ratio", "limiter.knee_db", "limiter.look_ahead_ms", "limiter.attack_ms", "limiter.release_ms")
		c.Limiter.KneeDB, c.Limiter.LookAheadMS = 0, 0
	}
	f.law("threshold_dbfs", "threshold", l.Threshold)
	f.law("ratio", "ratio", l.Ratio)
	attack, release := l.inDB()
	f.law("attack_ms", "attack", attack)
	f.law("release_ms", "release", release)
	if attack != l.Attack || release != l.Release {
		f.assume("the limiter smooths its gain; the recorder's smooths the level before: its times are turned into those that the gain takes after a step to 10 dB over the threshold")
	}
}

// inDB gives the times as those in which the gain goes 63.2 % of its way in dB, as the
// chain's limiters take them. An envelope e of the p-th power of the magnitude rises as
// 1 − exp(−t/τ), and e falls by 8.69/p dB in each τ; here from and to 10 dB over the threshold.
func (l *Limiter) inDB() (attack, release *Interval) {
	p := map[string]float64{"amplitude": 1, "power": 2}[l.Smooths]
	if p == 0 {
		return l.Attack, l.Release
	}
	const over, way = 10.0, 1 - 1/math.E
	return l.Attack.times(-math.Log(1 - math.Pow(10, -p/20*over*(1-way)))), l.Release.times(way * over * p * math.Ln10 / 20)
}

// law sets one figure of the limiters that are on.
func (f *Fit) law(key, name string, i *Interval) {
	if !i.known() {
		f.assume("the limiter's %s is a typical one", name)
		return
	}
	v := *i.Value
	if key == "ratio" && v >= steepest {
		v = math.Inf(1)
	}
	for _, group := range []string{"input_limiter", "limiter"} {
		s, _ := sim.SettingByKey(group + "." + key)
		if slices.Contains(f.Filled, s.Key) {
			s.Set(&f.Chain, min(max(v, s.Min), s.Max))
		}
	}
}
