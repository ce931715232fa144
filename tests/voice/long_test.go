//go:build full

package voice_test

import (
	"fmt"
	"math"
	"sort"
	"testing"

	"gainwright/sounds/voice"
	"gainwright/sounds/voice/english"
	"gainwright/tests/trust"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Byrne et al. 1994, JASA 96(4):2108-2120, Table II, combined: band levels for
// 70 dB overall, 80 Hz .. 8 kHz.
var byrne = []float64{43.5, 54.4, 57.7, 56.8, 60.2, 60.3, 59.0, 62.1, 62.1, 60.5, 56.8, 53.7, 53.0, 52.0, 48.7, 48.1, 46.8, 45.6, 44.5, 44.3, 43.7}

// ANSI S3.5-1997 Table 3, spectrum levels, 160 Hz .. 8 kHz.
var ansi = map[string][]float64{
	"normal": {32.41, 34.48, 34.75, 33.98, 34.59, 34.27, 32.06, 28.30, 25.01, 23.00, 20.15, 17.32, 13.18, 11.55, 9.33, 5.31, 2.59, 1.13},
	"raised": {33.81, 33.92, 38.98, 38.57, 39.11, 40.15, 38.78, 36.37, 33.86, 31.89, 28.58, 25.32, 22.35, 20.15, 16.78, 11.47, 7.67, 5.07},
	"loud":   {35.29, 37.76, 41.55, 43.78, 43.40, 44.85, 45.55, 44.05, 42.16, 40.53, 37.70, 34.39, 30.98, 28.21, 25.41, 18.35, 13.87, 11.39},
	"shout":  {30.77, 36.65, 42.50, 46.51, 47.40, 49.24, 51.21, 51.44, 51.31, 49.63, 47.65, 44.32, 40.80, 38.13, 34.41, 28.24, 23.45, 20.72},
}

func centre(b int) float64 { return 1000 * math.Pow(10, float64(b-11)/10) }

func thirds(x []float64) []float64 {
	const n = 16384
	fft := fourier.NewFFT(n)
	psd := make([]float64, n/2+1)
	buf := make([]float64, n)
	var co []complex128
	for at := 0; at+n <= len(x); at += n / 2 {
		for i := range buf {
			buf[i] = x[at+i] * (.5 - .5*math.Cos(2*math.Pi*float64(i)/n))
		}
		co = fft.Coefficients(co, buf)
		for k, c := range co {
			psd[k] += real(c)*real(c) + imag(c)*imag(c)
		}
	}
	out := make([]float64, len(byrne))
	const df = float64(voice.Rate) / n
	for b := range out {
		lo, hi := centre(b)*math.Pow(10, -.05), centre(b)*math.Pow(10, .05)
		e := 0.0
		for k := 1; k < len(psd)-1; k++ {
			if l, h := max(lo, (float64(k)-.5)*df), min(hi, (float64(k)+.5)*df); h > l {
				e += psd[k] * (h - l) / df
			}
		}
		out[b] = 10 * math.Log10(max(1e-30, e))
	}
	return out
}

func misfit(got []float64, want func(int) float64, from int) (rms, worst float64) {
	eg, et := 0.0, 0.0
	for b := from; b < len(got); b++ {
		eg += math.Pow(10, got[b]/10)
		et += math.Pow(10, want(b)/10)
	}
	shift := 10 * math.Log10(et/eg)
	for b := from; b < len(got); b++ {
		d := got[b] + shift - want(b)
		rms += d * d / float64(len(got)-from)
		worst = max(worst, math.Abs(d))
	}
	return math.Sqrt(rms), worst
}

// rise is how far F0 stands over normal effort, in semitones.
func rise(tk voice.Talker, effort int) float64 {
	r := []float64{-1.5, 0, 2.4, 5, 8.5}[effort]
	if tk.Child && r > 0 {
		r *= .35
	}
	return r
}

// TestFiveMinutes holds every talker to the published levels and spectra over
// five minutes of speech. Bands under 0.9 times the talker's F0 at that effort
// hold nothing and are left out.
func TestFiveMinutes(t *testing.T) {
	t.Logf("%-8s %-7s %8s %6s %6s | %-15s | %-9s", "talker", "effort", "dB SPL", "crest", "pause", "Byrne rms/worst", "ANSI rms")
	for _, tk := range chosen(t) {
		for i, e := range []voice.Effort{voice.Quiet, voice.Normal, voice.Raised, voice.Loud, voice.Shout} {
			x := talk(t, tk.Name, e, uint64(1000+i), 300)
			spl, share := active(x)
			pk := 0.0
			for _, v := range x {
				pk = max(pk, math.Abs(v))
			}
			crest := 20*math.Log10(pk/20e-6) - spl
			src := "ANSI S3.5-1997, overall speech levels at 1 m"
			if e == voice.Quiet {
				src = "own choice, near ISO 9921:2003 'relaxed' (from memory)"
			}
			trust.Record(t, trust.Check{Area: "talkers", What: fmt.Sprintf("%s, %s: level over active speech", tk.Name, e), Source: src,
				Got: spl, Expected: e.SPL(), Tolerance: .3, Unit: "dB"})
			if crest < 12 || crest > 22 {
				t.Errorf("%s %s: crest factor %.1f dB in five minutes", tk.Name, e, crest)
			}
			b := thirds(x)
			low := 0
			for centre(low) < tk.F0Hz*math.Exp2(rise(tk, i)/12)*.9 {
				low++
			}
			row := fmt.Sprintf("%-8s %-7s %8.2f %6.1f %5.0f%% |", tk.Name, e, spl, crest, 100*(1-share))
			if e == voice.Normal {
				rms, worst := misfit(b, func(b int) float64 { return byrne[b] }, low)
				row += fmt.Sprintf(" %5.2f / %5.2f   |", rms, worst)
				const by = "Byrne et al. 1994, JASA 96(4), Table II, combined"
				trust.Record(t, trust.Check{Area: "talkers", What: tk.Name + ": long-term spectrum, rms over thirds", Source: by, Got: rms, Expected: 1.5, Op: "<=", Unit: "dB"})
				trust.Record(t, trust.Check{Area: "talkers", What: tk.Name + ": long-term spectrum, worst third", Source: by, Got: worst, Expected: 4, Op: "<=", Unit: "dB"})
				// Read or told speech pauses for some 15 to 45 % of the time
				// (Goldman-Eisler 1968 and others; from memory).
				if share < .55 || share > .87 {
					t.Errorf("%s: speaks %.0f %% of the time", tk.Name, 100*share)
				}
			} else {
				row += "                 |"
			}
			if e != voice.Quiet {
				low = max(low, 3)
				a := ansi[e.String()]
				rms, _ := misfit(b, func(b int) float64 {
					return a[b-3] + 10*math.Log10(centre(b)*(math.Pow(10, .05)-math.Pow(10, -.05)))
				}, low)
				row += fmt.Sprintf(" %5.2f", rms)
				trust.Record(t, trust.Check{Area: "talkers", What: fmt.Sprintf("%s, %s: spectrum, rms over thirds", tk.Name, e), Source: "ANSI S3.5-1997 Table 3",
					Got: rms, Expected: 2.5, Op: "<=", Unit: "dB"})
			}
			t.Log(row)
		}
	}
}

// TestConversation renders 45 minutes of two talkers to the end and measures
// what a meter would see: both talk, the talk grows louder, and what is loudest
// is no ordinary sentence.
func TestConversation(t *testing.T) {
	const minutes = 45
	p, err := voice.New(voice.GenerateConversation(11, minutes, "captain", "maren"), "captain", 11)
	if err != nil {
		t.Fatal(err)
	}
	if m := p.Seconds() / 60; math.Abs(m-minutes) > 1 {
		t.Errorf("%d minutes became %.1f", minutes, m)
	}
	marks := p.Marks()
	third := p.Length() / 3
	var levels []float64
	top, topAt := 0.0, 0
	buf := make([]float64, voice.Rate)
	for part := range 3 {
		var x []float64
		for p.Position() < (part+1)*third {
			n, err := p.Read(buf[:min(len(buf), (part+1)*third-p.Position())])
			if err != nil {
				t.Fatal(err)
			}
			for i, v := range buf[:n] {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("sample %d is %v", p.Position()-n+i, v)
				}
				if math.Abs(v) > top {
					top, topAt = math.Abs(v), p.Position()-n+i
				}
			}
			x = append(x, buf[:n]...)
		}
		spl, _ := median(x)
		levels = append(levels, spl)
	}
	count := map[string]int{}
	talked := map[string]float64{}
	loudest := "nothing"
	at := float64(topAt) / voice.Rate
	for _, m := range marks {
		count[m.Kind]++
		if m.Kind == "say" {
			talked[m.Talker] += m.EndS - m.StartS
		}
		if m.StartS <= at && at <= m.EndS && m.Kind != "lean" {
			loudest = fmt.Sprintf("%s by %s at effort %.2f", m.Kind, m.Talker, m.Effort)
			if m.Kind == "say" && m.Effort < .5 {
				t.Errorf("the loudest moment is ordinary talk: %s", loudest)
			}
		}
	}
	t.Logf("thirds: %.1f, %.1f, %.1f dB SPL while speaking; peak %.1f dB SPL in %s", levels[0], levels[1], levels[2], 20*math.Log10(top/20e-6), loudest)
	t.Logf("%v; captain speaks for %.0f s, maren for %.0f s", count, talked["captain"], talked["maren"])
	if levels[2]-levels[0] < 1 {
		t.Error("the talk does not grow louder")
	}
	if talked["captain"] < 300 || talked["maren"] < 300 || count["laugh"] < 5 {
		t.Errorf("one hardly talks, or nobody laughs: %v %v", talked, count)
	}
}

