package scenes

import (
	"context"
	"errors"
	"fmt"
	"math"

	"gainwright/scenes/ink"
	"gainwright/scenes/ui"
	"gainwright/sim/repair"
	"gainwright/sounds"
)

// mendedTrack is what a strip of the take became by mending.
type mendedTrack struct {
	of    *Take
	strip int
	x     []float32 // nil: there is none
	lufs  float64
}

// loadTake gives the player the tracks of the take: its strips, what was spoken,
// and what was mended of it.
func (s *Session) loadTake() {
	var tracks []sounds.Track
	t := s.take
	if s.mended.of != t || t == nil {
		s.mended = mendedTrack{of: t, lufs: math.NaN()}
		if s.d.listen == ListenMended {
			s.d.listen = ListenA
		}
	}
	if t != nil {
		for i := range t.N {
			tracks = append(tracks, sounds.Track{Samples32: t.File[i]})
		}
		tracks = append(tracks, sounds.Track{Samples32: t.Spoken})
		if s.mended.x != nil {
			tracks = append(tracks, sounds.Track{Samples32: s.mended.x})
		}
	}
	if err := s.player.Load(tracks...); err != nil {
		panic("scenes: " + err.Error()) // all tracks are as long as the take
	}
}

// SetMended makes x, as long as the take, what the take's strip became by mending,
// full scale 1, of that loudness. What plays goes on.
func (s *Session) SetMended(strip int, x []float32, lufs float64) {
	t := s.take
	if t == nil || !t.Done || int64(len(x)) != t.Frames() {
		return
	}
	s.mended = mendedTrack{of: t, strip: strip, x: x, lufs: lufs}
	s.loadTake()
	s.player.Select(s.track(s.d.listen))
	s.loopTake()
	s.push()
}

// Mended is the mended version of a strip of the take and how loud it is, LUFS; nil
// where there is none.
func (s *Session) Mended() (strip int, x []float32, lufs float64) {
	if !s.HasMended() {
		return s.mended.strip, nil, 0
	}
	return s.mended.strip, s.mended.x, s.mended.lufs
}

// HasMended tells whether something of the take was mended.
func (s *Session) HasMended() bool { return s.mended.x != nil && s.mended.of == s.take }

// mending works out beside the screen what the fast method makes of a clipped
// strip of the take, so that it can be heard in step with the others.
type mending struct {
	take  *Take
	strip int
	job   *errand
	got   *mendedResult // of the job
	none  string        // why there is nothing to hear
	pace  pace
	bar   ink.Rect
	name  ui.Strs
	kept  [MaxStrips]mendedTrack // of take
}

// mendedResult is what came of it.
type mendedResult struct {
	x      []float32
	lufs   float64
	report repair.Report
}

// unknownStrip: it was not looked yet.
const unknownStrip = -2

// mendable is the strip of the take that mending is for: the one shown, if it is
// clipped, else the first that is; −1 for none.
func mendable(t *Take, shown int) int {
	if t == nil || !t.Done {
		return -1
	}
	if shown < t.N && t.Readings[shown].Overs > 0 {
		return shown
	}
	for i := range t.N {
		if t.Readings[i].Overs > 0 {
			return i
		}
	}
	return -1
}

// mendOn begins the work where there is some, and goes on with it; it reports
// whether the picture changes.
func (g *gainScene) mendOn(now float64) bool {
	m := &g.mend
	t := g.s.Take()
	if g.lent {
		// What there is of the bench's own take is kept for when it comes back.
		if m.job != nil {
			m.stop()
			m.strip = unknownStrip
		}
		return false
	}
	if t == nil || !t.Done || g.s.Mode() == ModeRecord {
		if t == nil || t != m.take {
			m.drop()
		}
		return false
	}
	k := mendable(t, g.shown)
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
		case m.kept[k].x != nil:
			g.s.SetMended(k, m.kept[k].x, m.kept[k].lufs)
		default:
			g.startMending(t, k)
		}
		return true
	}
	if m.job == nil {
		// A bench that was lent comes back with its take, but without this.
		if k >= 0 && m.kept[k].x != nil && !g.s.HasMended() {
			g.s.SetMended(k, m.kept[k].x, m.kept[k].lufs)
			return true
		}
		return false
	}
	paint := m.pace.grant(m.job, now, g.s.Playing() || g.s.Mode() != ModeReview)
	if !m.job.finished() {
		return paint
	}
	err := m.job.err
	m.job = nil
	switch {
	case err != nil && !errors.Is(err, context.Canceled):
		m.none = err.Error()
	case err != nil:
	case m.got.x == nil:
		m.none = m.got.report.Verdict.String()
	default:
		m.kept[k] = mendedTrack{x: m.got.x, lufs: m.got.lufs}
		g.s.SetMended(k, m.got.x, m.got.lufs)
	}
	if g.status == g.fullResult(t) {
		g.status = g.resultWords(t)
	}
	return true
}

