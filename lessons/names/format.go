package names

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ValueText writes a value as it would stand in a scenario.
func ValueText(v any) string {
	switch v := v.(type) {
	case float64:
		if math.IsInf(v, 1) {
			return "inf"
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	case string:
		return v
	}
	return fmt.Sprint(v)
}

// Format writes a number with its unit for people, with as many digits as one can
// act on.
func Format(v float64, u string) string {
	switch {
	case math.IsNaN(v):
		return "not measurable"
	case math.IsInf(v, 0):
		s := "∞"
		if v < 0 {
			s = "−∞"
		}
		return strings.TrimSpace(s + " " + u)
	}
	s := digits(v, u)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	s = strings.Replace(s, "-", "−", 1)
	switch u {
	case "", ":1":
		return s + u
	}
	return s + " " + u
}

// digits writes v with as many decimals as its unit u is read to.
func digits(v float64, u string) string {
	switch {
	case u == "" || u == "bit":
		if v != math.Trunc(v) {
			return strconv.FormatFloat(v, 'f', 2, 64)
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	case u == "m":
		return strconv.FormatFloat(Round(v, 3), 'f', -1, 64)
	case u == "%" && v != 0 && math.Abs(v) < 0.1:
		return strconv.FormatFloat(v, 'f', 3, 64)
	case u == "dB" && math.Abs(v) < 0.05 && math.Abs(v) >= 0.0005: // not nothing
		return strconv.FormatFloat(Round(v, 3), 'f', -1, 64)
	case u == "ms" && math.Abs(v) < 10:
		return strconv.FormatFloat(v, 'f', 2, 64)
	}
	return strconv.FormatFloat(v, 'f', 1, 64)
}

// Gap is a unit with the space that parts it from a number.
func Gap(unit string) string {
	if unit == "" || unit == ":1" {
		return unit
	}
	return " " + unit
}

// Show writes the value of a variable with its unit.
func Show(name string, v any) string {
	f, ok := v.(float64)
	if !ok {
		if v == nil {
			return "not known yet"
		}
		return fmt.Sprint(v)
	}
	key := name
	for {
		if n, ok := Figure(key); ok {
			return Format(f, n.Unit)
		}
		if n, ok := Setting(key); ok {
			return Format(f, n.Unit)
		}
		_, rest, more := strings.Cut(key, ".")
		if !more {
			return Format(f, "")
		}
		key = rest
	}
}

// Float reads a number of any of the types that YAML and JSON give.
func Float(v any) (float64, bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case int:
		return float64(v), true
	case uint64:
		return float64(v), true
	case int64:
		return float64(v), true
	}
	return 0, false
}

// ReadNumber reads "-3.5", "−3,5 dB".
func ReadNumber(t string) (v float64, unit string, ok bool) {
	t = strings.NewReplacer("−", "-", "–", "-").Replace(strings.TrimSpace(t))
	end := 0
	for end < len(t) && strings.IndexByte("+-.,0123456789", t[end]) >= 0 {
		end++
	}
	v, err := strconv.ParseFloat(strings.Replace(t[:end], ",", ".", 1), 64)
	if err != nil || math.IsInf(v, 0) || math.Abs(v) > 1e9 {
		return 0, "", false
	}
	return v, strings.TrimSpace(t[end:]), true
}

// Round rounds to so many digits after the point.
func Round(v float64, digits int) float64 {
	p := math.Pow(10, float64(digits))
	return math.Round(v*p) / p
}