// median is the level in dB SPL exceeded by half of the seconds that hold
// speech (those within 30 dB of the loudest), and how many those are.
func median(x []float64) (spl float64, n int) {
	var l []float64
	for ; len(x) >= voice.Rate; x = x[voice.Rate:] {
		s := 0.0
		for _, v := range x[:voice.Rate] {
			s += v * v
		}
		l = append(l, 10*math.Log10(max(1e-30, s/voice.Rate)/4e-10))
	}
	sort.Float64s(l)
	for len(l) > 0 && l[0] < l[len(l)-1]-30 {
		l = l[1:]
	}
	return l[len(l)/2], len(l)
}

// TestClippedSpeechIsHarderToRecognise: the same sentences clipped flat 6 to
// 24 dB under their peak. (People go on understanding clipped speech far
// longer than a recogniser does: Licklider & Pollack 1948, from memory.)
func TestClippedSpeechIsHarderToRecognise(t *testing.T) {
	needs(t, "pocketsphinx_batch", model+"en-us/mdef")
	for _, name := range []string{"joss", "ilse"} {
		if *talkersFlag != "" && *talkersFlag != name {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var any []float64
			for _, db := range []float64{0, 6, 12, 18, 24} {
				s, _ := measure(t, talkerSays(t, name, voice.Normal, db), 1, false)
				t.Logf("%-6s clipped %2.0f dB: slot %5.1f %%  any %5.1f %%", name, db, s.slot, s.any)
				any = append(any, s.any)
			}
			if !(any[2] < any[0] && any[3] < any[2] && any[4] < any[3]) {
				t.Errorf("%s: errors do not grow with clipping: %v", name, any)
			}
		})
	}
}

// TestSpellingAgainstDictionary compares our pronunciations with those of the
// recogniser's dictionary (CMU Pronouncing Dictionary) for its common words.
func TestSpellingAgainstDictionary(t *testing.T) {
	needs(t, model+"cmudict-en-us.dict")
	dict := dictionary(t)
	words, exact, phones, wrong := 0, 0, 0, 0
	for w, ref := range dict {
		if len(w) < 4 || len(w) > 9 {
			continue
		}
		h := uint32(2166136261)
		for i := range len(w) {
			h = (h ^ uint32(w[i])) * 16777619
		}
		if h%29 != 0 { // a fixed sample
			continue
		}
		got, err := english.Pronounce(w)
		if err != nil {
			continue
		}
		words++
		bad := 0
		for _, p := range align(ref, got) {
			if p[0] != p[1] {
				bad++
			}
		}
		if bad == 0 {
			exact++
		}
		phones += len(ref)
		wrong += bad
	}
	t.Logf("%d words: %.1f %% exact, %.1f %% of phones wrong", words, 100*float64(exact)/float64(words), 100*float64(wrong)/float64(phones))
	if float64(wrong) > .35*float64(phones) {
		t.Error("the letter rules are worse than they were")
	}
}
