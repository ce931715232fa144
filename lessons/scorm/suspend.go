package scorm

import (
	"bytes"
	"compress/flate"
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"gainwright/lessons/model"
	"gainwright/lessons/names"
	"gainwright/lessons/run"
)

// Most is how many characters cmi.suspend_data takes (CMIString4096).
const Most = 4096

// version begins what Pack writes.
const version = "1"

// maxProgress is more than any progress has.
const maxProgress = 4 << 20

// Pack writes a progress so that it fits: whole, if it does, else with readings to a
// millionth (which is less than what two machines differ by), else with what was
// explained in the student's own words cut short, the longest first. ok is false if even
// that is too long.
func Pack(p run.Progress) (data string, ok bool) {
	if data := packed(p); len(data) <= Most {
		return data, true
	}
	p.Steps = slices.Clone(p.Steps)
	for i := range p.Steps {
		if t := p.Steps[i].Take; t != nil {
			short := *t
			short.Readings = map[string]names.Measured{}
			for strip, m := range t.Readings {
				to := names.Measured{}
				for k, v := range m {
					to[k] = names.Number(rounded(float64(v)))
				}
				short.Readings[strip] = to
			}
			p.Steps[i].Take = &short
		}
	}
	for {
		data := packed(p)
		if len(data) <= Most {
			return data, true
		}
		at, longest := -1, 60
		for i := range p.Steps {
			if s := &p.Steps[i]; s.Kind == model.Explain && len(s.Answers) == 1 && utf8.RuneCountInString(s.Answers[0]) > longest {
				at, longest = i, utf8.RuneCountInString(s.Answers[0])
			}
		}
		if at < 0 {
			return "", false
		}
		words := []rune(p.Steps[at].Answers[0])
		p.Steps[at].Answers = []string{strings.TrimRight(string(words[:longest*4/5]), " …") + " …"}
	}
}

func rounded(x float64) float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) || math.Abs(x) > 1e9 {
		return x
	}
	return math.Round(x*1e6) / 1e6
}

func packed(p run.Progress) string {
	b, err := json.Marshal(p)
	if err != nil {
		panic("scorm: " + err.Error()) // plain values
	}
	var z bytes.Buffer
	w, _ := flate.NewWriter(&z, flate.BestCompression) // the level is one
	w.Write(b)
	w.Close()
	return version + base64.RawStdEncoding.EncodeToString(z.Bytes())
}

// Unpack gives the progress that Pack wrote, as run.Resume takes it.
func Unpack(data string) ([]byte, error) {
	text, ok := strings.CutPrefix(strings.TrimSpace(data), version)
	if !ok {
		return nil, errors.New("this is no progress of a lesson")
	}
	z, err := base64.RawStdEncoding.DecodeString(text)
	if err != nil {
		return nil, err
	}
	b, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(z)), maxProgress+1))
	if err == nil && len(b) > maxProgress {
		err = errors.New("it is too long for a progress")
	}
	return b, err
}
