// Package scorm puts a lesson under a learning system that speaks SCORM 1.2: the
// manifest of a package, and what is set in the system's data model during a visit.
// After ADL's "SCORM Version 1.2, The SCORM Run-Time Environment" and "Content
// Aggregation Model" of 2001, from memory, and held to by an independent run time in
// tests/browser.
package scorm

import (
	"encoding/xml"
	"math"
	"slices"
	"strconv"

	"gainwright/lessons/model"
)

type manifest struct {
	XMLName  xml.Name `xml:"manifest"`
	ID       string   `xml:"identifier,attr"`
	Version  string   `xml:"version,attr"`
	NS       string   `xml:"xmlns,attr"`
	ADL      string   `xml:"xmlns:adlcp,attr"`
	XSI      string   `xml:"xmlns:xsi,attr"`
	Location string   `xml:"xsi:schemaLocation,attr"`

	Schema        string       `xml:"metadata>schema"`
	SchemaVersion string       `xml:"metadata>schemaversion"`
	Organizations organization `xml:"organizations"`
	Resource      resource     `xml:"resources>resource"`
}

type organization struct {
	Default string `xml:"default,attr"`
	One     struct {
		ID    string `xml:"identifier,attr"`
		Title string `xml:"title"`
		Item  item   `xml:"item"`
	} `xml:"organization"`
}

type item struct {
	ID      string `xml:"identifier,attr"`
	Ref     string `xml:"identifierref,attr"`
	Visible bool   `xml:"isvisible,attr"`
	Title   string `xml:"title"`
	Mastery string `xml:"adlcp:masteryscore,omitempty"`
}

type resource struct {
	ID    string `xml:"identifier,attr"`
	Type  string `xml:"type,attr"`
	Kind  string `xml:"adlcp:scormtype,attr"`
	Href  string `xml:"href,attr"`
	Files []file `xml:"file"`
}

type file struct {
	Href string `xml:"href,attr"`
}

// Manifest is the file imsmanifest.xml of a package of these files, of which the first
// opens the lesson.
func Manifest(l *model.Lesson, files []string) ([]byte, error) {
	m := manifest{
		ID: "gainwright-" + l.ID, Version: "1.0",
		NS: "http://www.imsproject.org/xsd/imscp_rootv1p1p2", ADL: "http://www.adlnet.org/xsd/adlcp_rootv1p2", XSI: "http://www.w3.org/2001/XMLSchema-instance",
		Location: "http://www.imsproject.org/xsd/imscp_rootv1p1p2 imscp_rootv1p1p2.xsd http://www.imsglobal.org/xsd/imsmd_rootv1p2p1 imsmd_rootv1p2p1.xsd http://www.adlnet.org/xsd/adlcp_rootv1p2 adlcp_rootv1p2.xsd",
		Schema:   "ADL SCORM", SchemaVersion: "1.2",
		Resource: resource{ID: "scene", Type: "webcontent", Kind: "sco", Href: files[0]},
	}
	m.Organizations.Default = "course"
	m.Organizations.One.ID, m.Organizations.One.Title = "course", l.Title
	m.Organizations.One.Item = item{ID: "lesson", Ref: "scene", Visible: true, Title: l.Title}
	// A system that knows the mastery score judges by the points alone, which is not
	// enough where tasks must be met.
	if l.Of() > 0 && !slices.ContainsFunc(l.Steps, func(s *model.Step) bool { return s.Must }) {
		m.Organizations.One.Item.Mastery = strconv.FormatFloat(math.Floor(l.Pass*1e4+1e-6)/100, 'f', -1, 64)
	}
	for _, f := range files {
		m.Resource.Files = append(m.Resource.Files, file{f})
	}
	b, err := xml.MarshalIndent(m, "", " ")
	return append([]byte(xml.Header), append(b, '\n')...), err
}
