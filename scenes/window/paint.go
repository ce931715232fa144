//go:build js || window

package window

import (
	"image"
	"image/color"

	"github.com/hajimehoshi/ebiten/v2"

	"gainwright/scenes/ink"
	"gainwright/scenes/window/mesh"
)

// painter shows a draw list on an ebiten image. After the first frames it makes
// no image and no garbage of its own.
type painter struct {
	mesh     mesh.Mesh
	atlas    *ebiten.Image
	made     int // the generation that atlas shows
	texels   []byte
	vertices []ebiten.Vertex
	options  ebiten.DrawTrianglesOptions
	// views are the clip regions of screen: asking for one allocates.
	views  map[image.Rectangle]*ebiten.Image
	screen *ebiten.Image
}

const maxViews = 256

func rgba(c ink.Color) color.Color { return color.NRGBA{c.R, c.G, c.B, c.A} }

// paint draws l over screen at scale pixels a dp.
func (p *painter) paint(screen *ebiten.Image, l *ink.List, scale float32) {
	b := screen.Bounds()
	p.mesh.Build(l, b.Dx(), b.Dy(), scale)
	p.takeAtlas()
	if p.screen != screen || len(p.views) > maxViews {
		p.screen, p.views = screen, make(map[image.Rectangle]*ebiten.Image)
	}
	p.options.ColorScaleMode = ebiten.ColorScaleModePremultipliedAlpha
	for i := range p.mesh.N {
		batch := &p.mesh.Batches[i]
		p.vertices = p.vertices[:0]
		for _, v := range batch.Vertices {
			p.vertices = append(p.vertices, ebiten.Vertex{
				DstX: v.X, DstY: v.Y, SrcX: v.U, SrcY: v.V,
				ColorR: v.R, ColorG: v.G, ColorB: v.B, ColorA: v.A,
			})
		}
		p.view(batch.Clip).DrawTriangles(p.vertices, batch.Indices, p.atlas, &p.options)
	}
}

func (p *painter) view(clip image.Rectangle) *ebiten.Image {
	if clip == p.screen.Bounds() {
		return p.screen
	}
	v, ok := p.views[clip]
	if !ok {
		v = p.screen.SubImage(clip).(*ebiten.Image)
		p.views[clip] = v
	}
	return v
}

// takeAtlas brings new glyphs to the GPU.
func (p *painter) takeAtlas() {
	a := &p.mesh.Atlas
	if p.atlas == nil || p.made != a.Generation {
		if p.atlas != nil {
			p.atlas.Deallocate()
		}
		p.atlas = ebiten.NewImageWithOptions(image.Rect(0, 0, a.Size, a.Size), &ebiten.NewImageOptions{Unmanaged: true})
		p.made = a.Generation
	}
	d := a.Dirty
	if d.Empty() {
		return
	}
	w := d.Dx()
	if n := 4 * w * d.Dy(); cap(p.texels) < n {
		p.texels = make([]byte, n)
	} else {
		p.texels = p.texels[:n]
	}
	for y := range d.Dy() {
		src := a.Pix[(d.Min.Y+y)*a.Size+d.Min.X:]
		dst := p.texels[4*w*y:]
		for x := range w {
			c := src[x]
			dst[4*x], dst[4*x+1], dst[4*x+2], dst[4*x+3] = c, c, c, c
		}
	}
	p.atlas.SubImage(d).(*ebiten.Image).WritePixels(p.texels)
	a.Dirty = image.Rectangle{}
}
