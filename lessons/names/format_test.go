package names

import (
	"encoding/json"
	"math"
	"testing"
)

func TestReadNumber(t *testing.T) {
	for in, want := range map[string]float64{"6": 6, "-3.5": -3.5, "−3.5": -3.5, "6,5 dB": 6.5, "+2 LUFS": 2, " 12.04dB": 12.04} {
		if v, _, ok := ReadNumber(in); !ok || v != want {
			t.Errorf("%q is %v %v", in, v, ok)
		}
	}
	for _, in := range []string{"", "x", "--3", "1e9", "inf", "NaN", "3..4", "dB 3"} {
		if v, u, ok := ReadNumber(in); ok && u == "" {
			t.Errorf("%q is %v", in, v)
		}
	}
}

func TestNumbersSurvive(t *testing.T) {
	for _, x := range []float64{0, -1.5, math.Inf(1), math.Inf(-1), math.NaN(), 1e-300} {
		b, err := json.Marshal(Number(x))
		if err != nil {
			t.Fatal(err)
		}
		var y Number
		if err := json.Unmarshal(b, &y); err != nil {
			t.Fatal(err)
		}
		if float64(y) != x && !(math.IsNaN(x) && math.IsNaN(float64(y))) {
			t.Errorf("%v became %v", x, y)
		}
	}
}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		v    float64
		unit string
		want string
	}{
		{-3.04, "dBFS", "−3.0 dBFS"}, {-0.04, "dB", "−0.04 dB"}, {0.0174, "dB", "0.017 dB"}, {-0.0004, "dB", "0.0 dB"}, {-0.04, "dBFS", "0.0 dBFS"}, {12, "", "12"}, {0.084, "m", "0.084 m"}, {0.1, "m", "0.1 m"},
		{0.0042, "%", "0.004 %"}, {0.35, "ms", "0.35 ms"}, {24, "bit", "24 bit"}, {4, ":1", "4.0:1"},
	} {
		if got := Format(c.v, c.unit); got != c.want {
			t.Errorf("%v %s is %q, want %q", c.v, c.unit, got, c.want)
		}
	}
}
