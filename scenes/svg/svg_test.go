package svg

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"gainwright/scenes/ink"
)

var update = flag.Bool("update", false, "write the golden file anew")

func sample(l *ink.List) {
	sky, rust, pale := ink.RGB(0x56b4e9), ink.RGB(0xd55e00), ink.RGB(0xe6edf3)
	l.Fill(ink.Rect{W: 160, H: 100}, 8, ink.RGB(0x1a212b))
	l.Frame(ink.Rect{X: 1, Y: 1, W: 158, H: 98}, 8, 1, sky)
	l.Clip(ink.Rect{X: 4, Y: 4, W: 120, H: 90})
	l.Strip(sky, sky.Alpha(0.1), ink.Point{X: 10, Y: 30}, ink.Point{X: 10, Y: 90}, ink.Point{X: 100, Y: 40}, ink.Point{X: 100, Y: 90})
	l.Hatch(ink.Rect{X: 40, Y: 10, W: 40, H: 20}, rust, rust.Alpha(0.25), 2, 6)
	l.Hatch(ink.Rect{X: 90, Y: 10, W: 20, H: 20}, rust, rust.Alpha(0.25), 2, 6)
	l.Line(2, pale, ink.Point{X: 10, Y: 30}, ink.Point{X: 60, Y: 12}, ink.Point{X: 100, Y: 40})
	l.Unclip()
	l.Disc(ink.Point{X: 136, Y: 30}, 12, rust.Alpha(0.5))
	l.Arc(ink.Point{X: 136, Y: 30}, 16, 0.75*math.Pi, 2.25*math.Pi, 3, sky)
	l.Polygon(pale, ink.Point{X: 130, Y: 60}, ink.Point{X: 130, Y: 76}, ink.Point{X: 144, Y: 68})
	l.Text(150, 92, `0 dB < "full scale" & more`, ink.Style{Size: 10, Font: ink.Bold, Align: ink.Right, Color: pale})
}

func render(t *testing.T, l *ink.List) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, l, ink.Point{X: 160, Y: 100}, "The level & its ceiling", "The wave's top is cut off."); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	var l ink.List
	sample(&l)
	got := render(t, &l)
	const file = "testdata/sample.svg"
	if *update {
		os.MkdirAll("testdata", 0o755)
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("differs from %s (run with -update after looking at it):\n%s", file, got)
	}
}

type document struct {
	XMLName  xml.Name `xml:"http://www.w3.org/2000/svg svg"`
	ViewBox  string   `xml:"viewBox,attr"`
	Role     string   `xml:"role,attr"`
	Labelled string   `xml:"aria-labelledby,attr"`
	Title    string   `xml:"title"`
	Desc     string   `xml:"desc"`
	Text     []string `xml:"text"`
}

func TestReadable(t *testing.T) {
	var l ink.List
	sample(&l)
	var d document
	b := render(t, &l)
	if err := xml.Unmarshal(b, &d); err != nil {
		t.Fatal(err)
	}
	if d.Title != "The level & its ceiling" || d.Desc != "The wave's top is cut off." || d.Role != "img" || len(strings.Fields(d.Labelled)) != 2 || d.ViewBox != "0 0 160 100" {
		t.Errorf("got %+v", d)
	}
	for _, id := range strings.Fields(d.Labelled) {
		if strings.Count(string(b), `id="`+id+`"`) != 1 {
			t.Errorf("the label %q is not in the document", id)
		}
	}
	if len(d.Text) != 1 || d.Text[0] != `0 dB < "full scale" & more` {
		t.Errorf("texts %q", d.Text)
	}
	// Equal hatchings share their pattern.
	if n := strings.Count(string(b), "<pattern"); n != 1 {
		t.Errorf("%d patterns, want 1", n)
	}
}

// Whatever the list holds, the document is well-formed and refers to nothing
// that it does not define.
func FuzzWellFormed(f *testing.F) {
	f.Add("a<b>&\"'\x00\xff\u0001 %s %d", float32(3), uint8(9), 2)
	f.Add("", float32(math.Inf(1)), uint8(0), -1)
	f.Fuzz(func(t *testing.T, s string, v float32, kind uint8, clips int) {
		var l ink.List
		for i := range max(0, min(clips, 8)) {
			l.Clip(ink.Rect{X: v, W: float32(i)})
		}
		l.Ops = append(l.Ops, ink.Op{Kind: ink.Kind(kind % 12), Rect: ink.Rect{X: v, Y: -v, W: v, H: v}, Width: v, Radius: v, Gap: v, A1: v, Text: s, Style: ink.Style{Size: v},
			N: 1})
		l.Pts = append(l.Pts, ink.Point{X: v, Y: v})
		l.Strip(ink.RGB(1), ink.RGB(2), ink.Point{X: v}, ink.Point{Y: v}, ink.Point{X: v}, ink.Point{Y: v})
		l.Unclip()
		var b bytes.Buffer
		if err := Write(&b, &l, ink.Point{X: v, Y: 1}, s, s); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		for d := xml.NewDecoder(&b); ; {
			tok, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%v in\n%s", err, text)
			}
			if e, ok := tok.(xml.StartElement); ok {
				for _, a := range e.Attr {
					if id, ok := strings.CutPrefix(a.Value, "url(#"); ok && !strings.Contains(text, `id="`+strings.TrimSuffix(id, ")")+`"`) {
						t.Fatalf("%s is not defined", a.Value)
					}
				}
			}
		}
	})
}
