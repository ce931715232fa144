package meter

import (
	"fmt"
	"math"
	"testing"
)

const (
	srcK     = "ITU-R BS.1770-4 Annex 1 Tables 1 and 2 (transcription)"
	srcKMag  = "computed from the BS.1770-4 tables"
	src1770  = "ITU-R BS.1770-4 Annex 1"
	src3341  = "EBU Tech 3341 (v4, 2023) Table 1 (transcription)"
	src3342  = "EBU Tech 3342 Table 1 (transcription)"
	srcByrne = "K gain over the speech spectra of Byrne et al. 1994 (JASA 96, Table II), computed independently"
	srcSII   = "K gain over the speech spectra of ANSI S3.5-1997, computed independently"
)

func TestKCoefficients(t *testing.T) {
	k := kCoefficients(rate48)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"shelf b0", k.b0, 1.53512485958697}, {"shelf b1", k.b1, -2.69169618940638}, {"shelf b2", k.b2, 1.19839281085285},
		{"shelf a1", k.a1, -1.69065929318241}, {"shelf a2", k.a2, 0.73248077421585},
		{"high-pass a1", k.c1, -1.99004745483398}, {"high-pass a2", k.c2, 0.99007225036621},
	} {
		check(t, "K-weighting", "coefficient at 48 kHz: "+c.name, srcK, c.want, c.got, 0.6e-14, "")
	}
	k = kCoefficients(44100)
	near(t, "44.1 kHz b0", k.b0, 1.53084123005035, 1e-14)
	near(t, "44.1 kHz a2", k.a2, 0.71259542807323, 1e-14)
	near(t, "44.1 kHz c1", k.c1, -1.98916967362980, 1e-14)
	k = kCoefficients(96000)
	near(t, "96 kHz b1", k.b1, -2.92674157825108, 1e-14)
	near(t, "96 kHz c2", k.c2, 0.99502375904092, 1e-14)
}

func TestKMagnitude(t *testing.T) {
	for _, c := range []struct{ f, db float64 }{
		{20, -13.275}, {31.5, -7.790}, {50, -3.934}, {63, -2.664}, {100, -1.133}, {125, -0.728}, {200, -0.265},
		{250, -0.153}, {400, -0.015}, {500, 0.042}, {800, 0.328}, {997, 0.691}, {1000, 0.698}, {1250, 1.342},
		{1600, 2.290}, {2000, 3.071}, {3150, 3.848}, {4000, 3.968}, {5000, 4.013}, {8000, 4.039}, {10000, 4.04},
	} {
		check(t, "K-weighting", fmt.Sprintf("gain at %g Hz, 48 kHz", c.f), srcKMag, c.db, KGainDB(c.f, rate48), 0.0015+0.003*math.Floor(c.f/10000), "dB")
		// The running filter does what the formula says.
		f := NewKWeight(rate48)
		x := sine(rate48, c.f, 1, 0, 4*rate48)
		f.Process(x, x)
		n := int(math.Round(math.Floor(c.f) * rate48 / c.f)) // whole periods
		got := PowerDB(2 * MeanSquare(x[len(x)-n:]))
		near(t, fmt.Sprintf("filtered sine of %g Hz", c.f), got, KGainDB(c.f, rate48), 0.01)
	}
	for rate, db := range map[int]float64{44100: 0.6938, 48000: 0.6910, 96000: 0.6737} {
		check(t, "K-weighting", fmt.Sprintf("gain at 997 Hz, %d Hz rate", rate), srcKMag, db, KGainDB(997, rate), 0.00006, "dB")
	}
}

