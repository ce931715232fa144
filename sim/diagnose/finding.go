package diagnose

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gainwright/sim/meter"
	"gainwright/sim/say"
)

// Kind is what was found.
type Kind string

// The kinds of findings.
const (
	FlatFull     Kind = "flattened_at_full_scale"
	FlatLower    Kind = "flattened_then_turned_down"
	FlatMoving   Kind = "flattened_then_moving_gain"
	FlatSoftened Kind = "flattened_then_filtered_or_coded"
	Bent         Kind = "rounded_by_overload"
	HeldDown     Kind = "limited"
	CannotTell   Kind = "cannot_tell"
	TwoCeilings  Kind = "asymmetric"
	NearlyFull   Kind = "loud"
	NearSilence  Kind = "near_silence"
	LowNoisy     Kind = "low_and_noisy"
	MainsHum     Kind = "hum"
	Offset       Kind = "offset"
)

// Clipping tells whether a finding says that tops were cut off.
func (k Kind) Clipping() bool {
	return k == FlatFull || k == FlatLower || k == FlatMoving || k == FlatSoftened
}

// A Span is a stretch of time.
type Span struct {
	StartS float64 `json:"start_s"`
	EndS   float64 `json:"end_s"`
}

// A Number is a figure of a finding; the key has its unit at the end.
type Number struct {
	Key   string  `json:"key"`
	Value float64 `json:"value"`
}

// Next is what to set next time.
type Next struct {
	// LowerDB is how many dB less gain would just have fitted the loudest moment, at
	// least 0.5, in tenths: the same figure wherever it is told. Of recordings clipped by
	// a known amount two in three had it within SpreadDB, tenths too.
	LowerDB  float64 `json:"lower_gain_by_db"`
	SpreadDB float64 `json:"spread_db"`
}

// Words is the figure with its spread, as it is told everywhere.
func (n *Next) Words() string {
	return fmt.Sprintf("%.1f dB (give or take %.1f dB)", n.LowerDB, n.SpreadDB)
}

// A Finding is one thing that is told of a recording.
type Finding struct {
	Kind Kind `json:"kind"`
	// Confidence is from 0 to 1: for what the model decides, its probability; for
	// what thresholds decide, how far the evidence lies from what chance makes.
	Confidence float64 `json:"confidence"`
	Title      string  `json:"title"`
	// Channels counts from 1. Worst is the one of them that has it worst, whose
	// figures these are.
	Channels []int  `json:"channels"`
	Worst    int    `json:"worst_channel"`
	Where    []Span `json:"where,omitempty"`
	// WorstS is a moment at which it shows well, in seconds.
	WorstS float64 `json:"worst_s"`
	// Elsewhere is how many more places there are than Where lists.
	Elsewhere int      `json:"elsewhere,omitempty"`
	Numbers   []Number `json:"numbers,omitempty"`
	Means     string   `json:"means"`
	Remedy    string   `json:"remedy"`
	// Treatments are names of package repair that help.
	Treatments []string `json:"treatments,omitempty"`
	Next       *Next    `json:"next,omitempty"`
	Advice     string   `json:"advice,omitempty"`
}

// On says which of the channels of a recording have it: of two, 1 is the left one.
// It is empty where there is only one.
func (f *Finding) On(channels int) string {
	switch {
	case channels < 2 || len(f.Channels) == 0:
		return ""
	case len(f.Channels) == 1:
		return ChannelName(f.Channels[0], channels) + " only"
	case len(f.Channels) == 2 && channels == 2:
		return "both channels, worse in " + ChannelName(f.Worst, channels)
	}
	return fmt.Sprintf("%d of %d channels, worst in %s", len(f.Channels), channels, ChannelName(f.Worst, channels))
}

// CutAlike tells whether each channel that there is has tops cut off, or none has.
func CutAlike(found []Finding, channels int) bool {
	var cut []int
	for i := range found {
		if found[i].Kind.Clipping() {
			cut = append(cut, found[i].Channels...)
		}
	}
	slices.Sort(cut)
	n := len(slices.Compact(cut))
	return n == 0 || n == channels
}

