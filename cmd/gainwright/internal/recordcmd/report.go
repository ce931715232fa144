package recordcmd

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"

	"gainwright/cmd/gainwright/internal/cli"
	"gainwright/cmd/gainwright/internal/picture"
)

//go:embed report.html.tmpl
var reportText string

var reportPage = cli.ParsePage("report", reportText)

type reportStrip struct {
	Name, Story, Settings, File, Matched, Gain, Alt string
	Picture                                         template.URL
}

type reportRow struct {
	Name  string
	Cells []string
}

// report is the page: nothing in it comes from elsewhere but the sounds beside it.
func (s *session) report(m matching, format string) ([]byte, error) {
	data := struct {
		Title, About, Source, Caution, Match string
		Notes                                []string
		Strips                               []reportStrip
		Rows                                 []reportRow
	}{Title: s.sc.Title, About: s.sc.About, Match: m.text(s), Notes: s.notes}
	src := s.source()
	data.Source = fmt.Sprintf("%s, %s, %d Hz, seed %d", src, picture.Clock(s.seconds()), s.rate, s.sc.Seed)
	if c := s.clipped(); len(c) > 0 {
		data.Caution = caution(c)
	}
	mime := map[string]string{picture.PNG: "image/png", picture.SVG: "image/svg+xml"}[format]
	for i, r := range s.strips {
		var b bytes.Buffer
		if err := picture.Draw(&b, s.sheet(r), format); err != nil {
			return nil, err
		}
		data.Strips = append(data.Strips, reportStrip{
			Name: r.name, Story: r.story(),
			Settings: fmt.Sprintf("%s of gain, %s, %s", picture.DB(r.chain.Preamp.GainDB, "dB"), picture.PlaceText(r.chain), r.chain.File.Format),
			File:     r.name + ".wav", Matched: matchedName(r.name), Gain: cli.SignedDB(m.gainDB[i]),
			Alt:     fmt.Sprintf("Strip %s: the take, its loudest moment, and its levels along the chain. The table above has the figures.", r.name),
			Picture: template.URL("data:" + mime + ";base64," + base64.StdEncoding.EncodeToString(b.Bytes())),
		})
	}
	for _, row := range readingList {
		cells := make([]string, len(s.strips))
		for i, r := range s.strips {
			cells[i] = row.text(&r.readings)
		}
		data.Rows = append(data.Rows, reportRow{row.name, cells})
	}
	var b bytes.Buffer
	if err := reportPage.Execute(&b, data); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
