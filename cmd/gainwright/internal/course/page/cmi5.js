// Between the scene and a learning system that speaks cmi5: fetches the token, reads what
// the system says, sends statements and state. What is sent is made in the scene.
"use strict";
{
  const asked = new URLSearchParams(location.search);
  const wanted = ["endpoint", "fetch", "actor", "registration", "activityId"];
  const version = "1.0.3", stateId = "gainwright";
  const most = 60000; // bytes that a browser sends on behalf of a page that is gone: 64 KiB in all
  const course = globalThis.gainwrightCourse = { kind: "none", name: gainwrightLesson.name, lesson: gainwrightLesson.text, launch: "{}" };
  let token = "", returnURL = "", begun = false, gone = false, lost = false;
  let statements = [], state = null; // still to be sent
  let sending = null;

  const address = (what, q) => asked.get("endpoint").replace(/\/*$/, "/") + what + (q ? "?" + new URLSearchParams(q) : "");
  const who = () => ({ activityId: asked.get("activityId"), agent: asked.get("actor"), registration: asked.get("registration") });

  function call(method, url, body) {
    const headers = { "Authorization": "Basic " + token, "X-Experience-API-Version": version };
    if (body !== undefined) headers["Content-Type"] = "application/json";
    return fetch(url, { method, headers, body, cache: "no-store", keepalive: body !== undefined && body.length < most });
  }

  async function read(what, q, need) {
    const r = await call("GET", address(what, q));
    if (r.ok) return r.text();
    if (need || r.status !== 404 && r.status !== 403) throw new Error("The learning system does not give what the lesson needs (" + need + what + ": " + r.status + "). Open the lesson from your course again.");
    return "";
  }

  course.ready = (async () => {
    if (!wanted.some(k => asked.has(k))) return; // opened by itself
    const lacks = wanted.filter(k => !asked.get(k));
    if (lacks.length) throw new Error("The learning system has left out: " + lacks.join(", ") + ".");
    const r = await fetch(asked.get("fetch"), { method: "POST", cache: "no-store" });
    const answer = await r.json().catch(() => ({}));
    token = answer["auth-token"] || "";
    if (!token) throw new Error("This way in was used before, or has expired" + (answer["error-text"] ? " (" + answer["error-text"] + ")" : "") + ". Open the lesson from your course again.");
    const data = await read("activities/state", { ...who(), stateId: "LMS.LaunchData" }, "launch data, ");
    await read("agents/profile", { agent: asked.get("actor"), profileId: "cmi5LearnerPreferences" }, "");
    const kept = await read("activities/state", { ...who(), stateId }, "");
    returnURL = JSON.parse(data).returnURL || "";
    course.launch = '{"actor":' + JSON.stringify(asked.get("actor")) + ',"registration":' + JSON.stringify(asked.get("registration")) +
      ',"activityID":' + JSON.stringify(asked.get("activityId")) + ',"data":' + data + ',"state":' + (kept || "null") + "}";
    course.kind = "cmi5";
  })();
  course.ready.catch(() => {}); // start.js tells

  const pause = ms => new Promise(done => setTimeout(done, ms));

  // one sends what there is, statements before the state that says that they were sent.
  async function one() {
    if (statements.length) {
      const now = statements.splice(0, statements.length);
      let r;
      try {
        r = await call("POST", address("statements"), JSON.stringify(now));
      } catch (e) {
        statements.unshift(...now);
        throw e;
      }
      if (r.status >= 500 || r.status === 408 || r.status === 429) {
        statements.unshift(...now);
        throw new Error(r.status);
      }
      if (!r.ok && r.status !== 409) refused(r); // 409: they had arrived before
    }
    if (state !== null) {
      const now = state;
      const r = await call("PUT", address("activities/state", { ...who(), stateId }), now);
      if (r.status >= 500 || r.status === 408 || r.status === 429) throw new Error(r.status);
      if (state === now) state = null;
      if (!r.ok) refused(r);
    }
  }

  function refused(r) {
    if (!lost) course.say("The learning system does not take what is recorded (" + r.status + "). Tell whoever runs the course.");
    lost = true;
  }

  async function work() {
    for (let wait = 500; statements.length || state !== null; ) {
      try {
        await one();
        wait = 500;
      } catch {
        if (!lost && wait > 4000) course.say("The learning system cannot be reached; it is tried again.");
        await pause(wait);
        wait = Math.min(wait * 2, 30000);
      }
    }
    sending = null;
  }

  function take(json) {
    const news = JSON.parse(json);
    statements.push(...news.statements || []);
    if (news.state) state = JSON.stringify(news.state);
  }

  course.send = json => {
    if (!begun) {
      begun = true;
      // After those of the scene, which keep what is not kept yet.
      addEventListener("pagehide", end);
      addEventListener("pageshow", e => { if (e.persisted) location.reload(); });
    }
    take(json);
    if (!sending) sending = work();
  };

  // end sends what is left as the page goes, without waiting for answers.
  function end() {
    if (gone) return;
    gone = true;
    take(course.ending());
    if (statements.length) call("POST", address("statements"), JSON.stringify(statements.splice(0, statements.length))).catch(() => {});
    if (state !== null) call("PUT", address("activities/state", { ...who(), stateId }), state).catch(() => {});
    state = null;
  }

  course.leave = async () => {
    if (course.kind === "cmi5" && !gone) {
      gone = true;
      take(course.ending());
      if (!sending) sending = work();
      await Promise.race([sending, pause(10000)]);
    }
    if (returnURL && URL.canParse(returnURL, location.href) && /^https?:$/.test(new URL(returnURL, location.href).protocol)) location.assign(returnURL);
    else course.closed();
  };
}
