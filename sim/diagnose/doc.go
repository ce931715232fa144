// Package diagnose tells from a recording alone what happened to it: flattened by
// a ceiling, at full scale or below; bent by an overdriven stage; limited; coded
// or filtered since; too loud, too quiet, with hum or an offset.
//
// A Channel listens to one channel in a stream, in memory that does not grow, and
// gathers three kinds of evidence. Straight tops: parts of a half-wave that lie on
// a line between two corners, which nothing but a ceiling makes. Walls: values at
// which the histogram of samples ends abruptly. Shapes: how wide, blunt and kinked
// the highest tops are against those of half their level, how both change with the level in
// between (profile.go), and how peaks are spread.
// Straight tops and walls decide by thresholds that stand in judge.go; what is
// left, by a forest of small trees over the Features (weights in weights.go, learnt
// by tests/diagnose/train on recordings that the figures are not given for).
package diagnose
