package recorder

import (
	"archive/zip"
	"bytes"

	"gainwright/scenes/work"
	"gainwright/sounds/series"
)

// archive is the page and the sounds in one file.
func archive(h *work.Context, all []series.Played) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	add := func(name string, data []byte) error {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
		if err == nil {
			_, err = w.Write(data)
		}
		return err
	}
	if err := add("sheet.html", series.Sheet(all)); err != nil {
		return nil, err
	}
	for i, p := range all {
		h.Report("making the sounds", float64(i)/float64(len(all)))
		if err := h.Err(); err != nil {
			return nil, err
		}
		data, err := p.WAV()
		if err != nil {
			return nil, err
		}
		if err := add(p.File, data); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return b.Bytes(), err
}
