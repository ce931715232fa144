//go:build released

package serve

import (
	"embed"
	"io/fs"
)

// The folder is laid into this package by an overlay while a release is built
// (cmd/gainwright/release): a clone has none, and needs none.
//
//go:embed inside
var released embed.FS

func init() {
	var err error
	if inside, err = fs.Sub(released, "inside"); err != nil {
		panic("serve: the scene within: " + err.Error())
	}
}