// Third-octave band levels of speech, dB, from 63 Hz (Byrne) or 160 Hz (SII).
func TestKGainOfSpeech(t *testing.T) {
	byrne := map[string][]float64{
		"combined": {38.6, 43.5, 54.4, 57.7, 56.8, 60.2, 60.3, 59.0, 62.1, 62.1, 60.5, 56.8, 53.7, 53.0, 52.0, 48.7, 48.1, 46.8, 45.6, 44.5, 44.3, 43.7, 43.4, 41.3, 40.7},
		"male":     {38.6, 43.5, 54.4, 57.7, 56.8, 58.2, 59.7, 60.0, 62.4, 62.6, 60.6, 55.7, 53.1, 53.7, 52.3, 48.7, 48.9, 47.0, 46.0, 44.4, 43.3, 42.4, 41.9, 39.8, 40.4},
		"female":   {37.0, 36.0, 37.5, 40.1, 53.4, 62.2, 60.9, 58.1, 61.7, 61.7, 60.4, 58.0, 54.3, 52.3, 51.7, 48.8, 47.3, 46.7, 45.3, 44.6, 45.2, 44.9, 45.0, 42.8, 41.1},
	}
	sums := map[string][2]float64{"combined": {70.03, 65.94}, "male": {70.00, 66.03}, "female": {69.74, 65.93}}
	kGain := map[string]float64{"combined": 0.19, "male": 0.20, "female": 0.28, "normal": 0.33, "raised": 0.61, "loud": 0.94, "shout": 1.43}
	for name, bands := range byrne {
		var p, a, k float64
		for i, l := range bands {
			f := math.Pow(10, float64(18+i)/10)
			p += math.Pow(10, l/10)
			a += math.Pow(10, (l+AWeightDB(f))/10)
			k += math.Pow(10, (l+KGainDB(f, rate48))/10)
		}
		near(t, name+" sum", PowerDB(p), sums[name][0], 0.006)
		check(t, "A-weighting", "speech spectrum, "+name+", A-weighted sum", "Byrne et al. 1994 (JASA 96, Table II), sum computed independently", sums[name][1], PowerDB(a), 0.01, "dB")
		check(t, "K-weighting", "speech spectrum, "+name+", K gain", srcByrne, kGain[name], PowerDB(k/p), 0.01, "dB")
	}
	sii := map[string][]float64{
		"normal": {32.41, 34.48, 34.75, 33.98, 34.59, 34.27, 32.06, 28.30, 25.01, 23.00, 20.15, 17.32, 13.18, 11.55, 9.33, 5.31, 2.59, 1.13},
		"raised": {33.81, 33.92, 38.98, 38.57, 39.11, 40.15, 38.78, 36.37, 33.86, 31.89, 28.58, 25.32, 22.35, 20.15, 16.78, 11.47, 7.67, 5.07},
		"loud":   {35.29, 37.76, 41.55, 43.78, 43.40, 44.85, 45.55, 44.05, 42.16, 40.53, 37.70, 34.39, 30.98, 28.21, 25.41, 18.35, 13.87, 11.39},
		"shout":  {30.77, 36.65, 42.50, 46.51, 47.40, 49.24, 51.21, 51.44, 51.31, 49.63, 47.65, 44.32, 40.80, 38.13, 34.41, 28.24, 23.45, 20.72},
	}
	aSum := map[string]float64{"normal": 59.21, "raised": 66.34, "loud": 73.83, "shout": 82.19}
	for name, perHz := range sii {
		var p, a, k float64
		for i, l := range perHz {
			f := math.Pow(10, float64(22+i)/10)
			l += PowerDB(f * (math.Pow(10, 0.05) - math.Pow(10, -0.05)))
			p += math.Pow(10, l/10)
			a += math.Pow(10, (l+AWeightDB(f))/10)
			k += math.Pow(10, (l+KGainDB(f, rate48))/10)
		}
		check(t, "A-weighting", "speech of effort "+name+", A-weighted sum", "ANSI S3.5-1997 Table 3 (transcription), sum computed independently", aSum[name], PowerDB(a), 0.01, "dB")
		check(t, "K-weighting", "speech of effort "+name+", K gain", srcSII, kGain[name], PowerDB(k/p), 0.01, "dB")
	}
}

// read measures a signal in the same way on every channel.
func read(t *testing.T, rate, channels int, x []float64) *Loudness {
	t.Helper()
	l, err := NewLoudness(rate, channels)
	if err != nil {
		t.Fatal(err)
	}
	l.Write(repeat(x, channels))
	return l
}

