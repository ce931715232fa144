//go:build window && !js

package main

import (
	"encoding/json"
	"errors"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"

	"gainwright/scenes/kit"
	"gainwright/sounds/microphone"
)

var _ kit.Listener = (*host)(nil)

// host is a desktop.
type host struct {
	file   string // of the settings, empty if there is no place for one
	values map[string]string
}

func newHost() (*host, error) {
	h := &host{values: make(map[string]string)}
	if d, err := os.UserConfigDir(); err == nil {
		h.file = filepath.Join(d, "gainwright", "settings.json")
		if b, err := os.ReadFile(h.file); err == nil {
			// Settings that cannot be read are those of a first start.
			_ = json.Unmarshal(b, &h.values)
			if h.values == nil {
				h.values = make(map[string]string)
			}
		}
	}
	return h, nil
}

func (h *host) Load(key string) string { return h.values[key] }

// Store writes all settings anew, whole or not at all. Where that fails they
// hold for this session.
func (h *host) Store(key, value string) {
	h.values[key] = value
	if h.file == "" {
		return
	}
	b, err := json.MarshalIndent(h.values, "", "  ")
	if err != nil || os.MkdirAll(filepath.Dir(h.file), 0o755) != nil {
		return
	}
	tmp, err := os.CreateTemp(filepath.Dir(h.file), ".settings-*")
	if err != nil {
		return
	}
	defer os.Remove(tmp.Name())
	_, err = tmp.Write(append(b, '\n'))
	if errors.Join(err, tmp.Close()) == nil {
		_ = os.Rename(tmp.Name(), h.file)
	}
}

// Chance is another number each time.
func (*host) Chance() uint64 { return rand.Uint64() }

// Copy hands text to the system's own clipboard tool.
func (*host) Copy(text string) <-chan error {
	answer := make(chan error, 1)
	answer <- copyOut(text)
	return answer
}

func copyOut(text string) error {
	tools := [][]string{{"wl-copy"}, {"xclip", "-selection", "clipboard"}, {"xsel", "--clipboard", "--input"}}
	switch runtime.GOOS {
	case "darwin":
		tools = [][]string{{"pbcopy"}}
	case "windows":
		tools = [][]string{{"clip"}}
	}
	for _, t := range tools {
		path, err := exec.LookPath(t[0])
		if err != nil {
			continue
		}
		cmd := exec.Command(path, t[1:]...)
		cmd.Stdin = strings.NewReader(text)
		if err := cmd.Start(); err != nil {
			continue
		}
		go cmd.Wait()
		return nil
	}
	return errors.New("no clipboard tool was found (wl-copy, xclip or xsel)")
}

// Listen gives a microphone that says why there is none.
func (*host) Listen(bool) kit.Microphone { return deaf{} }

type deaf struct{}

func (deaf) Report() kit.MicReport {
	return kit.MicReport{State: kit.MicEnded, Err: microphone.ErrLibrary}
}

func (deaf) Read([]float64) int { return 0 }

func (deaf) Pull(dst []float64) { clear(dst) }

func (deaf) Close() {}