// ChannelName names channel n, from 1, of so many.
func ChannelName(n, channels int) string {
	if channels == 2 && n <= 2 {
		return [...]string{"channel 1 (left)", "channel 2 (right)"}[n-1]
	}
	return fmt.Sprintf("channel %d", n)
}

// Number returns the figure under key, and whether there is one.
func (f *Finding) Number(key string) (float64, bool) {
	for _, n := range f.Numbers {
		if n.Key == key {
			return n.Value, true
		}
	}
	return 0, false
}

// Most places that a finding lists.
const mostSpans = 24

// Thresholds of the plain findings. Levels of talk and noise are common practice,
// no source.
const (
	loudFrom   = -1.0 // dBFS of the highest sample
	lowTalk    = -40.0
	noisySNR   = 25.0
	noPause    = 3.0 // dB: below, the quietest tenth is no noise floor
	offsetFrom = 0.01
)

// NoPauses is the share of digital silence from which on the noise floor tells nothing:
// pauses were gated or cut, and the quietest tenth of the rest is talk. The share is that
// of pauses by which [meter.Stats] finds a noise floor.
const NoPauses = 0.1

// Diagnose finishes the channels and tells what was found, the gravest first.
// Nothing may be written to them afterwards.
func Diagnose(channels []*Channel) []Finding {
	var out []Finding
	for i, c := range channels {
		c.finish()
		for _, f := range c.findings() {
			f.Channels, f.Worst = []int{i + 1}, i+1
			k := slices.IndexFunc(out, func(o Finding) bool { return o.Kind == f.Kind })
			if k < 0 {
				out = append(out, f)
				continue
			}
			o := &out[k]
			o.Channels = append(o.Channels, i+1)
			where := mergeSpans(append(slices.Clone(o.Where), f.Where...))
			more := max(o.Elsewhere, f.Elsewhere)
			// The channel that has it worse speaks for both.
			if f.weight() > o.weight() {
				ch := o.Channels
				*o = f
				o.Channels = ch
			}
			if len(where) > mostSpans {
				more += len(where) - mostSpans
				where = where[:mostSpans]
			}
			o.Where, o.Elsewhere = where, more
		}
	}
	order := []Kind{FlatFull, FlatLower, FlatMoving, FlatSoftened, Bent, CannotTell, NearSilence, TwoCeilings, HeldDown, NearlyFull, LowNoisy, MainsHum, Offset}
	slices.SortStableFunc(out, func(a, b Finding) int { return slices.Index(order, a.Kind) - slices.Index(order, b.Kind) })
	return out
}

// weight orders the same finding of two channels.
func (f *Finding) weight() float64 {
	if f.Next != nil {
		return f.Next.LowerDB
	}
	return f.Confidence
}

func mergeSpans(s []Span) []Span {
	slices.SortFunc(s, func(a, b Span) int {
		switch {
		case a.StartS < b.StartS:
			return -1
		case a.StartS > b.StartS:
			return 1
		}
		return 0
	})
	var out []Span
	for _, v := range s {
		if n := len(out); n > 0 && v.StartS <= out[n-1].EndS+0.15 {
			out[n-1].EndS = max(out[n-1].EndS, v.EndS)
			continue
		}
		out = append(out, v)
	}
	return out
}

// spans lists the slots that hold, joined when neighbours; the longest ones if
// there are too many.
func (c *Channel) spans(holds func(*slot) bool) (list []Span, more int) {
	w := float64(c.slots.width) / c.rate
	end := float64(c.total) / c.rate
	for k := range c.slots.used {
		if holds(&c.slots.list[k]) {
			list = append(list, Span{float64(k) * w, min(float64(k+1)*w, end)})
		}
	}
	list = mergeSpans(list)
	if len(list) > mostSpans {
		more = len(list) - mostSpans
		slices.SortStableFunc(list, func(a, b Span) int {
			switch d := (b.EndS - b.StartS) - (a.EndS - a.StartS); {
			case d > 0:
				return 1
			case d < 0:
				return -1
			}
			return 0
		})
		list = mergeSpans(list[:mostSpans])
	}
	return list, more
}

// level writes dBFS with a minus sign.
func level(v float64) string {
	return say.Number("%.1f dBFS", v)
}

