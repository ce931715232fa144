package recorder

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"

	"gainwright/scenes/kit"
	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds"
	"gainwright/sounds/series"
)

// entry is a recording that was brought along.
type entry struct {
	drop    ui.Drop
	told    *series.Told // what was said of it by hand
	reading *series.Reading
	why     string // why there is none
	err     error
	row     *fileRow
	// Of the archive: the name under which it is kept there, whether that was tried, and why it
	// is not.
	keptAs string
	tried  bool
	unkept string
}

// waits tells whether it is still to be read.
func (e *entry) waits() bool { return e.reading == nil && e.why == "" }

// words say what it is.
func (e *entry) words(now bool, share float64) string {
	switch {
	case now:
		return fmt.Sprintf("reading, %.0f %%", 100*share)
	case e.why != "":
		return e.why
	case e.reading == nil:
		return "waits to be read"
	case len(e.reading.Sources) == 0:
		return "tells nothing"
	}
	s := ""
	for i, src := range e.reading.Sources {
		if i == 3 && len(e.reading.Sources) > 4 {
			return fmt.Sprintf("%s; and %d more", s, len(e.reading.Sources)-3)
		}
		if i > 0 {
			s += "; "
		}
		s += src.What()
	}
	return s
}

// fileOf makes a file of a drop.
func fileOf(d ui.Drop) series.File {
	return series.File{Name: d.Name,
		Open: func(context.Context) (*sounds.Reader, error) { return work.OpenDrop(d) },
		Raw: func() (io.ReadCloser, error) {
			if d.Long != nil {
				return io.NopCloser(io.NewSectionReader(d.Long, 0, d.Size)), nil
			}
			return io.NopCloser(bytes.NewReader(d.Data)), nil
		}}
}

// errTwice is why a file does not count.
type errTwice string

func (e errTwice) Error() string { return "is the same file as " + string(e) + ", and counts once" }

// read reads a recording; known are the hashes of those that were read before, by name.
func (e *entry) read(h *work.Context, known map[string]string) (*series.Reading, error) {
	if e.drop.Err != nil {
		return nil, e.drop.Err
	}
	f := fileOf(e.drop)
	p := &progress{h: h, stage: "reading " + f.Name}
	sum, err := series.Hash(h, f)
	if err != nil {
		return nil, err
	}
	if other, twice := known[sum]; twice {
		return nil, errTwice(other)
	}
	return series.Read(h, f, sum, e.told, p)
}

// fail notes why a recording tells nothing.
func (e *entry) fail(err error) {
	e.err = err
	var in *sounds.InputError
	if errors.As(err, &in) {
		err = errors.New(in.Msg) // the name stands above
	}
	e.why = kit.Capital(err.Error()) + "."
}
