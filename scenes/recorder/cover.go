package recorder

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"gainwright/scenes/ui"
	"gainwright/scenes/work"
	"gainwright/sounds/equipment"
	"gainwright/sounds/series"
)

// A cover stands before a recording's bytes in the archive: one line of JSON.
type cover struct {
	Name    string `json:"name"`
	Told    string `json:"told,omitempty"` // by hand, as series.ParseTold reads it
	Lossy   bool   `json:"lossy,omitempty"`
	Channel int    `json:"channel,omitempty"`
}

// size is how long it is, bytes.
func (e *entry) size() int64 {
	if e.drop.Long != nil {
		return e.drop.Size
	}
	return int64(len(e.drop.Data))
}

// pack is a recording as it is kept.
func (e *entry) pack(h *work.Context) ([]byte, error) {
	c := cover{Name: e.drop.Name, Lossy: e.drop.Lossy, Channel: e.drop.Channel}
	if e.told != nil {
		c.Told = tellBack(*e.told)
	}
	head, err := json.Marshal(c)
	if err != nil {
		return nil, err
	}
	head = append(head, '\n')
	data := append(make([]byte, 0, int64(len(head))+e.size()), head...)
	if e.drop.Long == nil {
		return append(data, e.drop.Data...), nil
	}
	const piece = 1 << 18
	for at := int64(0); at < e.drop.Size; at += piece {
		if h.Report("keeping "+e.drop.Name, float64(at)/float64(e.drop.Size)); h.Err() != nil {
			return nil, h.Err()
		}
		n := len(data)
		data = data[:n+int(min(piece, e.drop.Size-at))]
		if k, err := e.drop.Long.ReadAt(data[n:], at); k < len(data)-n {
			return nil, fmt.Errorf("it cannot be read again: %w", err)
		}
	}
	return data, nil
}

// tellBack is what series.ParseTold makes t of.
func tellBack(t series.Told) string {
	if t.Pair {
		return "pair," + series.Mark(t.Mark)
	}
	return t.Step.String() + "," + series.Mark(t.Mark)
}

// unpack is the recording that was kept.
func unpack(data []byte) (*entry, error) {
	head, rest, ok := bytes.Cut(data, []byte{'\n'})
	var c cover
	if !ok || json.Unmarshal(head, &c) != nil || c.Name == "" || len(rest) == 0 {
		return nil, errors.New("a recording that was kept here cannot be read any more")
	}
	e := &entry{drop: ui.Drop{Name: c.Name, Data: rest, Lossy: c.Lossy, Channel: c.Channel}}
	if c.Told != "" {
		if t, err := series.ParseTold(c.Told); err == nil {
			e.told = &t
		}
	}
	return e, nil
}

// sources are the files that a recorder was measured from, by their SHA-256.
func sources(r *equipment.Recorder) map[string]bool {
	m := map[string]bool{}
	for _, x := range r.Measured {
		m[x.SHA256] = true
	}
	return m
}