func inPlaces(n int) string {
	if n == 1 {
		return "1 place"
	}
	return fmt.Sprintf("%d places", n)
}

// findings are those of one channel.
func (c *Channel) findings() []Finding {
	peak := max(c.sides[0].peak, c.sides[1].peak)
	if c.total == 0 {
		return nil
	}
	if c.silent(peak) {
		return []Finding{c.silence()}
	}
	var out []Finding
	v := c.judgeWave()
	if f, ok := c.waveFinding(&v); ok {
		out = append(out, f)
	}
	if v.asymmetric > 0 {
		out = append(out, Finding{
			Kind: TwoCeilings, Confidence: v.asymmetric,
			Title:   fmt.Sprintf("Cut on one side only: the other goes %.1f dB further", v.apartDB),
			Numbers: []Number{{"apart_db", v.apartDB}},
			Means:   "The two halves of the wave met ceilings at different levels: a stage whose working point is off its middle, a supply that is too low, or an offset that was taken out after the cut.",
			Remedy:  "Declipping works on the side that was cut. Have the microphone's power, the cable and the input looked at.",
			Treatments: []string{
				"declip",
			},
		})
	}
	db0 := meter.DB(peak)
	talk, snr := c.stats.ActiveDB()+meter.SineDB(1), c.stats.SNRDB()
	if v.main == Whole && db0 > loudFrom {
		w, more := c.spans(func(s *slot) bool { return float64(s.peak) >= 0.944*peak })
		f := Finding{
			Kind: NearlyFull, Confidence: 1 - 0.5*math.Exp(-(db0-loudFrom)*3),
			Title: fmt.Sprintf("Loud, and whole: the highest sample lies %.1f dB below full scale", max(0, -db0)),
			Where: w, Elsewhere: more, Numbers: []Number{{"peak_dbfs", db0}},
			Means:      "Nothing was cut, but nothing was left either: the next louder moment would have been.",
			Remedy:     "Turn it down by a decibel or two before it is coded or delivered; the wave between the samples goes higher than they do.",
			Treatments: []string{"gain", "delivery"},
			Advice:     "If this is as it was recorded: 6 to 12 dB less gain leaves room for a louder moment.",
		}
		if db0 > 0.05 { // only floating point holds that
			f.Title = fmt.Sprintf("Loud, and whole: the highest sample lies %.1f dB above full scale", db0)
			f.Means = "Nothing was cut: this file's numbers go on above full scale. An integer file's do not, and a player's do not."
			f.Remedy = fmt.Sprintf("Turn it down by %.1f dB or more before it is played, coded or made an integer file, any of which would cut it.", db0+1)
			f.Advice = "If this is as it was recorded: less gain loses nothing here, and the file plays as it is."
		}
		out = append(out, f)
	}
	if talk < lowTalk && snr < noisySNR && snr > noPause && c.stats.Silent() < NoPauses {
		out = append(out, Finding{
			Kind: LowNoisy, Confidence: min(0.99, 1-0.5*math.Exp(-min(lowTalk-talk, noisySNR-snr)/2)),
			Title:      fmt.Sprintf("Too quiet, with the noise high: talk at %s, noise %.0f dB under it", level(talk), snr),
			Numbers:    []Number{{"talk_dbfs", talk}, {"snr_db", snr}},
			Means:      "Brought to a usual level, the noise will be heard.",
			Remedy:     "Noise reduction and delivery to a level make it usable; what the noise covers stays covered.",
			Treatments: []string{"noise reduction", "high-pass", "delivery"},
			Advice:     fmt.Sprintf("Next time come closer to the microphone; and up to %.0f dB more gain would still have left 12 dB over the loudest moment.", math.Max(0, math.Floor(-12-db0))),
		})
	}
	if h, ok := c.tones.find(); ok {
		out = append(out, Finding{
			Kind: MainsHum, Confidence: min(0.99, 1-0.5*math.Exp(-(h.prominent-9)/4)),
			Title:      fmt.Sprintf("Hum at %.0f Hz and its multiples, %s", h.hz, level(h.levelDB)),
			Numbers:    []Number{{"hum_hz", h.hz}, {"hum_dbfs", h.levelDB}, {"hum_over_surroundings_db", h.prominent}},
			Means:      "The mains got in: a ground loop, an unbalanced or damaged cable, a lamp or a charger nearby.",
			Remedy:     "A high-pass at 80 Hz takes the lowest tone, noise reduction the steady rest.",
			Treatments: []string{"high-pass", "noise reduction"},
			Advice:     "Next time run the recorder from its battery, and move cables away from supplies. Leave faults of mains equipment to a qualified person.",
		})
	}
	if dc := c.stats.DC(); math.Abs(dc) >= offsetFrom {
		out = append(out, Finding{
			Kind: Offset, Confidence: 1 - 0.5*math.Exp(-(math.Abs(dc)-offsetFrom)*200),
			Title:      fmt.Sprintf("Constant offset of %s %% of full scale", say.Number("%.1f", 100*dc)),
			Numbers:    []Number{{"dc_percent", 100 * dc}},
			Means:      fmt.Sprintf("The middle of the wave is not at zero; it costs %.2f dB of headroom on one side and clicks at cuts.", -meter.DB(1-math.Abs(dc))),
			Remedy:     "A high-pass removes it.",
			Treatments: []string{"high-pass"},
			Advice:     "Have the recorder's input looked at.",
		})
	}
	return out
}