// resultWords say what became of a take, and whether it can be heard mended.
func (g *gainScene) resultWords(t *Take) string {
	m := &g.mend
	s := g.fullResult(t)
	switch {
	case m.take != t || m.strip < 0 || m.job != nil:
	case g.s.HasMended():
		s += " Strip " + stripNames[m.strip] + " can be heard mended."
	case m.none != "":
		s += " Strip " + stripNames[m.strip] + " cannot be mended: " + m.none
	}
	return s
}

func (g *gainScene) startMending(t *Take, k int) {
	m := &g.mend
	if g.s.Listening() == ListenMended {
		g.listenTo(Listen(k))
	}
	g.s.dropMended()
	file := t.File[k]
	got := new(mendedResult)
	m.got = got
	m.job = startErrand(func(h *hand) error {
		x := make([]float64, len(file))
		for i, v := range file {
			x[i] = float64(v)
		}
		y, rep, err := treat(h, repair.Declip{Effort: repair.Fast}, x, h.span("mending", 0, 1))
		if err != nil {
			return err
		}
		got.report = rep
		if o := rep.Verdict.Outcome; o == repair.Done || o == repair.Partly {
			got.x, got.lufs = x32(y), loudnessLUFS(y)
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

// dropMended forgets what was mended, of whatever strip.
func (s *Session) dropMended() {
	if s.mended.x == nil {
		return
	}
	s.mended = mendedTrack{of: s.take, lufs: math.NaN()}
	if s.d.listen == ListenMended {
		s.d.listen = ListenA
	}
	s.loadTake()
	s.player.Select(s.track(s.d.listen))
	s.loopTake()
	s.push()
}

// stop gives up the work going on, drop all that belongs to a take.
func (m *mending) stop() {
	if m.job != nil {
		m.job.cancel()
		m.job = nil
	}
}

func (m *mending) drop() {
	m.stop()
	m.take, m.strip, m.none = nil, unknownStrip, ""
	m.kept = [MaxStrips]mendedTrack{}
}

// syncMended brings the choice up to what there is.
func (g *gainScene) syncMended() {
	m := &g.mend
	c := g.listen[ListenMended]
	c.Disabled, c.Why = false, ""
	switch {
	case g.s.HasMended():
	case m.job != nil:
		_, share := m.job.progress()
		c.Disabled, c.Why = true, m.name.Get([6]int64{ui.Q(share*100, 0), int64(m.strip)}, func() string {
			return fmt.Sprintf("strip %s is being mended: %s %%", stripNames[max(m.strip, 0)], ui.Decimal(share*100, 0))
		})
	case m.none != "":
		c.Disabled, c.Why = true, m.none
	default:
		c.Disabled, c.Why = true, "record something first"
	}
	c.Name = mendedNames[max(m.strip, 0)]
}

var mendedNames = [MaxStrips]string{"Listen to strip A mended", "Listen to strip B mended", "Listen to strip C mended", "Listen to strip D mended"}

// drawMending draws how far mending is, along the lower edge of its choice.
func (g *gainScene) drawMending(l *ink.List, th *ui.Theme) {
	j := g.mend.job
	b := g.listen[ListenMended].Bounds
	if j == nil || b.W == 0 || g.listen[ListenMended].Hidden {
		return
	}
	_, share := j.progress()
	r := ink.Rect{X: b.X + 4, Y: b.Bottom() + 0.5, W: b.W - 8, H: 3}
	l.Fill(r, 1.5, th.Grid)
	r.W *= float32(share)
	l.Fill(r, 1.5, th.Mended)
}

// canHear tells whether the take has that sound.
func (s *Session) canHear(l Listen) bool {
	switch t := s.take; {
	case t == nil:
		return false
	case l == ListenSpoken:
		return true
	case l == ListenMended:
		return s.HasMended()
	default:
		return int(l) < t.N
	}
}
