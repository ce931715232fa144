// Package simtest makes chains for tests. It finds the values of a chain by
// reflection and knows nothing of their meaning but what sim's table of settings
// says, so that what is missing there is found missing.
package simtest

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"

	"gainwright/sim"
)

// A Leaf is one plain value of a chain.
type Leaf struct {
	Key   string // the path of its JSON names: "preamp.gain_db"
	Value reflect.Value
}

// Leaves lists every plain value of c, in order; setting one changes c. It panics
// where a field's names in JSON and YAML differ or are missing.
func Leaves(c *sim.Chain) []Leaf {
	var out []Leaf
	var walk func(v reflect.Value, at string)
	walk = func(v reflect.Value, at string) {
		for i := range v.NumField() {
			f := v.Type().Field(i)
			name := f.Tag.Get("json")
			if name == "" || strings.Contains(name, ",") || f.Tag.Get("yaml") != name {
				panic(fmt.Sprintf("simtest: %s.%s has the names %q", v.Type(), f.Name, f.Tag))
			}
			if f.Type.Kind() == reflect.Struct {
				walk(v.Field(i), at+name+".")
				continue
			}
			out = append(out, Leaf{at + name, v.Field(i)})
		}
	}
	walk(reflect.ValueOf(c).Elem(), "")
	return out
}

// Random draws every value of a chain from all that it can be, ends included. A
// value without a row in the table of settings is an error.
func Random(r *rand.Rand) (sim.Chain, error) {
	var c sim.Chain
	for _, l := range Leaves(&c) {
		s, ok := sim.SettingByKey(l.Key)
		if !ok {
			return c, fmt.Errorf("%s has no row in the table of settings", l.Key)
		}
		switch l.Value.Kind() {
		case reflect.Bool:
			l.Value.SetBool(r.IntN(2) == 1)
		case reflect.String:
			if len(s.Words) == 0 {
				return c, fmt.Errorf("%s has no words in the table of settings", l.Key)
			}
			l.Value.SetString(s.Words[r.IntN(len(s.Words))].Word)
		case reflect.Int:
			l.Value.SetInt(int64(s.Min) + r.Int64N(int64(s.Max-s.Min)+1))
		case reflect.Float64:
			l.Value.SetFloat(draw(r, s.Min, s.Max))
		default:
			return c, fmt.Errorf("%s is of a kind that tests cannot draw", l.Key)
		}
	}
	return c, c.Validate()
}

func draw(r *rand.Rand, lo, hi float64) float64 {
	if math.IsInf(hi, 1) {
		if r.IntN(2) == 0 {
			return hi
		}
		hi = 1000
	}
	switch r.IntN(6) {
	case 0:
		return lo
	case 1:
		return hi
	case 2:
		return math.Round(min(max(lo+r.Float64()*(hi-lo), math.Ceil(lo)), math.Floor(hi)))
	}
	return lo + r.Float64()*(hi-lo)
}

// Differences lists the values in which two chains differ, one a line; "" if none.
func Differences(got, want sim.Chain) string {
	var b strings.Builder
	g, w := Leaves(&got), Leaves(&want)
	for i := range g {
		if a, b2 := g[i].Value.Interface(), w[i].Value.Interface(); a != b2 {
			fmt.Fprintf(&b, "%s: %v, not %v\n", g[i].Key, a, b2)
		}
	}
	return b.String()
}