// Near silence: what was recorded is too low to be anybody at a microphone. Talk
// recorded with 40 dB too little gain still lies above; the second bound is for
// noise that nothing stands out of. Common practice, no source.
const (
	silentDBFS  = -70.0 // of the highest sample
	quietDBFS   = -50.0
	leastStands = 6.0 // dB of the louder parts over the quieter
	toneCrest   = 6.0 // dB: below, a steady tone, which somebody meant
)

func (c *Channel) silent(peak float64) bool {
	db := meter.DB(peak)
	snr := c.stats.SNRDB()
	return db < silentDBFS || db < quietDBFS && snr < leastStands && c.stats.CrestDB() > toneCrest
}

// silence is the finding that there is hardly anything. Its level is that of the highest
// sample: waves are not looked for in the last bits, nor in an offset.
func (c *Channel) silence() Finding {
	peak := c.stats.Peak()
	f := Finding{
		Kind: NearSilence, Confidence: 0.99,
		Title:   "Near silence: the highest sample lies at " + level(meter.DB(peak)) + ", and nobody can be made out",
		Means:   "No microphone was heard: the wrong input, no power for the microphone, a cable that is out, or a gain at its lowest.",
		Remedy:  "There is nothing to bring up but noise.",
		Advice:  "Next time look at the meter while somebody talks, and listen on headphones, turned low at first, before recording.",
		Numbers: []Number{{"peak_dbfs", meter.DB(peak)}},
	}
	if peak == 0 {
		f.Title, f.Numbers, f.Confidence = "Silence: every sample is zero", nil, 1
	}
	return f
}

