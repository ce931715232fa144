// Package audio checks the reading, writing and resampling of package sounds
// against ffmpeg and sox, programs that share no code with it. The tests need
// both and the build tag "full":
//
//	go test -tags full ./tests/audio
//
// They fail, rather than skip, where a program is missing.
package audio
