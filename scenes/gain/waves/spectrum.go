package waves

import (
	"math"

	"gainwright/scenes/bench"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim"

	"gonum.org/v1/gonum/dsp/fourier"
)

// specBins is how many lines a spectrum of one Window has.
const specBins = bench.WindowFrames/2 + 1

// Spectrum compares what was spoken with what is in the file, at the moment that
// the waves show: what clipping adds stands above what was spoken. It is worked
// out only while it is shown, and only when the moment is another.
type Spectrum struct {
	fill       []ink.Point
	fft        *fourier.FFT
	win        []float64
	x          []float64
	coef       []complex128
	spoken     [specBins]float64 // dB re the strongest line spoken
	file       [specBins]float64 // the same, at the same level
	noise      float64           // what noise has in one line
	addedDB    float64           // how much more there is above addedHz
	Ok         bool
	key        specKey
	Plot, Head ink.Rect
	names      ink.Rect
	a, b       []ink.Point
	hatch      []ink.Point
	num        [10]ui.Num
	txt, Cap   ui.Strs
}

type specKey struct {
	t     *bench.Take
	at    int64
	strip int
	shot  int64
}

const (
	addedHz = 4000
	// addedFromHz is where what is added is hatched from: the noise of a room lies
	// below.
	addedFromHz = 250
	specLow     = -84.0
	specHz0     = 80.0
	specHz1     = 20000.0
	specAboveD  = 3 // dB above what was spoken, to count as added
)

// NewSpectrum makes an empty picture.
func NewSpectrum() *Spectrum {
	s := &Spectrum{fft: fourier.NewFFT(bench.WindowFrames), win: make([]float64, bench.WindowFrames), x: make([]float64, bench.WindowFrames), coef: make([]complex128, specBins)}
	for i := range s.win {
		s.win[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/bench.WindowFrames)
	}
	return s
}

func (s *Spectrum) power(dst *[specBins]float64, x []float64) {
	for i, v := range x {
		s.x[i] = v * s.win[i]
	}
	s.fft.Coefficients(s.coef, s.x)
	for i, c := range s.coef {
		dst[i] = real(c)*real(c) + imag(c)*imag(c)
	}
}

// update works the spectra out, if they are of another moment.
func (s *Spectrum) update(w *View) {
	v := w.v
	win, ok := w.Current()
	if !ok {
		s.Ok = false
		return
	}
	k := specKey{at: w.At, strip: v.Shown, shot: win.Start}
	t := v.Bench.Shown()
	review := t != nil
	if review {
		k.t, k.shot = t, 0
	}
	if s.Ok && k == s.key {
		return
	}
	s.key = k
	c := v.Chain(v.Shown)
	var spoken, file [bench.WindowFrames]float64
	if review {
		// The tracks are kept with more digits than the pictures.
		gain := sim.ToFullScale(c)[sim.AtTalker]
		for i := range bench.WindowFrames {
			if f := w.At - bench.WindowFrames/2 + int64(i); f >= 0 && f < t.Frames() {
				spoken[i], file[i] = float64(t.Spoken[f])*gain, float64(t.File[v.Shown][f])
			}
		}
	} else {
		x := &win.Strip[v.Shown]
		for i := range bench.WindowFrames {
			spoken[i], file[i] = float64(x.Truth[i]), float64(x.File[i])
		}
	}
	s.compare(spoken[:], file[:], c)
}

func (s *Spectrum) compare(spoken, file []float64, c sim.Chain) {
	var sf, ss, ff float64
	for i, v := range spoken {
		sf += v * file[i]
		ss += v * v
		ff += file[i] * file[i]
	}
	s.Ok = ss > 0 && ff > 0 && sf > 0
	if !s.Ok {
		return
	}
	g := sf / ss
	s.power(&s.spoken, spoken)
	s.power(&s.file, file)
	top, hiS, hiF := 0.0, 0.0, 0.0
	n := 0.0
	for _, p := range sim.NoiseParts(c) {
		n += p.RMS * p.RMS
	}
	// White noise of that power, through the window, in one line.
	sum := 0.0
	for _, w := range s.win {
		sum += w * w
	}
	noise := n * sum / (g * g)
	for i := range s.spoken {
		s.file[i] /= g * g
		top = max(top, s.spoken[i])
		if float64(i)*bench.Rate/bench.WindowFrames >= addedHz {
			hiS += s.spoken[i]
			hiF += s.file[i]
		}
	}
	s.addedDB = 10 * math.Log10(hiF/max(hiS, 1e-30))
	s.noise = 10 * math.Log10(max(noise/top, 1e-20))
	for i := range s.spoken {
		s.spoken[i] = 10 * math.Log10(max(s.spoken[i]/top, 1e-12))
		s.file[i] = 10 * math.Log10(max(s.file[i]/top, 1e-12))
	}
}

// Layout puts the picture into box.
func (s *Spectrum) Layout(th *ui.Theme, box ink.Rect) {
	in := box
	s.names = ui.Bottom(&in, th.Row(ui.Tiny))
	ui.Left(&in, ink.Measure("−80 dB", th.Style(ui.Tiny, ink.Regular, ink.Left, th.Say))+8)
	s.Plot = in
}

var specTicks = [...]float64{100, 200, 500, 1000, 2000, 5000, 10000, 20000}

