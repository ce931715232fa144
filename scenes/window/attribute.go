package window

import "strconv"

// attribute writes a number as attributes of elements have it: ten digits that count,
// never with an exponent, which ARIA's values must not have.
func attribute(v float64) string {
	short, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 10, 64), 64)
	if err != nil {
		short = v // beyond what a float64 holds, once rounded
	}
	return strconv.FormatFloat(short, 'f', -1, 64)
}
