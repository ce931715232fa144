package main

import (
	"encoding/json"
	"fmt"
	"syscall/js"
	"time"

	"gainwright/lessons/cmi5"
	"gainwright/lessons/format"
	"gainwright/lessons/scorm"
	"gainwright/scenes/kit"
)

var _ kit.Assigner = (*host)(nil)

// course is a learning system, as the script of a lesson's package gives it: the global
// gainwrightCourse, whose promise has come true before the scene is started.
//
//	kind, name, lesson, launch   what has been launched: cmi5, scorm or none; the lesson's
//	                             file; what the system says, as JSON
//	send(json)                   takes what is to be sent; the first starts the visit
//	leave()                      ends the visit and goes back
//	ending()                     is set here: gives, as JSON, what is still to be sent as
//	                             the visit ends
//
// The script sends and receives; what is said, and when, is decided here.
type course struct {
	js    js.Value
	as    *kit.Assignment
	cmi5  *cmi5.Session
	scorm *scorm.Session
}

// newCourse is nil where nobody has launched anything.
func newCourse() (*course, error) {
	g := js.Global().Get("gainwrightCourse")
	if !g.Truthy() {
		return nil, nil
	}
	l, err := format.Parse(g.Get("name").String(), []byte(g.Get("lesson").String()))
	if err != nil {
		return nil, fmt.Errorf("the lesson of this package cannot be read: %w", err)
	}
	c := &course{js: g, as: &kit.Assignment{Lesson: l}}
	launch := []byte(g.Get("launch").String())
	switch kind := g.Get("kind").String(); kind {
	case "cmi5":
		err = c.launchCmi5(launch)
	case "scorm":
		err = c.launchSCORM(launch)
	case "none":
		c.as.Notice = "No learning system has opened this page: you can take the lesson, and nothing is recorded."
	default:
		err = fmt.Errorf("there is no way to launch named %q", kind)
	}
	if err != nil {
		return nil, err
	}
	g.Set("ending", js.FuncOf(func(js.Value, []js.Value) any { return c.ending() }))
	return c, nil
}

const onlyLooks = "You are looking around: nothing is recorded."

func (c *course) launchCmi5(launch []byte) error {
	var said struct {
		Actor, Registration, ActivityID string
		Data                            json.RawMessage
		State                           json.RawMessage
	}
	if err := json.Unmarshal(launch, &said); err != nil {
		return err
	}
	at, err := cmi5.ReadLaunch(said.Actor, said.Registration, said.ActivityID, said.Data)
	if err != nil {
		return err
	}
	c.cmi5 = cmi5.NewSession(c.as.Lesson, at, said.State, time.Now)
	c.as.Saved, c.as.Student = c.cmi5.Saved(), at.Actor.Account.Name
	if at.Actor.Name != "" {
		c.as.Student = at.Actor.Name
	}
	c.as.Records = at.Data.LaunchMode == cmi5.Normal
	c.as.Once = c.as.Records
	if !c.as.Records {
		c.as.Notice = onlyLooks
	}
	return nil
}

func (c *course) launchSCORM(launch []byte) error {
	var at scorm.Launch
	if err := json.Unmarshal(launch, &at); err != nil {
		return err
	}
	c.scorm = scorm.NewSession(c.as.Lesson, at, time.Now)
	c.as.Saved, c.as.Student = c.scorm.Saved(), at.Student
	c.as.Records = at.Mode != "browse" && at.Mode != "review"
	if !c.as.Records {
		c.as.Notice = onlyLooks
	}
	return nil
}

// text is anything as JSON.
func text(v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic("course: " + err.Error()) // plain values, and a template that was read before
	}
	return string(b)
}

func (c *course) ending() string {
	switch {
	case c.cmi5 != nil:
		return text(c.cmi5.End())
	case c.scorm != nil:
		return text(c.scorm.End())
	}
	return "{}"
}

// Assigned is the lesson of the learning system that has opened this page, or nil.
func (h *host) Assigned() *kit.Assignment {
	if h.course == nil {
		return nil
	}
	return h.course.as
}

// Stands tells the learning system.
func (h *host) Stands(st kit.Standing) {
	c := h.course
	switch {
	case c.cmi5 != nil:
		n := c.cmi5.Stands(st.Progress, st.Saved, st.Result)
		c.as.Passed = c.cmi5.Passed()
		c.js.Call("send", text(n))
	case c.scorm != nil:
		n := c.scorm.Stands(st.Progress, st.Result)
		c.as.Passed = c.scorm.Passed()
		c.js.Call("send", text(n))
		if n.Notice != "" {
			c.js.Call("say", n.Notice)
		}
	}
}

// Leave ends the visit.
func (h *host) Leave() { h.course.js.Call("leave") }
