package bench

import (
	"math"

	"gainwright/sim"
)

const (
	histFrames = 1 << 13 // more than a Window and a block
	// meterFall is how fast meters fall back, in dB a second: 20 dB in 1.7 s, as
	// the quasi-peak meters of IEC 60268-10, type I (from memory).
	meterFall = 20 / 1.7
	meterHold = 2 * Rate
	// gainRamp is the share of the way that a monitor gain goes each sample:
	// a time constant of 5 ms.
	gainRamp = 1 / (0.005 * Rate)
	// slowRMS is the time constant of the slow levels, seconds; gateDB how far
	// below it a block counts as a pause.
	slowRMS = 0.6
	gateDB  = 20
)

// history is the last while of both strips, for the loudest moment.
type history struct {
	strip [MaxStrips]struct {
		truth, demand, conv, file [histFrames]float32
	}
}

// Stream advances the session and fills buf with what is to be heard, before
// the listening level: the same in both channels. It never ends. It is what
// the one clock calls; it allocates nothing and waits for nothing.
func (s *Session) Stream(buf [][2]float64) (n int, ok bool) {
	for n < len(buf) {
		if d := s.next.Load(); d != s.seen {
			s.applySnapshot(d)
		}
		m := min(sessionBlock, len(buf)-n)
		if s.skip > 0 {
			m = min(m, s.skip)
		}
		if g := s.giving(); g != nil {
			m = min(m, g.room())
		}
		out := buf[n : n+m]
		switch s.view.Mode {
		case ModeCheck, ModeRecord:
			s.runStrips(out)
		default:
			s.player.Stream(out)
		}
		s.declick(out)
		s.view.Frame += int64(m)
		*s.views.slot() = s.view
		s.views.send()
		n += m
	}
	return n, true
}

// Err is always nil; with Stream it makes a session a streamer of beep's shape.
func (s *Session) Err() error { return nil }

// applySnapshot takes over a snapshot.
func (s *Session) applySnapshot(d *snapshot) {
	old, v := s.seen, &s.view
	s.seen = d
	if old == nil {
		s.curGain = d.gain
		for i := range s.curGain {
			if Listen(i) != d.listen {
				s.curGain[i] = 0
			}
		}
	}
	if old == nil || d.modeRev != old.modeRev {
		if (v.Mode == ModeReview) != (d.mode == ModeReview) {
			s.tail += s.last
		}
		v.Mode, v.ModeRev = d.mode, d.modeRev
		s.skip = 0
		if d.mode == ModeRecord {
			v.Take = 0
			s.skip = d.take.skip
		}
	}
	if old != nil && (d.strips != old.strips || d.live != old.live) {
		// New strips begin with silence, and what is live is no talker's.
		s.tail += s.last
		for i := range s.strips {
			s.slow[i] = [sim.NumStations]float64{}
		}
	}
	if old == nil || d.skipTo != old.skipTo {
		s.taken.Store(max(s.taken.Load(), d.skipTo))
	}
	if old == nil || d.holdRev != old.holdRev {
		s.loudest, s.pending = 0, -1
		s.shots.slot().Valid = false
		s.shots.send()
		for i := range v.Strip {
			sv := &v.Strip[i]
			sv.Loudest, sv.Overs = Loudest{}, 0
			sv.MeterHold, sv.MeterWanted = 0, 0
		}
		v.HoldRev = d.holdRev
	}
	if old == nil || d.readout != old.readout {
		s.nextRead = v.Frame
	}
}

// giving is the performance that the clock gives by itself, or nil.
func (s *Session) giving() *given {
	if s.view.Mode != ModeRecord {
		return nil
	}
	return s.seen.take.given
}

// fill gives the next samples of the performance.
func (s *Session) fill(in []float64) {
	if g := s.giving(); g != nil {
		g.feed(in, s.seen.turnRev, &s.seen.settings, s.seen.strips[:s.seen.n])
		s.to = &g.to
		return
	}
	s.to = &s.seen.toEq
	if l := s.seen.live; l != nil {
		l.in.Pull(in)
		for i := range in {
			in[i] *= l.scale
		}
		return
	}
	t := s.taken.Load()
	have := int(min(s.wrote.Load()-t, int64(len(in))))
	for i := range have {
		in[i] = s.ring[(t+int64(i))%ringFrames]
	}
	clear(in[have:])
	s.taken.Store(t + int64(have))
	s.view.Dropout += int64(len(in) - have)
}

// runStrips runs the performance through both strips.
func (s *Session) runStrips(out [][2]float64) {
	d, v := s.seen, &s.view
	in := s.blk[:len(out)]
	s.fill(in)
	for i := range d.n {
		d.strips[i].Process(in, s.taps[i])
	}
	s.levels(d)
	s.tenth.add(s.taps[0].Wave[sim.AtTalker], v.Frame, &v.Tenths)
	s.remember(d)
	if v.Mode == ModeRecord && s.skip == 0 {
		d.take.record(&s.taps, &s.cut, &s.peaks, s.to)
		v.Take = d.take.frames.Load()
	} else if v.Mode == ModeCheck {
		for i := range d.n {
			d.readout[i].Write(s.taps[i])
		}
	}
	s.skip = max(0, s.skip-len(out))
	if v.Frame >= s.nextRead {
		s.nextRead = v.Frame + Rate/10
		for i := range d.n {
			d.readout[i].Settings(d.settings[i])
			v.Strip[i].Readings = d.readout[i].Readings()
		}
	}
	for i := range out {
		out[i] = [2]float64{}
	}
	for k := range s.curGain {
		src := s.taps[0].Wave[sim.AtTalker]
		if Listen(k) != ListenSpoken {
			if k >= d.n {
				s.curGain[k] = 0
				continue
			}
			src = s.taps[k].Wave[sim.AtFile]
		}
		s.mix(out, src, k, d)
	}
}

