package english

import (
	"slices"
	"strings"
)

var ones = []string{"zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
	"eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"}
var tens = []string{"", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"}
var ordinals = map[string]string{"one": "first", "two": "second", "three": "third", "five": "fifth", "eight": "eighth",
	"nine": "ninth", "twelve": "twelfth"}

// numberWords speaks a number as written: "1962" as a year, "3.5", "1.2.3", "1,200",
// "0470" digit by digit.
func numberWords(s string) []string {
	grouped := strings.Contains(s, ",")
	s = strings.ReplaceAll(s, ",", "")
	whole, frac, point := strings.Cut(s, ".")
	var out []string
	switch {
	case whole == "":
	case len(whole) > 9 || len(whole) > 1 && whole[0] == '0':
		out = digits(whole)
	case len(whole) == 4 && !point && !grouped && (whole >= "1100" && whole < "2000" || whole >= "2010" && whole < "2100"):
		out = year(whole)
	default:
		out = cardinal(atoi(whole))
	}
	if point && frac != "" {
		for _, part := range strings.Split(frac, ".") { // of a version there are several
			out = append(out, "point")
			out = append(out, digits(part)...)
		}
	}
	return out
}

// year speaks four digits two by two.
func year(s string) []string {
	out := slices.Clone(cardinal(atoi(s[:2])))
	switch rest := atoi(s[2:]); {
	case rest == 0:
		return append(out, "hundred")
	case rest < 10:
		return append(out, "oh", ones[rest])
	default:
		return append(out, cardinal(rest)...)
	}
}

// ordinalWords speaks 1st, 22nd, 30th.
func ordinalWords(s string) []string {
	out := slices.Clone(cardinal(atoi(strings.ReplaceAll(s, ",", ""))))
	last := out[len(out)-1]
	switch {
	case ordinals[last] != "":
		last = ordinals[last]
	case strings.HasSuffix(last, "y"):
		last = last[:len(last)-1] + "ieth"
	default:
		last += "th"
	}
	out[len(out)-1] = last
	return out
}

func atoi(s string) int {
	n := 0
	for i := 0; i < len(s) && n < 1e9; i++ {
		n = n*10 + int(s[i]-'0')
	}
	return n
}

func digits(s string) []string {
	var out []string
	for i := range len(s) {
		out = append(out, ones[s[i]-'0'])
	}
	return out
}

func cardinal(n int) []string {
	switch {
	case n < 20:
		return ones[n : n+1 : n+1]
	case n < 100:
		out := []string{tens[n/10]}
		if n%10 > 0 {
			out = append(out, ones[n%10])
		}
		return out
	case n < 1000:
		out := []string{ones[n/100], "hundred"}
		if n%100 > 0 {
			out = append(append(out, "and"), cardinal(n%100)...)
		}
		return out
	}
	for _, u := range []struct {
		v    int
		name string
	}{{1e9, "billion"}, {1e6, "million"}, {1000, "thousand"}} {
		if n >= u.v {
			out := append(cardinal(n/u.v), u.name)
			if rest := n % u.v; rest > 0 {
				if rest < 100 {
					out = append(out, "and")
				}
				out = append(out, cardinal(rest)...)
			}
			return out
		}
	}
	return nil
}
