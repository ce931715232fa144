// Between the scene and a learning system that speaks SCORM 1.2: finds its interface and
// sets what the scene says.
"use strict";
{
  const course = globalThis.gainwrightCourse = { kind: "none", name: gainwrightLesson.name, lesson: gainwrightLesson.text, launch: "{}", ready: Promise.resolve() };
  let api = null, begun = false, gone = false, told = false;

  // above looks for the interface in a window and those around it. A bound, since frames
  // may be nested without end; what belongs to another site may not be looked at.
  function above(w) {
    try {
      for (let i = 0; w && i < 500; i++) {
        if (w.API) return w.API;
        if (w.parent === w) return null;
        w = w.parent;
      }
    } catch { /* another site's */ }
    return null;
  }
  function find() {
    let w = window;
    for (let i = 0; w && i < 20; i++) {
      const a = above(w);
      if (a) return a;
      try {
        w = w.top.opener || w.opener;
      } catch {
        return null;
      }
    }
    return null;
  }

  const get = name => { const v = String(api.LMSGetValue(name)); return Number(api.LMSGetLastError()) ? "" : v; };
  api = find();
  if (api && String(api.LMSInitialize("")) === "true") {
    course.kind = "scorm";
    course.launch = JSON.stringify({ status: get("cmi.core.lesson_status"), mode: get("cmi.core.lesson_mode"), suspend: get("cmi.suspend_data"), student: get("cmi.core.student_name") });
  }

  function set(json) {
    const news = JSON.parse(json).set || [];
    let ok = true;
    for (const [name, value] of news) ok = String(api.LMSSetValue(name, value)) === "true" && ok;
    if (news.length) ok = String(api.LMSCommit("")) === "true" && ok;
    if (!ok && !told) {
      told = true;
      course.say("The learning system does not take all that is recorded (" + api.LMSGetErrorString(api.LMSGetLastError()) + "). Tell whoever runs the course.");
    }
  }

  function end() {
    if (gone || course.kind !== "scorm") return;
    gone = true;
    if (begun) set(course.ending());
    api.LMSFinish("");
  }

  addEventListener("pagehide", () => { if (!begun) end(); });
  course.send = json => {
    if (gone) return;
    if (!begun) {
      begun = true;
      // After those of the scene, which keep what is not kept yet.
      addEventListener("pagehide", end);
      addEventListener("pageshow", e => { if (e.persisted) location.reload(); });
    }
    set(json);
  };
  course.leave = () => { end(); course.closed(); };
}
