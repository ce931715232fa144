package rules

import (
	"math"
	"strings"
	"testing"
	"time"

	"gainwright/lessons/names"
)

func testScope() *Scope {
	return &Scope{
		Strips: []string{"A", "B"}, Takes: []string{"loud"}, Latest: true,
		Drawn: map[string]names.Name{"distance_m": {Key: "distance_m", Unit: "m"}, "talker": {Key: "talker", Type: names.Word, Words: []string{"joss", "ilse"}}},
	}
}

func testValues() Values {
	return Values{
		"A.headroom_db": 7.0, "B.headroom_db": -3.0, "A.overs": 0.0, "B.overs": 12.0, "A.peak_dbfs": -7.0, "A.true_peak_dbtp": -6.5,
		"A.loudness_lufs": -21.0, "B.loudness_lufs": -17.5, "A.snr_db": math.NaN(), "A.sdr_db": math.Inf(1), "A.preamp.gain_db": 40.0,
		"A.limiter_place": "after", "A.limiter_reduction_max_db": 0.0, "A.longest_over_ms": 0.4, "loud.A.overs": 3.0, "drawn.distance_m": 0.1,
		"drawn.talker": "joss", "A.microphone.proximity": true, "A.delivered_gain_db": 2.0,
	}
}

func TestRules(t *testing.T) {
	for _, c := range []struct {
		rule string
		want bool
	}{
		{"A.headroom_db >= 6 && A.overs == 0", true},
		{"A.headroom_db >= 8", false},
		{"B.headroom_db < 0 and B.overs > 10", true},
		{"not (B.overs == 0) || A.overs > 1", true},
		{"6 <= A.headroom_db <= 8", true},
		{"between(A.headroom_db, 6, 8)", true},
		{"between(A.headroom_db, 7.5, 8)", false},
		{"abs(A.loudness_lufs - B.loudness_lufs) <= 4", true},
		{"-19 - A.loudness_lufs > 1.5", true},
		{"A.true_peak_dbtp + A.delivered_gain_db <= -1", true},
		{"A.true_peak_dbtp >= A.peak_dbfs", true},
		{"max(A.headroom_db, B.headroom_db) >= A.headroom_db", true},
		{"min(A.overs, B.overs, loud.A.overs) == 0", true},
		{"A.preamp.gain_db <= 40 && A.preamp.gain_db >= 40", true},
		{`A.limiter_place == "after"`, true},
		{`A.limiter_place != "off" && drawn.talker == "joss"`, true},
		{"A.microphone.proximity", true},
		{"!A.microphone.proximity", false},
		{"loud.A.overs - A.overs == 3", true},
		{"A.headroom_db / B.headroom_db < -2", true},
		{"A.headroom_db * 2 > 13.9", true},
		{"drawn.distance_m < 0.2", true},
		{"A.sdr_db > 100", true},   // nothing lost: infinite
		{"A.snr_db > 0", false},    // could not be measured
		{"A.snr_db < 0", false},    // nor this
		{"!(A.snr_db > 0)", false}, // nor so
	} {
		e, bad := Compile(c.rule, testScope(), Bool)
		if len(bad) > 0 {
			t.Errorf("%s: %v", c.rule, bad[0])
			continue
		}
		if got, checks := e.Holds(testValues()); got != c.want {
			t.Errorf("%s is %v (%v)", c.rule, got, checks)
		}
	}
}

func TestRuleUnits(t *testing.T) {
	for _, c := range []struct{ expr, unit string }{
		{"A.peak_dbfs", "dBFS"}, {"A.peak_dbfs - B.headroom_db", "dBFS"}, {"A.true_peak_dbtp - A.peak_dbfs", "dB"},
		{"A.loudness_lufs - B.loudness_lufs", "dB"}, {"-19 - A.loudness_lufs", "dB"}, {"A.headroom_db / 2", "dB"},
		{"A.headroom_db / B.headroom_db", ""}, {"abs(A.headroom_db)", "dB"}, {"A.longest_over_ms * 48", "ms"},
		{"drawn.distance_m * 2", "m"}, {"A.overs + B.overs", ""}, {"max(A.headroom_db, 3)", "dB"},
	} {
		e, bad := Compile(c.expr, testScope(), Numerical)
		if len(bad) > 0 {
			t.Errorf("%s: %v", c.expr, bad[0])
		} else if e.Unit != c.unit {
			t.Errorf("%s is in %q, want %q", c.expr, e.Unit, c.unit)
		}
	}
	for _, expr := range []string{
		"A.peak_dbfs + A.loudness_lufs", "A.peak_dbfs * 2", "-A.peak_dbfs", "A.peak_dbfs - A.longest_over_ms", "A.longest_over_ms + A.headroom_db",
		"abs(A.peak_dbfs)", "A.peak_dbfs / A.headroom_db", "max(A.headroom_db, A.longest_over_ms)", "A.headroom_db * A.longest_over_ms", "A.overs + A.headroom_db",
		"3 * A.loudness_lufs", "A.headroom_db - A.peak_dbfs",
	} {
		if _, bad := Compile(expr, testScope(), Numerical); len(bad) == 0 {
			t.Errorf("%s was accepted", expr)
		}
	}
}

