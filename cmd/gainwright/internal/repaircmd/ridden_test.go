package repaircmd

import (
	"math"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sim/repair"
	"gainwright/sounds/codec"
)

// A take that was clipped and then limited: with keep, what was not clipped stays to the
// last bit; with undo, the take comes as near to the truth as one without limiter; in
// stretches as in one piece.
func TestRepairDeclipThroughALimiter(t *testing.T) {
	dir := t.TempDir()
	const rate = 24000
	x := clitest.VoiceLike(2, rate, 6)
	for i := range x {
		x[i] *= 1.6
	}
	clitest.PutWAV(t, filepath.Join(dir, "truth.wav"), rate, codec.Float32, x)
	clitest.PutWAV(t, filepath.Join(dir, "clipped.wav"), rate, codec.Float32, clitest.ClipAt(x, 1))
	mendedJSON(t, dir, "--method", "limiter:ceiling_dbfs=-6,look_ahead_ms=0,attack_ms=2,release_ms=120", "clipped.wav", "limited.wav")
	gain := func(in, method, out string) (float64, *repaired) {
		r := mendedJSON(t, dir, "--force", "--quality", "fast", "--method", method, "--truth", "truth.wav", in, out)
		return float64(r.Distance.AfterDB), r
	}
	free, _ := gain("clipped.wav", "declip", "free.wav")
	_, kept := gain("limited.wav", "declip", "kept.wav")
	undone, _ := gain("limited.wav", "declip:gain_reduction=undo", "undone.wav")
	ignored, r := gain("limited.wav", "declip:gain_reduction=ignore", "ignored.wav")
	t.Logf("no limiter %.1f dB, undone %.1f, ignored %.1f: %s", free, undone, ignored, kept.Verdict)
	if undone < free-2 || ignored > undone-2 {
		t.Errorf("no limiter %.1f dB, undone %.1f, ignored %.1f", free, undone, ignored)
	}
	if !strings.Contains(strings.Join(kept.Verdict, " "), "put on again") || strings.Contains(strings.Join(r.Verdict, " "), "put on again") {
		t.Errorf("kept: %q; ignored: %q", kept.Verdict, r.Verdict)
	}
	in, _ := clitest.GetWAV(t, filepath.Join(dir, "limited.wav"))
	out, _ := clitest.GetWAV(t, filepath.Join(dir, "kept.wav"))
	cut, _ := clitest.GetWAV(t, filepath.Join(dir, "clipped.wav"))
	// A few tops that only looked cut may be marked.
	whole, changed := 0, 0
	for i, v := range in[0] {
		if math.Abs(cut[0][i]) < 0.99 {
			whole++
			if out[0][i] != v {
				changed++
			}
		}
	}
	if changed*1000 > whole {
		t.Errorf("%d of %d samples that were not clipped were changed", changed, whole)
	}
	was := stretchS
	defer func() { stretchS = was }()
	stretchS = 1
	if parts, r := gain("limited.wav", "declip:gain_reduction=undo", "parts.wav"); parts < free-2 || !strings.Contains(strings.Join(r.Verdict, " "), "left out") {
		t.Errorf("in stretches %.1f dB, in one piece %.1f: %q", parts, undone, r.Verdict)
	}
	if _, err := parseMethod("declip:gain_reduction=away"); err == nil {
		t.Error("a word that is none was taken")
	}
	for i, w := range repair.Reductions {
		if m, err := parseMethod("declip:gain_reduction=" + w); err != nil || m.t.(repair.Declip).Reduction != repair.Reduction(i) {
			t.Errorf("%s: %v, %v", w, m, err)
		}
	}
}

// A limiter that is undone is undone where nothing was clipped, too, so that the level
// does not jump from one stretch to the next.
func TestRepairUndoesALimiterEverywhere(t *testing.T) {
	dir := t.TempDir()
	const rate = 24000
	x := clitest.VoiceLike(6, rate, 6)
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	for i := range x {
		x[i] *= 2.5 / peak
		if i > 2*rate && i < 5*rate {
			x[i] *= 0.35 // no longer clipped, but limited
		}
	}
	clitest.PutWAV(t, filepath.Join(dir, "truth.wav"), rate, codec.Float32, x)
	clitest.PutWAV(t, filepath.Join(dir, "clipped.wav"), rate, codec.Float32, clitest.ClipAt(x, 1))
	mendedJSON(t, dir, "--method", "limiter:ceiling_dbfs=-8,look_ahead_ms=0,attack_ms=2,release_ms=120", "clipped.wav", "limited.wav")
	undo := func(out string) ([]float64, float64) {
		r := mendedJSON(t, dir, "--quality", "fast", "--method", "declip:gain_reduction=undo", "--truth", "truth.wav", "limited.wav", out)
		y, _ := clitest.GetWAV(t, filepath.Join(dir, out))
		return y[0], float64(r.Distance.AfterDB)
	}
	whole, one := undo("whole.wav")
	was := stretchS
	defer func() { stretchS = was }()
	stretchS = 1
	parts, several := undo("parts.wav")
	level := func(y []float64) float64 {
		sum := 0.0
		for _, v := range y[3*rate : 4*rate] {
			sum += v * v
		}
		return 10 * math.Log10(sum)
	}
	t.Logf("in one piece %.1f dB from the truth, in stretches %.1f; the quiet second by %.2f dB apart", one, several, level(parts)-level(whole))
	if several < one-1.5 || math.Abs(level(parts)-level(x)) > 1 || math.Abs(level(whole)-level(x)) > 1 {
		t.Errorf("in one piece %.1f dB, in stretches %.1f; a second without clipping lies %.1f dB from where it was, %.1f in stretches",
			one, several, level(whole)-level(x), level(parts)-level(x))
	}
}

// Where no gain is told, none is undone, and the report says so.
func TestRepairSaysThatNoLimiterWasUndone(t *testing.T) {
	dir := t.TempDir()
	const rate = 24000
	clitest.PutWAV(t, filepath.Join(dir, "clipped.wav"), rate, codec.Float32, clitest.ClipAt(clitest.VoiceLike(2, rate, 2), 0.6))
	r := mendedJSON(t, dir, "--quality", "fast", "--method", "declip:gain_reduction=undo", "clipped.wav", "undone.wav")
	if !strings.Contains(strings.Join(r.Verdict, " "), "none was left out") {
		t.Errorf("%q", r.Verdict)
	}
}