// waveFinding puts the verdict into words.
func (c *Channel) waveFinding(v *verdict) (Finding, bool) {
	f := Finding{Confidence: v.confidence}
	rate := c.rate
	high, cut, runs, longest := c.heldTops(v)
	if high == 0 {
		return f, false // too few samples stand out for a level, so nothing is held at one
	}
	share := 100 * cut / float64(c.total)
	near := func(part float64) func(*slot) bool {
		return func(s *slot) bool { return float64(s.peak) >= part*high }
	}
	cutting := func(s *slot) bool { return s.flats > 0 && float64(s.peak) >= 0.3*high }
	lost := "What was above is gone: repair can guess at it, and turning the file down does not bring it back."
	switch v.main {
	case Full:
		f.Kind = FlatFull
		f.Title = fmt.Sprintf("Flattened at full scale in %d tops, the longest %.2f ms", runs, 1000*float64(longest)/rate)
		f.Means = "The converter, or a program after it, ran out of codes. " + lost
		f.Where, f.Elsewhere = c.spans(func(s *slot) bool { return cutting(s) || float64(s.peak) >= high*(1-1e-6) })
	case Lower:
		f.Kind = FlatLower
		f.Title = fmt.Sprintf("Flattened at %s in %d tops, the longest %.2f ms: cut first, turned down later", level(meter.DB(high)), runs, 1000*float64(longest)/rate)
		f.Means = "A ceiling cut the wave, and a constant gain moved it since, so that no meter shows it. " + lost
		f.Where, f.Elsewhere = c.spans(func(s *slot) bool { return cutting(s) || float64(s.peak) >= high*(1-1e-4) })
	case Moving:
		f.Kind = FlatMoving
		f.Title = fmt.Sprintf("%d flattened tops whose level moves, most near %s, the longest %.2f ms: cut first, then a moving gain", runs, level(meter.DB(high)), 1000*float64(longest)/rate)
		f.Means = "A ceiling cut the wave; a limiter, a compressor or a hand on the fader came after it, too late. " + lost
		f.Where, f.Elsewhere = c.spans(cutting)
	case Softened:
		f.Kind = FlatSoftened
		f.Title = fmt.Sprintf("Tops end in a blurred wall near %s: cut first, then filtered, resampled or coded", level(meter.DB(high)))
		f.Means = "The wave was cut; a filter or a lossy codec put ripple on the tops since. " + lost
		f.Where, f.Elsewhere = c.spans(near(0.93))
	case Rounded:
		f.Kind = Bent
		f.Title = fmt.Sprintf("The highest tops, near %s, are rounded off, as an overdriven analogue stage leaves them", level(meter.DB(high)))
		f.Means = "A microphone, a preamp or a tape was driven beyond its straight range: no single sample is known to be wrong, the loud ones all are a little."
		f.Remedy = "There is nothing to restore from: turn it to a delivery level and leave it. A second track with less level is the cure."
		f.Treatments = []string{"splice", "delivery"}
		f.Advice = "Next time turn the gain before that stage down by 6 to 12 dB, or go back from the microphone if it is the microphone that bends."
		f.Where, f.Elsewhere = c.spans(near(0.9))
	case Limited:
		f.Kind = HeldDown
		f.Title = fmt.Sprintf("Peaks are held at %s without being flattened: a limiter or compressor at work", level(meter.DB(high)))
		f.Means = "The loud moments were turned down in time; their shape is there. Loud and quiet lie closer together than they did."
		f.Remedy = "None is needed. More limiting on top will be heard."
		f.Treatments = []string{"delivery"}
		f.Where, f.Elsewhere = c.spans(near(0.93))
	case Unclear:
		f.Kind = CannotTell
		f.Title = fmt.Sprintf("What its highest tops went through cannot be told: %s, near %s", v.likeliest(), level(meter.DB(high)))
		f.Means = "They look as several things leave them: loud talk as it was, a limiter, an overdriven stage, a cut that was blurred since. This recording alone does not settle which."
		f.Remedy = "Ask how it was recorded, or compare it with a copy made earlier, before you treat it for any of these."
		f.Where, f.Elsewhere = c.spans(near(0.93))
	default:
		return f, false
	}
	f.Numbers = append(f.Numbers, Number{"level_dbfs", meter.DB(high)}, Number{"tops", float64(runs)}, Number{"percent_of_samples", share})
	if longest > 0 {
		f.Numbers = append(f.Numbers, Number{"longest_ms", 1000 * float64(longest) / rate})
	}
	if f.Kind.Clipping() {
		over, spread := c.over(v)
		f.Next = &Next{LowerDB: max(leastRise, tenths(over)), SpreadDB: max(0.1, tenths(spread))}
		f.Remedy = "Splice from a second track with less level if there is one; else declip"
		if over > 8 {
			f.Remedy += ", and do not expect much of so deep a cut"
		}
		f.Remedy += ". A limiter changes nothing about it."
		if v.main == Moving {
			f.Remedy += " Declip reads the gain that came after from the tops, where they tell it, and puts it on again or leaves it out: a limiter can be undone, what was cut before it is a guess."
		}
		f.Treatments = []string{"splice", "declip"}
		f.Advice = fmt.Sprintf("Next time set the gain before the ceiling about %s lower so that this moment just fits, and 6 dB more for the one that is louder still.", f.Next.Words())
	}
	f.WorstS = c.worst(v)
	if n := len(f.Where) + f.Elsewhere; n > 0 {
		f.Title += ", in " + inPlaces(n)
	}
	return f, true
}

