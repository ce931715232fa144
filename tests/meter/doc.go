// Package meter compares sim/meter with references outside this project: the
// C library libebur128 on generated files (go test -tags full ./tests/meter/,
// needs a C compiler and the library's headers), and its speed with that
// library and with ffmpeg (speed.sh).
package meter
