// Package repair_test (with its programs below) measures what package
// gainwright/sim/repair brings back, on open speech that this repository does
// not contain. See table/ for the declipping table.
package repair
