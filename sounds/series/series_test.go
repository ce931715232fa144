package series

import (
	"bytes"
	"context"
	"io"
	"math"
	"strings"
	"testing"

	"gainwright/sim/identify"
	"gainwright/sounds"
)

// TestWords: what a user writes is read, and what is wrong is a sentence.
func TestWords(t *testing.T) {
	for text, want := range map[string]string{"quiet,4.5": "", "PAIR, 10": "", "hiss,3": "no step", "quiet": "STEP,MARK", "quiet,-1": "no mark", "quiet,3.25": "at most one decimal", "quiet,NaN": "no mark"} {
		_, err := ParseTold(text)
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
	if told, err := ParseTold(" Loud , 7.5"); err != nil || told.Step != identify.Loud || told.Mark != 7.5 || told.Pair {
		t.Errorf("%+v, %v", told, err)
	}
	if m, err := ParseMarks("0, 2.5,10"); err != nil || len(m) != 3 || m[1] != 2.5 {
		t.Errorf("%v, %v", m, err)
	}
	for text, want := range map[string]string{"": "no mark", "3,3": "ascend", "103": "no mark", strings.TrimSuffix(strings.Repeat("1,", 30), ","): "ascend"} {
		if _, err := ParseMarks(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// TestSheet: every sound of every step stands on the page once, behind the caution, and
// each begins with the slate of its step and mark.
func TestSheet(t *testing.T) {
	all := List([]float64{0, 4.5, 10})
	page := string(Sheet(all))
	for _, p := range all {
		if strings.Count(page, `src="`+p.File+`"`) != 1 {
			t.Errorf("%s stands on the page %d times", p.File, strings.Count(page, `src="`+p.File+`"`))
		}
	}
	if strings.Index(page, "Turn the loudspeaker down") > strings.Index(page, "<audio") || strings.Contains(page, "%!") || strings.Contains(page, "<ol></ol>") {
		t.Error("the page is not whole")
	}
	p := all[len(all)-1]
	data, err := p.WAV()
	if err != nil {
		t.Fatal(err)
	}
	r, err := sounds.OpenBytes(p.File, data)
	if err != nil {
		t.Fatal(err)
	}
	x, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	slates, err := identify.Slates(&memory{x: x[0][:4*SoundRate]}, SoundRate)
	if err != nil || len(slates) != 1 || slates[0].Step != p.Step || slates[0].Mark != p.Mark {
		t.Errorf("%s: slates %+v, %v", p.File, slates, err)
	}
}

// memory is a recording in memory.
type memory struct {
	x  []float64
	at int
}

func (m *memory) Rewind() error { m.at = 0; return nil }

func (m *memory) Read(dst []float64) (int, error) {
	n := copy(dst, m.x[m.at:])
	if m.at += n; m.at == len(m.x) {
		return n, io.EOF
	}
	return n, nil
}

// TestBentIsTold: a stage that bends before it stops leaves no flat tops, and is told all
// the same; flat tops count for more. Was not known.
func TestBentIsTold(t *testing.T) {
	at := func(v float64, s identify.Shape, tops int) *Reading {
		return &Reading{clips: []clip{{identify.Clip{Level: identify.Estimate{Value: v, Low: v - 0.1, High: v + 0.1}, Shape: s, Tops: tops}, "a.wav"}}}
	}
	nothing := &Reading{clips: []clip{{identify.Clip{Level: identify.Unknown()}, "b.wav"}}}
	bent, flat := at(-6, identify.Round, 0), at(-1, identify.Hard, 40)
	for i, c := range []struct {
		list []*Reading
		want identify.Shape
	}{{[]*Reading{nothing, bent}, identify.Round}, {[]*Reading{bent, flat}, identify.Hard}, {[]*Reading{flat, bent, nothing}, identify.Hard}} {
		f, err := new(Pairs).Sum(context.Background(), c.list, Anchor{}, nil)
		if err != nil || f.Clip == nil || f.Clip.Shape != c.want || len(f.Notes) > 0 {
			t.Errorf("%d: %+v, %v", i, f, err)
		}
	}
}

// TestBetweenSamples: a sine is read between its samples with an error of at most −90 dB
// of it in the band of a voice, −60 dB at 0.4 of the rate (a sine is its own truth).
func TestBetweenSamples(t *testing.T) {
	k := newSinc()
	for f, most := range map[float64]float64{0.01: -90, 0.1: -90, 0.2: -90, 0.4: -60} {
		x := make([]float64, 400)
		for i := range x {
			x[i] = math.Sin(2 * math.Pi * f * float64(i))
		}
		worst := 0.0
		for i := range 1000 {
			at := 100 + float64(i)*0.1037
			worst = max(worst, math.Abs(k.at(x, at)-math.Sin(2*math.Pi*f*at)))
		}
		if d := 20 * math.Log10(worst); d > most {
			t.Errorf("at %.2f of the rate the error is %.1f dB", f, d)
		}
	}
}

// TestPairPage: the page holds its sounds, loads nothing, warns first, and has what was
// told as text.
func TestPairPage(t *testing.T) {
	x := make([]float64, 4800)
	for i := range x {
		x[i] = 0.5 * math.Sin(float64(i)*0.1)
	}
	page, err := PairPage(Limited{Title: "A <limiter>.", Why: "Because & so.", Law: []Row{{Name: "ratio", Value: "4:1"}}}, []Version{{"Limiter off", "as recorded", x}, {"Limiter on", "as recorded", x}}, 48000)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"A &lt;limiter&gt;.", "Because &amp; so.", "ratio: 4:1", `data-sound="1"`} {
		if !bytes.Contains(page, []byte(want)) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if bytes.Contains(page, []byte("http")) || bytes.Index(page, []byte(`class="caution"`)) > bytes.Index(page, []byte("<audio")) || bytes.Count(page, []byte("<audio ")) != 2 {
		t.Error("the page loads something, or does not warn first")
	}
}
