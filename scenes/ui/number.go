package ui

import (
	"math"
	"strconv"
	"strings"
)

// Num writes a number and remembers what it wrote, so that an unchanged
// reading costs nothing. The zero Num is ready; each place on screen has its
// own.
type Num struct {
	q       int64
	digits  int
	pre, po string
	s       string
	ok      bool
}

const (
	qNaN = math.MinInt64
	qPos = math.MaxInt64
	qNeg = math.MinInt64 + 1
)

// Text writes pre, v with digits decimals and a true minus sign, and post. No
// value (NaN) is a dash, minus infinity "−∞".
func (n *Num) Text(pre string, v float64, digits int, post string) string {
	q := quantise(v, digits)
	if n.ok && n.q == q && n.digits == digits && n.pre == pre && n.po == post {
		return n.s
	}
	*n = Num{q, digits, pre, post, pre + Decimal(v, digits) + post, true}
	return n.s
}

func quantise(v float64, digits int) int64 {
	switch {
	case math.IsNaN(v):
		return qNaN
	case math.IsInf(v, 1) || v > 1e12:
		return qPos
	case math.IsInf(v, -1) || v < -1e12:
		return qNeg
	}
	m := v
	for range digits {
		m *= 10
	}
	return int64(math.Round(m))
}

// Decimal writes v with a true minus sign; a value that rounds to nothing has
// no sign.
func Decimal(v float64, digits int) string {
	switch {
	case math.IsNaN(v):
		return "–"
	case math.IsInf(v, 1):
		return "∞"
	case math.IsInf(v, -1):
		return "−∞"
	}
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if neg, ok := strings.CutPrefix(s, "-"); ok {
		if strings.Trim(neg, "0.") == "" {
			return neg
		}
		return "−" + neg
	}
	return s
}

// ParseNumber reads what people type: a comma for the point, any dash for the
// minus, blanks, and after the number a unit, which is not looked at.
func ParseNumber(s string) (float64, bool) {
	s = strings.NewReplacer("−", "-", "–", "-", ",", ".", "\u00a0", " ").Replace(strings.TrimSpace(s))
	end := len(s)
	for i, r := range s {
		if !(r >= '0' && r <= '9' || r == '.' || (r == '-' || r == '+') && i == 0) {
			end = i
			break
		}
	}
	v, err := strconv.ParseFloat(s[:end], 64)
	return v, err == nil && !math.IsInf(v, 0)
}

// Strs remembers one composed text by the values it was made from, for texts
// of several parts.
type Strs struct {
	key [6]int64
	s   string
	ok  bool
}

// Get returns the text made for key, calling make only when key has changed.
func (c *Strs) Get(key [6]int64, make func() string) string {
	if !c.ok || c.key != key {
		c.key, c.s, c.ok = key, make(), true
	}
	return c.s
}

// Last is the text that Get gave last.
func (c *Strs) Last() string { return c.s }

// Q is a value's key for Strs at a resolution of digits decimals.
func Q(v float64, digits int) int64 { return quantise(v, digits) }
