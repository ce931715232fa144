package gain

import (
	"bytes"
	"image/png"
	"strings"
	"testing"

	"gainwright/scenes/scenetest"
)

// A copied link names the address that is good for others, and has a picture then; else
// it says for whom it is good.
func TestLinkForOthers(t *testing.T) {
	h := &scenetest.Memory{M: map[string]string{"everything": "1"}}
	b := scenetest.Drive(t, scenetest.Build(t, h, gainScenes))
	b.Do("setup.link")
	b.Wait(0.1)
	if a := b.P.Announce(); !strings.HasPrefix(h.Copied, "http://127.0.0.1:8080/#setup=") || !strings.Contains(a, "this computer only") || !strings.Contains(a, "as a file") {
		t.Errorf("%.40s: %q", h.Copied, a)
	}
	b.Do("more")
	b.Wait(0.1)
	if n := b.Node("setup.code"); !n.Disabled {
		t.Error("a picture of a link that is good here only")
	}
	h.Others = "https://a.example/gain/"
	b.Wait(0.1)
	b.Do("setup.link")
	b.Wait(0.1)
	if a := b.P.Announce(); !strings.HasPrefix(h.Copied, "https://a.example/gain/#setup=") || strings.Contains(a, "only") {
		t.Errorf("%.40s: %q", h.Copied, a)
	}
	b.Do("setup.code")
	name, data, ok := b.P.NextSave()
	if !ok || name != "gainwright-link.png" {
		t.Fatalf("saved %q", name)
	}
	p, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("a link of %d characters is a picture of %v", len(h.Copied), p.Bounds().Max)
}
