// Package cmi5 puts a lesson under a learning system that speaks cmi5: the course
// structure that announces it, and what is told to the record store of a visit. All of
// it after the specification of cmi5, first edition ("Quartz"), over xAPI 1.0.3; numbers
// of sections are that specification's.
package cmi5

import (
	"encoding/xml"
	"slices"
	"strconv"

	"gainwright/lessons/markup"
	"gainwright/lessons/model"
	"gainwright/lessons/xapi"
)

// MoveOn are the values of moveOn (section 13.1.4): what a learning system takes for
// done.
var MoveOn = []string{"Passed", "Completed", "CompletedAndPassed", "CompletedOrPassed", "NotApplicable"}

// Judged reports whether a lesson can be passed and failed.
func Judged(l *model.Lesson) bool {
	return l.Of() > 0 || slices.ContainsFunc(l.Steps, func(s *model.Step) bool { return s.Must })
}

type structure struct {
	XMLName xml.Name `xml:"https://w3id.org/xapi/profiles/cmi5/v1/CourseStructure.xsd courseStructure"`
	Course  course   `xml:"course"`
	AU      au       `xml:"au"`
}

type course struct {
	ID          string `xml:"id,attr"`
	Title       text   `xml:"title"`
	Description text   `xml:"description"`
}

type au struct {
	ID           string `xml:"id,attr"`
	MoveOn       string `xml:"moveOn,attr"`
	MasteryScore string `xml:"masteryScore,attr,omitempty"`
	LaunchMethod string `xml:"launchMethod,attr"`
	ActivityType string `xml:"activityType,attr"`
	Title        text   `xml:"title"`
	Description  text   `xml:"description"`
	URL          string `xml:"url"`
}

type text struct {
	Lang langstring `xml:"langstring"`
}

type langstring struct {
	Lang string `xml:"lang,attr"`
	Text string `xml:",chardata"`
}

func english(s string) text { return text{langstring{"en", s}} }

// Structure is the file cmi5.xml of a package in which url opens the lesson: a course of
// this one lesson (section 13).
func Structure(l *model.Lesson, moveOn, url string) ([]byte, error) {
	a := xapi.Activity(xapi.LessonID(xapi.HomePage, l.ID), l.Title)
	about := markup.Words(l.About)
	if about == "" {
		about = "For " + l.For + "."
	}
	s := structure{
		Course: course{ID: a.ID + "/course", Title: english(l.Title), Description: english(about)},
		AU: au{ID: a.ID, MoveOn: moveOn, LaunchMethod: "AnyWindow", ActivityType: a.Definition.Type,
			Title: english(l.Title), Description: english(about), URL: url},
	}
	if l.Of() > 0 {
		s.AU.MasteryScore = strconv.FormatFloat(places(l.Pass), 'f', -1, 64)
	}
	b, err := xml.MarshalIndent(s, "", " ")
	return append([]byte(xml.Header), append(b, '\n')...), err
}