// Draw draws what clipping added to what w shows.
func (s *Spectrum) Draw(w *View, l *ink.List, th *ui.Theme) {
	s.update(w)
	v := w.v
	head := s.Head
	st := th.Style(ui.Strong, ink.Bold, ink.Left, th.Say)
	title := ui.Fit(st, head.W, "What clipping adds", "Spectrum")
	l.TextIn(ui.Left(&head, min(ink.Measure(title, st)+1, head.W)), title, st)
	ui.Left(&head, 12)
	sub := th.Style(ui.Tiny, ink.Regular, ink.Left, th.SayDim)
	p := s.Plot
	l.Fill(p, 5, th.Well)
	x := func(hz float64) float32 {
		return p.X + float32(math.Log(hz/specHz0)/math.Log(specHz1/specHz0))*p.W
	}
	y := func(db float64) float32 { return p.Y + 4 + float32(min(max(db/specLow, 0), 1))*(p.H-4) }
	for i, db := range [3]float64{-20, -40, -60} {
		yy := y(db)
		l.Line(1, th.Grid, ink.Point{X: p.X, Y: yy}, ink.Point{X: p.Right(), Y: yy})
		row := th.Row(ui.Tiny)
		l.TextIn(ink.Rect{X: p.X - 80*th.Text, Y: yy - row/2, W: 80*th.Text - 6, H: row}, s.num[i].Text("", db, 0, " dB"), th.Style(ui.Tiny, ink.Regular, ink.Right, th.SayDim))
	}
	last := float32(-100)
	for _, hz := range specTicks {
		xx := x(hz)
		l.Line(1, th.Grid, ink.Point{X: xx, Y: p.Y}, ink.Point{X: xx, Y: p.Bottom()})
		word := hzWords[hz]
		tick := th.Style(ui.Tiny, ink.Regular, ink.Middle, th.SayDim)
		w := ink.Measure(word, tick)
		if xx-w/2 < last+8 || xx+w/2 > p.Right()+14 {
			continue
		}
		last = xx + w/2
		l.TextIn(ink.Rect{X: xx - w/2 - 1, Y: s.names.Y, W: w + 2, H: s.names.H}, word, tick)
	}
	if !s.Ok {
		l.TextIn(head, ui.Fit(sub, head.W, "nothing heard yet", ""), sub)
		return
	}
	cap := s.Cap.Get([6]int64{ui.Q(s.addedDB, 1), int64(head.W), int64(th.Text * 100), int64(v.Shown)}, func() string {
		more := ui.Decimal(s.addedDB, 1)
		what := "strip " + bench.StripNames[v.Shown] + ": above 4 kHz " + more + " dB more than was spoken"
		if s.addedDB < 0.5 {
			what = "strip " + bench.StripNames[v.Shown] + ": above 4 kHz no more than was spoken"
		}
		return ui.Fit(sub, head.W, what+" (at the same level); thin line: as spoken", what, "above 4 kHz: +"+more+" dB", "")
	})
	l.TextIn(head, cap, sub)
	l.Clip(p)
	s.a, s.b, s.hatch = s.a[:0], s.b[:0], s.hatch[:0]
	flush := func() {
		if len(s.hatch) >= 4 {
			l.HatchStrip(th.Lost, th.Lost.Alpha(0.25), 1.5, 4.5, s.hatch...)
		}
		s.hatch = s.hatch[:0]
	}
	fill := s.fill[:0]
	step := float32(1.5)
	for px := p.X; px < p.Right(); px += step {
		f0 := specHz0 * math.Pow(specHz1/specHz0, float64((px-p.X)/p.W))
		f1 := specHz0 * math.Pow(specHz1/specHz0, float64((px+step-p.X)/p.W))
		sp, fl := s.line(&s.spoken, f0, f1), s.line(&s.file, f0, f1)
		s.a = append(s.a, ink.Point{X: px, Y: y(sp)})
		s.b = append(s.b, ink.Point{X: px, Y: y(fl)})
		fill = append(fill, ink.Point{X: px, Y: y(fl)}, ink.Point{X: px, Y: p.Bottom()})
	}
	s.fill = fill
	l.Strip(th.Signal.Alpha(0.35), th.Signal.Alpha(0.06), fill...)
	for i := range s.a {
		sp, fl := s.a[i], s.b[i]
		if fl.X > x(addedFromHz) && fl.Y < sp.Y-float32(specAboveD)/float32(-specLow)*(p.H-4) && fl.Y < y(s.noise+12) {
			s.hatch = append(s.hatch, fl, sp)
		} else {
			flush()
		}
	}
	flush()
	l.Line(1.8, th.Signal, s.b...)
	l.Line(1, th.True.Alpha(0.9), s.a...)
	l.Unclip()
}

var hzWords = map[float64]string{100: "100 Hz", 200: "200", 500: "500", 1000: "1 kHz", 2000: "2 k", 5000: "5 k", 10000: "10 k", 20000: "20 k"}

// line is the highest of the lines between two frequencies, or between the
// nearest two.
func (s *Spectrum) line(x *[specBins]float64, f0, f1 float64) float64 {
	const per = float64(bench.WindowFrames) / bench.Rate
	a, b := f0*per, f1*per
	i, j := int(math.Ceil(a)), int(math.Floor(b))
	if j < i {
		k := min(int(a), specBins-2)
		t := a - float64(k)
		return x[k] + (x[k+1]-x[k])*t
	}
	m := math.Inf(-1)
	for k := i; k <= min(j, specBins-1); k++ {
		m = max(m, x[k])
	}
	return m
}
