package names

import (
	"encoding/json"
	"math"
	"reflect"

	"gainwright/sim"
)

// Number is a reading as it is kept: JSON has no number for infinity, which is
// written as text, nor for "could not be measured", which is null.
type Number float64

// MarshalJSON writes a number, "inf", "-inf" or null.
func (n Number) MarshalJSON() ([]byte, error) {
	switch v := float64(n); {
	case math.IsNaN(v):
		return []byte("null"), nil
	case math.IsInf(v, 1):
		return []byte(`"inf"`), nil
	case math.IsInf(v, -1):
		return []byte(`"-inf"`), nil
	default:
		return json.Marshal(v)
	}
}

// UnmarshalJSON reads what MarshalJSON writes.
func (n *Number) UnmarshalJSON(b []byte) error {
	switch string(b) {
	case "null":
		*n = Number(math.NaN())
	case `"inf"`:
		*n = Number(math.Inf(1))
	case `"-inf"`:
		*n = Number(math.Inf(-1))
	default:
		return json.Unmarshal(b, (*float64)(n))
	}
	return nil
}

// Measured is the readings of one strip by their names.
type Measured map[string]Number

// Measure gives the readings of a strip by their names.
func Measure(r sim.Readings) Measured {
	m := Measured{}
	v := reflect.ValueOf(r)
	for key, i := range readingField {
		switch f := v.Field(i); f.Kind() {
		case reflect.Float64:
			m[key] = Number(f.Float())
		default:
			m[key] = Number(f.Int())
		}
	}
	return m
}