func tenths(v float64) float64 { return math.Round(10*v) / 10 }

// likeliest names the two histories that the model holds for the likeliest.
func (v *verdict) likeliest() string {
	words := map[History]string{Whole: "nothing", Moving: "cut under a moving gain", Softened: "cut and blurred since", Rounded: "rounded by overload", Limited: "a limiter"}
	order := []int{0, 1, 2, 3, 4}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(v.p[b], v.p[a]) })
	one, two := order[0], order[1]
	return fmt.Sprintf("%s (%.0f %%) or %s (%.0f %%)", words[learned[one]], 100*v.p[one], words[learned[two]], 100*v.p[two])
}

// heldTops measures the tops of the sides that the verdict speaks of: the level they
// are held at, the samples there, how many tops they are and the longest in samples.
func (c *Channel) heldTops(v *verdict) (high, cut float64, runs, longest int) {
	for k := range c.sides {
		if h := v.history[k]; h != v.main && v.main != Unclear {
			continue
		}
		s := &c.sides[k]
		switch v.main {
		case Full, Lower:
			high = max(high, s.peak)
			cut += float64(s.atPeak)
			runs += max(s.flats.n, s.wallKinks)
			longest = max(longest, s.peakLongest, s.flats.longest)
		case Moving:
			l, _ := s.flats.mode()
			high = max(high, l)
			cut += float64(s.flats.samples)
			runs += s.flats.n
			longest = max(longest, s.flats.longest)
		default:
			w := c.view(k)
			high = max(high, w.r)
			for i, n := range s.samples {
				if sampleEdge(i) >= 0.94*w.r {
					cut += float64(n)
				}
			}
			runs += w.close.n
		}
	}
	return high, cut, runs, longest
}

// worst is a moment at which the damage shows: the tallest of the straight tops, or
// the loudest moment.
func (c *Channel) worst(v *verdict) float64 {
	best, at := 0.0, int64(-1)
	for k := range c.sides {
		if f := &c.sides[k].flats; v.history[k] == v.main && v.main.flattened() && f.worst > best {
			best, at = f.worst, f.worstAt
		}
	}
	if at < 0 {
		high := float32(-1)
		for k := range c.slots.used {
			if p := c.slots.list[k].peak; p > high {
				high, at = p, int64(k)*c.slots.width+c.slots.width/2
			}
		}
	}
	return float64(max(at, 0)) / c.rate
}

// FlatTops counts the straight tops below full scale of a channel that was
// flattened, after Diagnose: how many, the samples in them, the longest in samples,
// and the level at which most lie. They are 0 where nothing is said to be flattened.
func (c *Channel) FlatTops() (n, samples, longest int, level float64) {
	v := c.judgeWave()
	if !v.main.flattened() {
		return 0, 0, 0, 0
	}
	most := 0
	for k := range c.sides {
		f := &c.sides[k].flats
		if v.history[k] == Full {
			continue
		}
		n += f.n
		samples += f.samples
		longest = max(longest, f.longest)
		if f.n > most {
			most = f.n
			level, _ = f.mode()
		}
	}
	return n, samples, longest, level
}

// Clock writes seconds as people do: 7.3 s, 1:07, 1:02:03.
func Clock(s float64) string {
	if s < 60 {
		return fmt.Sprintf("%.1f s", s)
	}
	m := int(s) / 60
	if m < 60 {
		return fmt.Sprintf("%d:%02d", m, int(s)%60)
	}
	return fmt.Sprintf("%d:%02d:%02d", m/60, m%60, int(s)%60)
}

// Places lists where a finding is, at most so many.
func (f *Finding) Places(most int) string {
	var b strings.Builder
	for i, w := range f.Where {
		if i == most {
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		if w.EndS-w.StartS < 1 {
			b.WriteString(Clock(w.StartS))
		} else {
			b.WriteString(Clock(w.StartS) + "–" + Clock(w.EndS))
		}
	}
	if n := len(f.Where) + f.Elsewhere - most; n > 0 {
		fmt.Fprintf(&b, " and %d more", n)
	}
	return b.String()
}