func TestCalibration(t *testing.T) {
	x := tones(rate48, 997, segment{0, 20})
	check(t, "loudness", "997 Hz at 0 dBFS in one channel, integrated", src1770, -3.01, read(t, rate48, 1, x).Integrated(), 0.005, "LUFS")
	check(t, "loudness", "997 Hz at 0 dBFS in two channels, integrated", src1770+", computed", 0, read(t, rate48, 2, x).Integrated(), 0.005, "LUFS")
	check(t, "loudness", "1 kHz stereo at −18 dBFS, integrated", "EBU Tech 3341 §2.9 (transcription)", -18, read(t, rate48, 2, tones(rate48, 1000, segment{-18, 20})).Integrated(), 0.1, "LUFS")
	// The surround channels carry 1.5 dB more, the LFE nothing.
	for c, want := range []float64{-3.01, -3.01, -3.01, math.Inf(-1), -3.01 + PowerDB(1.41), -3.01 + PowerDB(1.41)} {
		l, _ := NewLoudness(rate48, 6)
		p := repeat(make([]float64, len(x)), 6)
		p[c] = x
		l.Write(p)
		check(t, "loudness", fmt.Sprintf("997 Hz at 0 dBFS in channel %d of L R C LFE Ls Rs", c+1), "ITU-R BS.1770-4 Table 3", want, l.Integrated(), 0.005, "LUFS")
	}
	l, _ := NewLoudness(rate48, 1)
	if err := l.SetWeights([]float64{2}); err != nil {
		t.Fatal(err)
	}
	l.WriteMono(x)
	check(t, "loudness", "mono file counted as two loudspeakers", "definition: +3.01 LU", -3.01+3.0103, l.Integrated(), 0.005, "LUFS")
	// Every rate reads the same tone the same.
	for _, rate := range []int{8000, 11025, 16000, 22050, 32000, 44100, 88200, 96000, 192000, 37123} {
		got := read(t, rate, 1, tones(rate, 997, segment{-23, 10}))
		want := -23 - 3.01 + KGainDB(997, rate) - KGainDB(997, rate48)
		check(t, "loudness", fmt.Sprintf("997 Hz at −23 dBFS, %d Hz rate, integrated", rate), "K gain of the rate at 997 Hz, computed", want, got.Integrated(), 0.005, "LUFS")
		near(t, "momentary", got.Momentary(), want, 0.01)
		near(t, "short-term", got.ShortTerm(), want, 0.01)
	}
}

func TestTech3341Loudness(t *testing.T) {
	stereo := func(segs ...segment) *Loudness { return read(t, rate48, 2, tones(rate48, 1000, segs...)) }
	is := func(what string, want, got float64) {
		t.Helper()
		check(t, "loudness", "Tech 3341 "+what, src3341, want, got, 0.1, "LUFS")
	}
	for n, db := range map[int]float64{1: -23, 2: -33} {
		l := stereo(segment{db, 20})
		is(fmt.Sprintf("signal %d, momentary", n), db, l.Momentary())
		is(fmt.Sprintf("signal %d, short-term", n), db, l.ShortTerm())
		is(fmt.Sprintf("signal %d, integrated", n), db, l.Integrated())
	}
	is("signal 3, integrated", -23, stereo(segment{-36, 10}, segment{-23, 60}, segment{-36, 10}).Integrated())
	is("signal 4, integrated", -23, stereo(segment{-72, 10}, segment{-36, 10}, segment{-23, 60}, segment{-36, 10}, segment{-72, 10}).Integrated())
	is("signal 5, integrated", -23, stereo(segment{-26, 20}, segment{-20, 20.1}, segment{-26, 20}).Integrated())
	l, _ := NewLoudness(rate48, 5)
	var p [][]float64
	for _, db := range []float64{-28, -28, -24, -30, -30} {
		p = append(p, tones(rate48, 1000, segment{db, 20}))
	}
	l.Write(p)
	is("signal 6, integrated", -23, l.Integrated())
}

// worst feeds x in steps of a millisecond and returns the reading furthest from
// want after the first seconds: what a needle would show in between.
func worst(l *Loudness, x []float64, after, want float64, reading func() float64) float64 {
	const step = rate48 / 1000
	p := make([][]float64, 2)
	got := want
	for at := 0; at+step <= len(x); at += step {
		p[0], p[1] = x[at:at+step], x[at:at+step]
		l.Write(p)
		if r := reading(); at+step >= int(after*rate48) && math.Abs(r-want) > math.Abs(got-want) {
			got = r
		}
	}
	return got
}

