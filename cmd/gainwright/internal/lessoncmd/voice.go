package lessoncmd

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"github.com/spf13/cobra"

	"gainwright/lessons/grade"
	"gainwright/sounds"
	"gainwright/sounds/own"
)

// maxVoiceBytes is more than any voice has: 90 s at 24 bits, and what its file says of it.
const maxVoiceBytes = own.MostSeconds*own.Rate*3 + 1<<20

// readVoice reads a voice of somebody's own.
func readVoice(ctx context.Context, path string) (*own.Guest, error) {
	wrong := func(err error, msg string) error { return &sounds.InputError{Path: path, Msg: msg, Err: err} }
	f, err := os.Open(path)
	if err != nil {
		if os.IsNotExist(err) {
			return nil, wrong(err, "no such file")
		}
		return nil, wrong(err, "cannot be read")
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxVoiceBytes+1))
	switch {
	case err != nil:
		return nil, wrong(err, "cannot be read")
	case len(data) > maxVoiceBytes:
		return nil, wrong(nil, fmt.Sprintf("is too long for a voice: %d s at most", own.MostSeconds))
	}
	p, err := own.Unpack(sounds.Shown(path), data)
	if errors.Is(err, own.ErrPlain) {
		return nil, wrong(err, "is not a voice: want the WAV that “Your voice” saves, which says where in it talk and laugh are")
	}
	if err != nil {
		return nil, err
	}
	g, err := own.NewGuest(ctx, p, nil)
	if err != nil && ctx.Err() == nil {
		return nil, wrong(err, err.Error())
	}
	return g, err
}

// readVoices reads all of them; one that is given twice counts once.
func readVoices(ctx context.Context, paths []string) (out []grade.Voice, err error) {
	for _, p := range paths {
		g, err := readVoice(ctx, p)
		if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(out, func(v grade.Voice) bool { return v.Guest.Sum == g.Sum }) {
			out = append(out, grade.Voice{Path: sounds.Shown(p), Guest: g})
		}
	}
	return out, nil
}

// addVoice adds the flag of a voice of one's own.
func addVoice(cmd *cobra.Command, to *string, what string) {
	cmd.Flags().StringVar(to, "voice", "", what+" the voice in `FILE.wav`, which the scene “Your voice” saved, where the lesson allows it")
}
