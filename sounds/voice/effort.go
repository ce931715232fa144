package voice

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Effort is how loudly a talker speaks: a continuous control from 0 (quiet)
// over 0.25 (normal), 0.5 (raised), 0.75 (loud) to 1 (shout). The zero value
// means "not given" and is taken as normal. In YAML and JSON it is written as
// one of the five names or as a number.
type Effort struct {
	value float64
	given bool
}

// The five named efforts. Normal to Shout are the four of ANSI S3.5-1997;
// Quiet lies below them.
var (
	Quiet  = Effort{0, true}
	Normal = Effort{0.25, true}
	Raised = Effort{0.5, true}
	Loud   = Effort{0.75, true}
	Shout  = Effort{1, true}
)

var effortNames = []struct {
	name string
	e    Effort
}{{"quiet", Quiet}, {"normal", Normal}, {"raised", Raised}, {"loud", Loud}, {"shout", Shout}}

// effortSPL are the overall levels at 1 m in front of the lips for efforts 0,
// 0.25, 0.5, 0.75 and 1, in dB SPL. The upper four are the stated overall
// levels of ANSI S3.5-1997, Table 3. 54 dB for quiet speech follows the
// "relaxed" step of ISO 9921:2003 annex A (54 dBA; from memory), which stands
// 6 dB under "normal" there; here it stands 8.35 dB under.
var effortSPL = [5]float64{54, 62.35, 68.34, 74.85, 82.30}

// At gives the effort v in 0..1; values outside are moved to the nearer end.
// NaN gives normal.
func At(v float64) Effort {
	if math.IsNaN(v) {
		return Normal
	}
	return Effort{min(1, max(0, v)), true}
}

// EffortForSPL gives the effort whose speech has the stated level at 1 m, in
// dB SPL; levels outside 54..82.3 dB give the nearer end.
func EffortForSPL(db float64) Effort {
	for i := 1; i < len(effortSPL); i++ {
		if db <= effortSPL[i] {
			return At((float64(i-1) + (db-effortSPL[i-1])/(effortSPL[i]-effortSPL[i-1])) / 4)
		}
	}
	return Shout
}

// Value is the effort as a number from 0 to 1.
func (e Effort) Value() float64 {
	if !e.given {
		return Normal.value
	}
	return e.value
}

// IsZero reports whether no effort was given.
func (e Effort) IsZero() bool { return !e.given }

// SPL is the level of speech at this effort, 1 m in front of the lips, in dB
// SPL, as energy over active speech: linear between the named efforts.
func (e Effort) SPL() float64 { return ladder(effortSPL, e.Value()) }

// ladder interpolates a quantity given at the five named efforts.
func ladder(t [5]float64, v float64) float64 {
	x := min(1, max(0, v)) * 4
	i := min(3, int(x))
	return t[i] + (t[i+1]-t[i])*(x-float64(i))
}

// String gives the name for a named effort, else the number.
func (e Effort) String() string {
	if !e.given {
		return ""
	}
	for _, n := range effortNames {
		if n.e.value == e.value {
			return n.name
		}
	}
	return strconv.FormatFloat(e.value, 'g', -1, 64)
}

// ParseEffort reads a name or a number from 0 to 1.
func ParseEffort(s string) (Effort, error) {
	s = strings.TrimSpace(s)
	for _, n := range effortNames {
		if strings.EqualFold(n.name, s) {
			return n.e, nil
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v >= 0 && v <= 1) {
		return Effort{}, fmt.Errorf("effort %q: want quiet, normal, raised, loud, shout or a number from 0 to 1", s)
	}
	return Effort{v, true}, nil
}

// MarshalText writes the name or the number.
func (e Effort) MarshalText() ([]byte, error) { return []byte(e.String()), nil }

// UnmarshalText reads what MarshalText writes; an empty text means not given.
func (e *Effort) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*e = Effort{}
		return nil
	}
	v, err := ParseEffort(string(b))
	if err == nil {
		*e = v
	}
	return err
}

// MarshalJSON writes a named effort as a string, any other as a number.
func (e Effort) MarshalJSON() ([]byte, error) {
	s := e.String()
	if s != "" && (s[0] >= '0' && s[0] <= '9') {
		return []byte(s), nil
	}
	return json.Marshal(s)
}

// UnmarshalJSON reads a string or a number.
func (e *Effort) UnmarshalJSON(b []byte) error {
	var s string
	if len(b) > 0 && b[0] == '"' {
		if err := json.Unmarshal(b, &s); err != nil {
			return err
		}
	} else if s = string(b); s == "null" {
		return nil
	}
	return e.UnmarshalText([]byte(s))
}
