package grade

import (
	"fmt"
	"maps"
	"math"
	"runtime"
	"slices"
	"strings"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
	"gainwright/sounds/scenario/plain"
)

// Tolerances between platforms, which round differently in the last bits; on one
// platform results are equal but for what JSON drops.
const (
	sameTolerance  = 1e-6
	otherTolerance = 0.01
)

// compare holds the result against what came of doing it again.
func (g *Grader) compare(res, again *run.Result, flag func(step, format string, args ...any)) {
	tol := sameTolerance
	if res.Platform != runtime.GOOS+"/"+runtime.GOARCH {
		tol = otherTolerance
	}
	for i := range again.Steps {
		a, b := &res.Steps[i], &again.Steps[i]
		if a.Verdict != b.Verdict {
			flag(a.ID, "is %s in the file; it comes out as %s", orOpen(a.Verdict), orOpen(b.Verdict))
		}
		if a.Points != b.Points {
			flag(a.ID, "has %v points in the file; it comes out with %v", a.Points, b.Points)
		}
		if a.Hits != b.Hits {
			flag(a.ID, "has %d hits in the file; it comes out with %d", a.Hits, b.Hits)
		}
		if a.Truth != b.Truth && tol == sameTolerance {
			flag(a.ID, "the right answer is %s in the file; it comes out as %s", plain.Quote(a.Truth), plain.Quote(b.Truth))
		}
		if n := len(a.Hints); n > 0 && (a.Kind != model.Do || !likely(a.Hints, a.Takes)) {
			flag(a.ID, "hints that cannot have been told")
		}
		if !slices.Equal(a.Answers, b.Answers) {
			flag(a.ID, "an answer is written as no program writes it")
		}
		if !sameMended(a.Mended, b.Mended, tol) {
			flag(a.ID, "what was worked out does not reproduce")
		}
		if (a.Take == nil) != (b.Take == nil) {
			flag(a.ID, "a take is missing or too many")
			continue
		}
		if a.Take != nil {
			compareTakes(a, b, tol, flag)
		}
	}
	if res.Points != again.Points || res.Of != again.Of || res.Passed != again.Passed || res.FailedAt != again.FailedAt {
		flag("", "says %v of %v points, %s; it comes out as %v of %v, %s", res.Points, res.Of, passed(res.Passed), again.Points, again.Of, passed(again.Passed))
	}
}

// likely tells whether each hint was told after at most every take.
func likely(hints []int, takes int) bool {
	return !slices.ContainsFunc(hints, func(n int) bool { return n < 0 || n > takes })
}

func merge(a, b map[string]any) map[string]any {
	out := map[string]any{}
	for _, m := range []map[string]any{a, b} {
		for k := range m {
			out[k] = nil
		}
	}
	return out
}

func passed(p bool) string {
	if p {
		return "passed"
	}
	return "not passed"
}

func orOpen(v run.Verdict) string {
	if v == run.Open {
		return "open"
	}
	return string(v)
}

func compareTakes(a, b *run.StepProgress, tol float64, flag func(step, format string, args ...any)) {
	for _, k := range slices.Sorted(maps.Keys(merge(a.Take.Settings, b.Take.Settings))) {
		if fmt.Sprint(a.Take.Settings[k]) != fmt.Sprint(b.Take.Settings[k]) {
			flag(a.ID, "%s is %v in the file; the take needs %v", k, a.Take.Settings[k], b.Take.Settings[k])
		}
	}
	var wrong []string
	for _, strip := range slices.Sorted(maps.Keys(b.Take.Readings)) {
		x, y := a.Take.Readings[strip], b.Take.Readings[strip]
		for _, k := range slices.Sorted(maps.Keys(y)) {
			got, is := x[k]
			if !is || !near(float64(got), float64(y[k]), k, tol) {
				name := strip + "." + k
				wrong = append(wrong, fmt.Sprintf("%s is %s in the file; the simulation gives %s", name, names.Show(name, float64(got)), names.Show(name, float64(y[k]))))
			}
		}
		for k := range x {
			if _, is := y[k]; !is {
				wrong = append(wrong, fmt.Sprintf("%s.%s is no reading", strip, plain.Shorten(k)))
			}
		}
	}
	for strip := range a.Take.Readings {
		if b.Take.Readings[strip] == nil {
			wrong = append(wrong, fmt.Sprintf("there is no strip %s", plain.Shorten(strip)))
		}
	}
	slices.Sort(wrong)
	if len(wrong) > 3 {
		wrong = append(wrong[:3], fmt.Sprintf("and %d more", len(wrong)-3))
	}
	if len(wrong) > 0 {
		flag(a.ID, "the take does not reproduce: %s", strings.Join(wrong, "; "))
	}
}

// sameMended compares what a mend, plan or twin step has worked out. A guess is the outcome of
// many roundings: between platforms it may differ by some tenths of a dB.
func sameMended(a, b map[string]names.Measured, tol float64) bool {
	if tol != sameTolerance {
		tol = 0.5
	}
	if len(a) != len(b) {
		return false
	}
	for way, m := range b {
		if len(a[way]) != len(m) {
			return false
		}
		for k, y := range m {
			if x, is := a[way][k]; !is || !near(float64(x), float64(y), k, tol) {
				return false
			}
		}
	}
	return true
}

// near compares a reading with the one found again. Counts may move a little
// between platforms, where a sample lies on the edge.
func near(a, b float64, name string, tol float64) bool {
	finite := func(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
	if !finite(a) || !finite(b) {
		return math.IsNaN(a) && math.IsNaN(b) || a == b
	}
	if n, _ := names.Reading(name); n.Unit == "" {
		if tol == sameTolerance {
			return a == b
		}
		return math.Abs(a-b) <= max(1, 0.01*math.Abs(b))
	}
	return math.Abs(a-b) <= tol
}