func TestTech3341Windows(t *testing.T) {
	var segs []segment
	for range 5 {
		segs = append(segs, segment{-20, 1.34}, segment{-30, 1.66})
	}
	l, _ := NewLoudness(rate48, 2)
	check(t, "loudness", "Tech 3341 signal 9, short-term after 3 s, worst of every millisecond", src3341, -23,
		worst(l, tones(rate48, 1000, segs...), 3, -23, l.ShortTerm), 0.1, "LUFS")
	segs = nil
	for range 25 {
		segs = append(segs, segment{-20, 0.18}, segment{-30, 0.22})
	}
	l, _ = NewLoudness(rate48, 2)
	check(t, "loudness", "Tech 3341 signal 12, momentary after 1 s, worst of every millisecond", src3341, -23,
		worst(l, tones(rate48, 1000, segs...), 1, -23, l.Momentary), 0.1, "LUFS")

	for i := range 20 {
		d := float64(i) * 0.15
		l := read(t, rate48, 2, tones(rate48, 1000, segment{silent, d}, segment{-23, 3}, segment{silent, 1}))
		check(t, "loudness", fmt.Sprintf("Tech 3341 signal 10, segment %d, maximum short-term", i), src3341, -23, l.MaxShortTerm(), 0.1, "LUFS")
		d = float64(i) * 0.02
		l = read(t, rate48, 2, tones(rate48, 1000, segment{silent, d}, segment{-23, 0.4}, segment{silent, 1}))
		check(t, "loudness", fmt.Sprintf("Tech 3341 signal 13, segment %d, maximum momentary", i), src3341, -23, l.MaxMomentary(), 0.1, "LUFS")
	}
	// Live: one stream, the running maximum read after every tone.
	short, _ := NewLoudness(rate48, 2)
	moment, _ := NewLoudness(rate48, 2)
	for i := range 20 {
		db := float64(i - 38)
		d := float64(i) * 0.15
		short.Write(repeat(tones(rate48, 1000, segment{silent, d}, segment{db, 3}, segment{silent, 3 - d}), 2))
		check(t, "loudness", fmt.Sprintf("Tech 3341 signal 11, tone %d, maximum short-term", i), src3341, db, short.MaxShortTerm(), 0.1, "LUFS")
		d = float64(i) * 0.02
		moment.Write(repeat(tones(rate48, 1000, segment{silent, d}, segment{db, 0.4}, segment{silent, 0.4 - d}), 2))
		check(t, "loudness", fmt.Sprintf("Tech 3341 signal 14, tone %d, maximum momentary", i), src3341, db, moment.MaxMomentary(), 0.1, "LUFS")
	}
}

func TestTech3342(t *testing.T) {
	for i, c := range []struct {
		levels []float64
		lra    float64
	}{
		{[]float64{-20, -30}, 10},
		{[]float64{-20, -15}, 5},
		{[]float64{-40, -20}, 20},
		{[]float64{-50, -35, -20, -35, -50}, 15},
	} {
		var segs []segment
		for _, db := range c.levels {
			segs = append(segs, segment{db, 20})
		}
		l := read(t, rate48, 2, tones(rate48, 1000, segs...))
		check(t, "loudness range", fmt.Sprintf("Tech 3342 signal %d", i+1), src3342, c.lra, l.Range(), 1, "LU")
		// The level steps leave no doubt about the percentiles.
		near(t, fmt.Sprintf("Tech 3342 signal %d", i+1), l.Range(), c.lra, 0.05)
	}
}

