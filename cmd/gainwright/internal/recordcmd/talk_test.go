package recordcmd

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/clitest"
	"gainwright/sounds"
	"gainwright/sounds/codec"
)

func TestTalk(t *testing.T) {
	dir := t.TempDir()
	out := must(t, dir, "talk", "We left the north bank at six.", "six.wav", "--talker", "maren", "--effort", "loud", "--json")
	r := clitest.ReadJSON(t, out)
	if l := r["level_db_spl"].(float64); math.Abs(l-74.85) > 0.01 {
		t.Errorf("loud speech of %.2f dB SPL", l)
	}
	if a := r["arpabet"]; a != "/W IY1/ /L EH1 F T/ /DH AH0/ /N AO1 R TH/ /B AE1 NG K/ /AE0 T/ /S IH1 K S/." {
		t.Errorf("in ARPAbet: %v", a)
	}
	if a := must(t, dir, "talk", "Mind the rope!", "--arpabet"); a != "/M AY1 N D/ /DH AH0/ /R OW1 P/!\n" {
		t.Errorf("in ARPAbet: %q", a)
	}
	far := clitest.ReadJSON(t, must(t, dir, "talk", "We left the north bank at six.", "far.wav", "--talker", "maren", "--effort", "loud", "--distance", "2", "--json"))
	if d := r["level_db_spl"].(float64) - far["level_db_spl"].(float64); math.Abs(d-6.0206) > 0.001 {
		t.Errorf("twice the distance takes %.4f dB", d)
	}
	read := func(name string) ([]float64, codec.Info) {
		f, err := sounds.Open(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		x, err := f.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		return x[0], f.Info()
	}
	peak := func(x []float64) (p float64) {
		for _, v := range x {
			p = max(p, math.Abs(v))
		}
		return p
	}
	x, info := read("six.wav")
	if p := 20 * math.Log10(peak(x)); math.Abs(p+3) > 0.01 || info.Rate != 48000 {
		t.Errorf("the file peaks at %.3f dBFS, %d Hz", p, info.Rate)
	}
	pa := clitest.ReadJSON(t, must(t, dir, "talk", "We left the north bank at six.", "pa.wav", "--talker", "maren", "--effort", "loud", "--pascal", "--json"))
	y, _ := read("pa.wav")
	if p := 20 * math.Log10(peak(y)/20e-6); math.Abs(p-pa["peak_db_spl"].(float64)) > 1e-4 {
		t.Errorf("in pascal the file peaks at %.4f dB SPL, told %.4f", p, pa["peak_db_spl"])
	}
	// The same again is the same to the last bit.
	must(t, dir, "talk", "We left the north bank at six.", "again.wav", "--talker", "maren", "--effort", "loud")
	a, _ := os.ReadFile(filepath.Join(dir, "six.wav"))
	b, _ := os.ReadFile(filepath.Join(dir, "again.wav"))
	if !bytes.Equal(a, b) {
		t.Error("said twice, the files differ")
	}
	if l := must(t, dir, "talk", "--list"); strings.Count(l, "\n") < 6 || !strings.Contains(l, "captain") {
		t.Errorf("the list is\n%s", l)
	}
}

func TestTalkBadUse(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "there.wav"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"talk"}, {"talk", "hello"}, {"talk", "--arpabet"}, {"talk", "--arpabet", "hello", "a.wav"}, {"talk", "--arpabet", "€"}, {"talk", "--arpabet", "--list"}, {"talk", "hello", "a.wav", "b.wav"}, {"talk", "--list", "hello"},
		{"talk", " ", "a.wav"}, {"talk", "/QQ/", "a.wav"}, {"talk", "/HH", "a.wav"},
		{"talk", "hello", "a.wav", "--talker", "nobody"}, {"talk", "hello", "a.wav", "--effort", "2"},
		{"talk", "hello", "a.wav", "--distance", "0"}, {"talk", "hello", "a.wav", "--distance", "NaN"},
		{"talk", "hello", "a.wav", "--seed", "-1"}, {"talk", "hello", "a.wav", "--format", "pcm8"},
		{"talk", "hello", "a.wav", "--pascal", "--format", "pcm16"}, {"talk", "hello", "there.wav"},
	} {
		status, stdout, stderr := call(t, dir, args...)
		if status != cli.ExitUsage || stdout != "" || strings.Count(stderr, "\n") != 1 {
			t.Errorf("%v: status %d, %q, %q", args, status, stdout, stderr)
		}
	}
	if n := clitest.Names(t, dir); n != "there.wav" {
		t.Errorf("left behind: %s", n)
	}
}
