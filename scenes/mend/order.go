package mend

import (
	"fmt"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim"
	"gainwright/sim/repair"
	"math"
	"strings"
)

// mendKind is one of the treatments to stack.
type mendKind struct {
	id, name string
	hint     string
	words    []string // the first that fits
	make     func(m *mendTake, o mendOrder) repair.Treatment
}

var mendKinds = []mendKind{
	{"declip", "Declip", "Guesses what was cut off from what is left.", []string{"declip: guess the lost peaks", "declip"},
		func(_ *mendTake, o mendOrder) repair.Treatment {
			d := repair.Declip{Effort: o.effort}
			if o.unlimit {
				d.Reduction = repair.UndoReduction
			}
			return d
		}},
	{"splice", "Splice from the safety track", "Puts the clipped passages in from a second track recorded with less gain.", []string{"splice from the safety track", "splice, safety track", "splice"},
		func(m *mendTake, _ mendOrder) repair.Treatment { return m.splice() }},
	{"highpass", "High-pass", "Takes away what lies below 80 Hz.", []string{"high-pass, 80 Hz", "high-pass"},
		func(*mendTake, mendOrder) repair.Treatment { return repair.DefaultHighPass() }},
	{"denoise", "Noise reduction", "Takes steady noise down by 15 dB.", []string{"noise reduction, 15 dB", "noise reduction", "less noise"},
		func(*mendTake, mendOrder) repair.Treatment { return repair.DefaultDenoise() }},
	{"compress", "Compressor", "3:1 above −24 dBFS.", []string{"compressor, 3:1 above −24 dBFS", "compressor, 3:1", "compressor"},
		func(*mendTake, mendOrder) repair.Treatment { return repair.DefaultCompress() }},
	{"limit", "Limiter", "Holds peaks at −6 dBFS, looking 2 ms ahead.", []string{"limiter at −6 dBFS", "limiter"},
		func(*mendTake, mendOrder) repair.Treatment {
			return repair.Limit{CeilingDBFS: -6, LookAheadMS: 2, AttackMS: 1, ReleaseMS: 100}
		}},
	{"deliver", "Delivery", "−19 LUFS under −1 dBTP, peaks limited by up to 6 dB.", []string{"delivery, −19 LUFS, −1 dBTP", "delivery, −19 LUFS", "delivery"},
		func(*mendTake, mendOrder) repair.Treatment {
			return repair.Deliver{LoudnessLUFS: sim.DeliveryLUFS, CeilingDBTP: -1, LimitDB: 6}
		}},
}

// mendOrder is the stack as set: all kinds in order, and which are on.
type mendOrder struct {
	kinds  [7]int
	on     [7]bool // by kind
	effort repair.Effort
	// unlimit leaves a limiter's gain out that moved after the clipping.
	unlimit bool
}

// steps lists the kinds that are on, in order.
func (o mendOrder) steps() (k []int) {
	for _, i := range o.kinds {
		if o.on[i] {
			k = append(k, i)
		}
	}
	return k
}

// key tells stacks apart that do the same.
func (o mendOrder) key(n int) string {
	var b strings.Builder
	for _, k := range o.steps()[:n] {
		b.WriteString(mendKinds[k].id)
		if k == kindDeclip {
			b.WriteString(o.effort.String())
			if o.unlimit {
				b.WriteString(" unlimited")
			}
		}
		b.WriteByte(' ')
	}
	return b.String()
}

// mendFigures are what was measured of one sound.
type mendFigures struct {
	sdr, peak, lufs, noise float64 // dB, dBTP, LUFS, LUFS in the pauses at −19 LUFS
	fit                    float64 // the gain that brings it nearest to the truth
	ok                     bool
}

func figuresOf(x, truth []float64) mendFigures {
	f := mendFigures{sdr: math.NaN(), fit: 1, ok: true, peak: work.TruePeakDBTP(x), lufs: work.LoudnessLUFS(x)}
	f.noise = work.PauseNoise(x) + sim.DeliveryLUFS - f.lufs
	if truth != nil {
		f.sdr = repair.SDR(truth, x, false)
		var tx, xx float64
		for i, v := range x {
			tx += truth[i] * v
			xx += v * v
		}
		if xx > 0 && tx > 0 {
			f.fit = tx / xx
		}
	}
	return f
}

// String says the figures in words.
func (f mendFigures) String() string {
	w := fmt.Sprintf("true peak %s dBTP, loudness %s LUFS, noise in the pauses %s LUFS after delivery at %d LUFS",
		ui.Decimal(f.peak, 1), ui.Decimal(f.lufs, 1), ui.Decimal(f.noise, 1), sim.DeliveryLUFS)
	if !math.IsNaN(f.sdr) {
		w = "error " + ui.Decimal(f.sdr, 1) + " dB below the voice, " + w
	}
	return strings.ReplaceAll(w, "-", "−")
}

// mendResult is what a stack made of a take.
type mendResult struct {
	order   mendOrder
	y       []float64
	fig     mendFigures
	reports []repair.Report
}

const (
	kindDeclip = iota
	kindSplice
)