// declick lets what the last mode left off with fade away.
func (s *Session) declick(out [][2]float64) {
	for i := range out {
		if s.tail > 1e-6 || s.tail < -1e-6 {
			out[i][0] += s.tail
			out[i][1] += s.tail
			s.tail -= s.tail * gainRamp
		}
		s.last = out[i][0]
	}
}

// mix adds a source as it is heard: one of them is, faded over when the choice or
// a gain changes.
func (s *Session) mix(out [][2]float64, src []float64, k int, d *snapshot) {
	want, g := 0.0, s.curGain[k]
	if Listen(k) == d.listen {
		want = d.gain[k]
	}
	if want == 0 && g < 1e-9 {
		s.curGain[k] = 0
		return
	}
	for i := range out {
		g += (want - g) * gainRamp
		x := src[i] * g
		out[i][0] += x
		out[i][1] += x
	}
	s.curGain[k] = g
}

// levels moves all meters on by the block in the taps.
func (s *Session) levels(d *snapshot) {
	v := &s.view
	n := s.taps[0].Len()
	dt := float64(n) / Rate
	fall := math.Pow(10, -meterFall*dt/20)
	step := 1 - math.Exp(-dt/slowRMS)
	gate := math.Pow(10, -gateDB/10.0)
	for k := range d.n {
		t, sv, pk := s.taps[k], &v.Strip[k], &s.peaks[k]
		pk.of(t)
		sv.Loudest.add(pk, &s.to[k])
		var ms [sim.NumStations]float64
		for st := range t.Wave {
			peak := pk.wave[st]
			// The slow level is for the eye: every fourth sample tells it.
			sum, count := 0.0, 0
			for i := 0; i < n; i += 4 {
				x := t.Wave[st][i]
				sum += x * x
				count++
			}
			ms[st] = sum / float64(max(count, 1))
			sv.Peak[st] = max(peak, sv.Peak[st]*fall)
			if sim.Station(st) == sim.AtFile {
				sv.Meter = sv.Peak[st]
				if peak >= sv.MeterHold || v.Frame-s.holdAt[k] > meterHold {
					sv.MeterHold, s.holdAt[k] = peak, v.Frame
					sv.MeterWanted = 0
				}
			}
		}
		talking := s.slow[k][sim.AtTalker] == 0 || ms[sim.AtTalker] > gate*s.slow[k][sim.AtTalker]
		if talking && ms[sim.AtTalker] > 1e-9 {
			for st, m := range ms {
				s.slow[k][st] += (m - s.slow[k][st]) * step
				sv.RMS[st] = math.Sqrt(s.slow[k][st])
			}
		} else {
			// A pause; were the talker gone for good, the gate would have to open.
			for st := range ms {
				s.slow[k][st] *= 1 - step/20
			}
		}
		sv.MeterWanted = max(sv.MeterWanted, pk.demand)
		red := 1.0
		if c := &d.settings[k]; c.Limiter.On || c.InputLimiter.On {
			for i, g := range t.Gain {
				if g *= t.InGain[i]; g < red {
					red = g
				}
			}
		}
		sv.Reduction = min(red, sv.Reduction+(1-sv.Reduction)*(1-math.Exp(-dt/0.3)))
		sv.Overs = d.readout[k].OverCount()
	}
}

// remember keeps the block in the history and hands the loudest moment over
// once enough has come after it.
func (s *Session) remember(d *snapshot) {
	v := &s.view
	n := s.taps[0].Len()
	for k := range d.n {
		t, h := s.taps[k], &s.hist.strip[k]
		for from := 0; from < n; {
			o := int((v.Frame + int64(from)) % histFrames)
			m := min(n-from, histFrames-o)
			narrow(h.truth[o:o+m], t.True[from:])
			narrow(h.demand[o:o+m], t.Demand[from:])
			narrow(h.conv[o:o+m], t.Wave[sim.AtConverter][from:])
			narrow(h.file[o:o+m], t.Wave[sim.AtFile][from:])
			from += m
		}
	}
	for i, p := range s.taps[0].Wave[sim.AtTalker] {
		if p = math.Abs(p); p > s.loudest {
			s.loudest, s.pending = p, v.Frame+int64(i)
		}
	}
	end := v.Frame + int64(n)
	if s.pending < 0 || end < s.pending+WindowFrames/2 {
		return
	}
	w := s.shots.slot()
	w.Start, w.Valid = s.pending-WindowFrames/2, true
	for k := range d.n {
		h, x := &s.hist.strip[k], &w.Strip[k]
		for i := range WindowFrames {
			f := w.Start + int64(i)
			o := f % histFrames
			if f < 0 {
				continue
			}
			x.Truth[i], x.Demand[i], x.Conv[i], x.File[i] = h.truth[o], h.demand[o], h.conv[o], h.file[o]
		}
	}
	v.Loudest = s.pending
	s.pending = -1
	s.shots.send()
}

func narrow(dst []float32, src []float64) {
	src = src[:len(dst)]
	for i := range dst {
		dst[i] = float32(src[i])
	}
}
