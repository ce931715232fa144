package gain

import (
	"context"
	"errors"
	"fmt"

	"gainwright/scenes/bench"
	"gainwright/scenes/gain/room"
	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sim/repair"
)

// mendOn begins the work where there is some, and goes on with it; it reports
// whether the picture changes.
func (g *Scene) mendOn(now float64) bool {
	m := &g.mend
	t := g.Bench.Take()
	if g.lent {
		// What there is of the bench's own take is kept for when it comes back.
		if m.job != nil {
			m.stop()
			m.strip = unknownStrip
		}
		return false
	}
	if t == nil || !t.Done || g.Bench.Mode() == bench.ModeRecord {
		if t == nil || t != m.take {
			m.drop()
		}
		return false
	}
	k := mendable(t, g.Shown)
	if m.take != t {
		m.drop()
		m.take = t
	}
	if k != m.strip {
		m.stop()
		m.strip, m.none = k, ""
		switch {
		case k < 0:
			m.none = "nothing was cut off in this take, so there is nothing to mend"
		case m.kept[k].X != nil:
			g.Bench.SetMended(k, m.kept[k].X, m.kept[k].Lufs)
		default:
			g.startMending(t, k)
		}
		return true
	}
	if m.job == nil {
		// A bench that was lent comes back with its take, but without this.
		if k >= 0 && m.kept[k].X != nil && !g.Bench.HasMended() {
			g.Bench.SetMended(k, m.kept[k].X, m.kept[k].Lufs)
			return true
		}
		return false
	}
	paint := m.pace.Run(m.job, now, g.Bench.Playing() || g.Bench.Mode() != bench.ModeReview)
	if !m.job.Finished() {
		return paint
	}
	err := m.job.Err
	m.job = nil
	switch {
	case err != nil && !errors.Is(err, context.Canceled):
		m.none = err.Error()
	case err != nil:
	case m.got.x == nil:
		m.none = m.got.report.Verdict.String()
	default:
		m.kept[k] = bench.MendedTrack{X: m.got.x, Lufs: m.got.lufs}
		g.Bench.SetMended(k, m.got.x, m.got.lufs)
	}
	if g.status == g.fullResult(t) {
		g.status = g.resultWords(t)
	}
	return true
}

func (g *Scene) startMending(t *bench.Take, k int) {
	m := &g.mend
	if g.Bench.Listening() == bench.ListenMended {
		g.hear(bench.Listen(k))
	}
	g.Bench.DropMended()
	file := t.File[k]
	got := new(mendedResult)
	m.got = got
	m.job = work.Start(func(h *work.Context) error {
		x := make([]float64, len(file))
		for i, v := range file {
			x[i] = float64(v)
		}
		y, rep, err := work.Treat(h, repair.Declip{Effort: repair.Fast}, x, h.Span("mending", 0, 1))
		if err != nil {
			return err
		}
		got.report = rep
		if o := rep.Verdict.Outcome; o == repair.Done || o == repair.Partly {
			got.x, got.lufs = x32(y), work.LoudnessLUFS(y)
		}
		return nil
	})
}

func x32(x []float64) []float32 {
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = float32(v)
	}
	return y
}

// syncMended brings the choice up to what there is.
func (g *Scene) syncMended() {
	m := &g.mend
	c := g.listen[bench.ListenMended]
	c.Disabled, c.Why = false, ""
	switch {
	case g.Bench.HasMended():
	case m.job != nil:
		_, share := m.job.Progress()
		c.Disabled, c.Why = true, m.name.Get([6]int64{ui.Q(share*100, 0), int64(m.strip)}, func() string {
			return fmt.Sprintf("strip %s is being mended: %s %%", bench.StripNames[max(m.strip, 0)], ui.Decimal(share*100, 0))
		})
	case m.none != "":
		c.Disabled, c.Why = true, m.none
	default:
		c.Disabled, c.Why = true, "record something first"
	}
	c.Name = room.MendedNames[max(m.strip, 0)]
}

// drawMending draws how far mending is, along the lower edge of its choice.
func (g *Scene) drawMending(l *ink.List, th *ui.Theme) {
	j := g.mend.job
	b := g.listen[bench.ListenMended].Bounds
	if j == nil || b.W == 0 || g.listen[bench.ListenMended].Hidden {
		return
	}
	_, share := j.Progress()
	r := ink.Rect{X: b.X + 4, Y: b.Bottom() + 0.5, W: b.W - 8, H: 3}
	l.Fill(r, 1.5, th.Grid)
	r.W *= float32(share)
	l.Fill(r, 1.5, th.Mended)
}