// The check that a rule missed says what the value was.
func TestRuleExplainsItself(t *testing.T) {
	e, bad := Compile("A.headroom_db >= 6 && B.overs == 0", testScope(), Bool)
	if len(bad) > 0 {
		t.Fatal(bad[0])
	}
	_, checks := e.Holds(testValues())
	if len(checks) != 2 || !checks[0].OK || checks[1].OK || checks[1].Got != "B.overs is 12" || checks[0].Got != "A.headroom_db is 7.0 dB" {
		t.Errorf("%+v", checks)
	}
}

// A value that misses by less than its last digit is told with more of them.
func TestChecksTellTheDifference(t *testing.T) {
	for v, want := range map[float64]string{5.98: "A.headroom_db is 5.980 dB", 5.9: "A.headroom_db is 5.9 dB", 6: "A.headroom_db is 6.0 dB"} {
		e, bad := Compile("A.headroom_db >= 6", testScope(), Bool)
		if bad != nil {
			t.Fatal(bad)
		}
		if _, checks := e.Holds(Values{"A.headroom_db": v}); checks[0].Got != want {
			t.Errorf("%v: %q, want %q", v, checks[0].Got, want)
		}
	}
}

// within compiles a rule, and gives up on it after a minute.
func within(t *testing.T, rule string) (bad []*Fault) {
	t.Helper()
	done := make(chan struct{})
	go func() {
		defer close(done)
		_, bad = Compile(rule, testScope(), Bool)
	}()
	select {
	case <-done:
	case <-time.After(time.Minute):
		t.Fatalf("%.60s: still going after a minute", rule)
	}
	return bad
}

// Nothing that loops, allocates without end or calls out can be written.
func TestRulesAreBounded(t *testing.T) {
	for _, rule := range []string{
		"all(1..1000000000, true)", "1..1000000000 == 1..1000000000", "len(1..9) > 3", `repeat("a", 100000000) == "a"`,
		"map([1,2,3], {# * 2}) == 1", "let x = 1; x > 0", "A.overs ** 999999999 > 1", "A.overs % 2 == 0", `"a" + "b" == "ab"`,
		`A.overs matches "(a+)+$"`, "[1,2,3][0] == A.overs", `{"a": 1}.a == A.overs`, "A?.overs == 0", "A.overs ?? 1 == 1", "A.overs > 0 ? true : false",
		`env("HOME") == "x"`, "now() == now()", "A.overs | abs == 0", "A.overs in [1, 2]", "A[\"over\" + \"s\"] == 0", "if A.overs > 0 { true } else { false }",
		"sum(1..100) > A.overs", "A.overs.x == 1", "A == B", "true", "1 < 2", "nil == A.overs",
		strings.Repeat("(", 100) + "A.overs == 0" + strings.Repeat(")", 100),
		strings.Repeat("!", 400) + "(A.overs == 0)",
		"A.overs == 0" + strings.Repeat(" && A.overs == 0", 30),
		strings.Repeat("x", 100_000),
	} {
		bad := within(t, rule)
		if len(bad) == 0 {
			t.Errorf("%.60s was accepted", rule)
		}
		for _, b := range bad {
			if b.Msg == "" || b.Col < 0 {
				t.Errorf("%.60s: %+v", rule, b)
			}
		}
	}
}

func FuzzRule(f *testing.F) {
	for _, s := range []string{"A.headroom_db >= 6 && A.overs == 0", "abs(A.loudness_lufs - B.loudness_lufs) <= 4", "between(A.headroom_db, 6, 8)", "not (B.overs == 0)", "1..9 == 2", "A.overs == 0 ? 1 : 2", "drawn.talker == \"joss\"", "((((A.overs)))) < -1e308", "6 <= A.headroom_db <= 8"} {
		f.Add(s)
	}
	v := testValues()
	f.Fuzz(func(t *testing.T, text string) {
		for _, w := range []Want{Bool, Numerical, Any} {
			e, bad := Compile(text, testScope(), w)
			if (e == nil) != (len(bad) > 0) {
				t.Fatalf("%q: %v and %v", text, e, bad)
			}
			for _, b := range bad {
				if b.Msg == "" || b.Col < 0 || b.Col > len([]rune(text)) {
					t.Fatalf("%q: %+v", text, b)
				}
			}
			if e == nil {
				continue
			}
			// Whatever is accepted gives a value, also of what could not be measured.
			all := Values{}
			for _, n := range e.Names {
				all[n] = v[n]
				if all[n] == nil {
					all[n] = math.NaN()
				}
			}
			switch e.kind {
			case names.Boolean:
				e.Holds(all)
			case names.Numeric:
				e.Number(all)
			}
			e.Say(all)
			e.Say(Values{})
		}
	})
}
