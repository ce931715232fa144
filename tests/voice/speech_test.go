package voice_test

import (
	"math"
	"reflect"
	"testing"

	"gainwright/sounds/voice"

	"github.com/goccy/go-yaml"
)

func TestScriptsInYAML(t *testing.T) {
	const in = `
- {do: say, text: Hello there., effort: loud, at_s: 1.5}
- {text: And again., effort: 0.3, effort_to: shout, talker: ilse, level_db: -2}
- {do: laugh}
- {do: lean, distance_m: 0.05, over_s: 0.5}
`
	var s voice.Script
	if err := yaml.UnmarshalWithOptions([]byte(in), &s, yaml.Strict()); err != nil {
		t.Fatal(err)
	}
	want := voice.Script{
		{Do: "say", Text: "Hello there.", Effort: voice.Loud, AtS: voice.Seconds(1.5)},
		{Text: "And again.", Effort: voice.At(.3), EffortTo: voice.Shout, Talker: "ilse", LevelDB: -2},
		{Do: "laugh"},
		{Do: "lean", DistanceM: .05, OverS: .5},
	}
	if !reflect.DeepEqual(s, want) {
		t.Fatalf("read %+v", s)
	}
	if err := s.Validate(); err != nil {
		t.Fatal(err)
	}
	out, err := yaml.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	var back voice.Script
	if err := yaml.Unmarshal(out, &back); err != nil || !reflect.DeepEqual(back, want) {
		t.Fatalf("%v; written as\n%s", err, out)
	}
	if yaml.Unmarshal([]byte(`- {text: Hi., effort: whisper}`), &back) == nil {
		t.Error("an unknown effort is read")
	}
}

// talk renders the ordinary sentences, one event each, cut to so many seconds.
func talk(t testing.TB, name string, e voice.Effort, seed uint64, seconds float64) []float64 {
	t.Helper()
	var s voice.Script
	for range 3 {
		for _, l := range voice.Ordinary() {
			s = append(s, voice.Event{Text: l, Effort: e})
		}
	}
	p, err := voice.New(s, name, seed)
	if err != nil {
		t.Fatal(err)
	}
	x := make([]float64, min(p.Length(), int(seconds*voice.Rate)))
	for at := 0; at < len(x); {
		n, err := p.Read(x[at:min(len(x), at+voice.Rate)])
		if err != nil {
			t.Fatal(err)
		}
		at += n
	}
	return x
}

// active is the level over the 20 ms frames within 30 dB of the loudest, in dB
// SPL, and the share of such frames.
func active(x []float64) (spl, share float64) {
	const n = voice.Rate / 50
	var e []float64
	top := 0.0
	for at := 0; at+n <= len(x); at += n {
		s := 0.0
		for _, v := range x[at : at+n] {
			s += v * v
		}
		e = append(e, s/n)
		top = max(top, s/n)
	}
	sum, k := 0.0, 0
	for _, v := range e {
		if v >= top/1000 {
			sum += v
			k++
		}
	}
	return 10 * math.Log10(sum/float64(k)/4e-10), float64(k) / float64(len(e))
}
