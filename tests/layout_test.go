// Package tests holds checks of the whole: against references outside the
// project, in a browser, in a window, and of the layout itself.
package tests

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"gainwright/tests/limited"
)

type pkg struct {
	ImportPath string
	Imports    []string
	Deps       []string
	Standard   bool
}

func list(t *testing.T, env []string, args ...string) []pkg {
	t.Helper()
	cmd := limited.Command(t, 5*time.Minute, "go", append([]string{"list", "-json=ImportPath,Imports,Deps,Standard"}, args...)...)
	cmd.Dir = ".."
	cmd.Env = append(cmd.Environ(), env...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, stderr.String())
	}
	var ps []pkg
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p pkg
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return ps
		} else if err != nil {
			t.Fatal(err)
		}
		ps = append(ps, p)
	}
}

func under(path, root string) bool { return path == root || strings.HasPrefix(path, root+"/") }

// TestImportDirection: imports point one way, so that each layer can be read,
// tested and built without those above it.
func TestImportDirection(t *testing.T) {
	// What each layer may import of this module; everything may import itself.
	allowed := map[string][]string{
		"gainwright/sim":     {},
		"gainwright/sounds":  {"gainwright/sim"},
		"gainwright/lessons": {"gainwright/sim", "gainwright/sounds"},
		"gainwright/scenes":  {"gainwright/sim", "gainwright/sounds", "gainwright/lessons"},
	}
	// Modules that a layer may use from outside; nil means any.
	outside := map[string][]string{"gainwright/sim": {"gonum.org/v1/gonum", "golang.org/x/sys/cpu"}}
	js := []string{"GOOS=js", "GOARCH=wasm"}
	seen := map[string]bool{}
	for _, env := range [][]string{nil, js} {
		for _, p := range list(t, env, "./...") {
			for layer, may := range allowed {
				if !under(p.ImportPath, layer) {
					continue
				}
				seen[layer] = true
				for _, imp := range p.Imports {
					switch {
					case under(imp, "gainwright"):
						ok := under(imp, layer)
						for _, m := range may {
							ok = ok || under(imp, m)
						}
						if !ok {
							t.Errorf("%s imports %s", p.ImportPath, imp)
						}
					case strings.Contains(strings.Split(imp, "/")[0], "."):
						mods, limited := outside[layer]
						ok := !limited
						for _, m := range mods {
							ok = ok || under(imp, m)
						}
						if !ok {
							t.Errorf("%s imports %s", p.ImportPath, imp)
						}
					}
				}
			}
			for _, imp := range p.Imports {
				if under(imp, "github.com/hajimehoshi/ebiten/v2") && !under(p.ImportPath, "gainwright/scenes/window") {
					t.Errorf("%s imports ebiten: only scenes/window does", p.ImportPath)
				}
				if under(imp, "github.com/faiface/beep/speaker") && !under(p.ImportPath, "gainwright/sounds/speaker") {
					t.Errorf("%s imports the sound card: only sounds/speaker does", p.ImportPath)
				}
			}
		}
	}
	for _, l := range []string{"gainwright/sim", "gainwright/sounds", "gainwright/lessons", "gainwright/scenes"} {
		if !seen[l] {
			t.Errorf("no package under %s was looked at", l)
		}
	}
}

// TestBareBuild: nothing that a bare Go builds needs C, a display or a sound
// card.
func TestBareBuild(t *testing.T) {
	for _, p := range list(t, []string{"CGO_ENABLED=0"}, "./...") {
		for _, d := range p.Deps {
			if under(d, "github.com/hajimehoshi/ebiten/v2") || under(d, "github.com/hajimehoshi/oto") || d == "runtime/cgo" {
				t.Errorf("%s depends on %s without a build tag", p.ImportPath, d)
			}
		}
	}
}
