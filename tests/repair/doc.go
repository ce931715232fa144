// Package repair measures what package gainwright/sim/repair brings back: here on
// takes of the simulated chain, and, with the build tag full, on open speech that
// this repository does not contain (speechset says where it comes from):
//
//	go run ./tests/repair/table --help               # the declipping table
//	go run ./tests/repair/light --help               # how often worse: takes clipped lightly
//	go test -tags full -timeout 30m ./tests/repair   # its main figures, checked
//	go test -tags full -run xxx -bench . -benchtime 1x ./tests/repair
//
// The blending network of the best declipping is learnt by the test with build tag
// train in sim/repair, on speech that is not in the table.
package repair