func TestGates(t *testing.T) {
	// Nothing above −70 LUFS: nothing to report.
	l := read(t, rate48, 2, tones(rate48, 1000, segment{-71, 10}))
	if got := l.Integrated(); !math.IsInf(got, -1) || l.Range() != 0 {
		t.Errorf("below the absolute gate: integrated %v, range %v", got, l.Range())
	}
	near(t, "momentary below the gate", l.Momentary(), -71, 0.02)
	l = read(t, rate48, 2, tones(rate48, 1000, segment{-69, 10}))
	near(t, "just above the absolute gate", l.Integrated(), -69, 0.02)
	// Silence after sound leaves no trace in the windows.
	l = read(t, rate48, 2, tones(rate48, 1000, segment{0, 5}, segment{silent, 30}))
	if !math.IsInf(l.Momentary(), -1) || !math.IsInf(l.ShortTerm(), -1) {
		t.Errorf("30 s after a tone: momentary %v, short-term %v, want −Inf", l.Momentary(), l.ShortTerm())
	}
	// 47 blocks of tone; three reach into the silence with ¾, ½ and ¼ of one.
	near(t, "integrated with silence gated out", l.Integrated(), PowerDB((47+1.5)/50), 0.02)
	// Far over full scale, as a float file may be: still gated and measured.
	l = read(t, rate48, 2, tones(rate48, 1000, segment{-20, 5}, segment{300, 5}))
	near(t, "at +300 dBFS", l.Integrated(), 300, 0.2)
	// The last block is dropped when it is incomplete: 399 ms hold none.
	l = read(t, rate48, 2, tones(rate48, 1000, segment{-20, 0.399}))
	if !math.IsInf(l.Integrated(), -1) {
		t.Errorf("399 ms read %v, want no complete block", l.Integrated())
	}
	l = read(t, rate48, 2, tones(rate48, 1000, segment{-20, 0.4}))
	near(t, "one block", l.Integrated(), -20, 0.05)
	// The relative gate at 10 LU: a quieter half is in at −9.5, out at −11.5.
	in := read(t, rate48, 2, tones(rate48, 1000, segment{-20, 60}, segment{-28.5, 60})).Integrated()
	out := read(t, rate48, 2, tones(rate48, 1000, segment{-20, 60}, segment{-34, 60})).Integrated()
	near(t, "quiet half inside the gate", in, PowerDB((math.Pow(10, -2)+math.Pow(10, -2.85))/2), 0.03)
	near(t, "quiet half outside the gate", out, -20, 0.03)
}

// Gated sums against a straightforward reading of the standard, with all blocks
// kept: the histogram must not be felt.
func TestHistogramIsExactEnough(t *testing.T) {
	for seed := range uint64(6) {
		x := babble(seed, rate48, 40*rate48)
		tilt := noise(seed+100, 1, 40)
		for i := range x {
			x[i] *= FromDB(8 * tilt[i/rate48])
		}
		l := read(t, rate48, 1, x)
		f := NewKWeight(rate48)
		f.Process(x, x)
		block := func(width, hop int) []float64 {
			var z []float64
			for at := 0; at+width <= len(x); at += hop {
				z = append(z, MeanSquare(x[at:at+width]))
			}
			return z
		}
		gate := func(z []float64, db float64) []float64 {
			var out []float64
			for _, v := range z {
				if loudnessOf(v) > db {
					out = append(out, v)
				}
			}
			return out
		}
		mean := func(z []float64) float64 { return sum(z) / float64(len(z)) }
		z := gate(block(rate48*4/10, rate48/10), -70)
		z = gate(z, loudnessOf(mean(z))-10)
		near(t, fmt.Sprintf("integrated, seed %d", seed), l.Integrated(), loudnessOf(mean(z)), 0.002)
		s := gate(block(3*rate48, rate48/10), -70)
		s = gate(s, loudnessOf(mean(s))-20)
		near(t, fmt.Sprintf("range, seed %d", seed), l.Range(), loudnessOf(percentile(s, 95))-loudnessOf(percentile(s, 10)), 0.01)
	}
}

func percentile(z []float64, p float64) float64 {
	z = append([]float64(nil), z...)
	for i := range z {
		for j := i; j > 0 && z[j] < z[j-1]; j-- {
			z[j], z[j-1] = z[j-1], z[j]
		}
	}
	return z[int(math.Round(p/100*float64(len(z)-1)))]
}

func TestLoudnessErrors(t *testing.T) {
	for _, c := range [][2]int{{7999, 1}, {192001, 1}, {0, 1}, {48000, 0}, {48000, -1}} {
		if _, err := NewLoudness(c[0], c[1]); err == nil {
			t.Errorf("rate %d with %d channels was accepted", c[0], c[1])
		}
	}
	l, _ := NewLoudness(rate48, 2)
	for _, w := range [][]float64{nil, {1}, {1, -1}, {1, math.NaN()}, {1, math.Inf(1)}} {
		if l.SetWeights(w) == nil {
			t.Errorf("weights %v were accepted", w)
		}
	}
	for name, p := range map[string][][]float64{"too few channels": {nil}, "unequal lengths": {make([]float64, 3), make([]float64, 4)}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s did not panic", name)
				}
			}()
			l.Write(p)
		}()
	}
}
