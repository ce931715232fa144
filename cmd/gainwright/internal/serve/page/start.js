// Loads the scene, tells how far it is, and says plainly what is missing where it
// cannot run.
"use strict";

const cameHere = "gainwright-scene"; // in the browser's memory: the scene that came last

// The head of the page runs this as soon as it is there, before there is a body to
// write in: the scene is under way and being compiled while all else comes.
const asked = typeof WebAssembly === "object" ? ask() : null;

let start, line, detail, bar;

// again is what helps when something did not come.
const again = globalThis.gainwrightSite ? "Look whether there is a network, then load this page again." :
  "Is gainwright still running in its terminal? Start it again, then load this page again.";

function fail(what, hint) {
  if (!start.isConnected) document.body.append(start);
  start.classList.add("failed");
  line.textContent = what;
  detail.textContent = hint || "";
  bar.remove();
}

// What the program says on its standard error output is a fault: it goes to the
// console as one error for each time that it speaks. why is the line that tells the
// reason of a fall.
let why = "";
function listen() {
  const write = fs.writeSync, decoder = new TextDecoder();
  let said = "";
  fs.writeSync = (fd, bytes) => {
    if (fd !== 2) return write.call(fs, fd, bytes);
    if (!said) queueMicrotask(() => {
      why = why || (/^(panic|fatal error|gainwright-scene): .*/m.exec(said) || [""])[0];
      console.error(said);
      said = "";
    });
    said += decoder.decode(bytes, { stream: true });
    return bytes.length;
  };
}

function stopped() {
  console.error("the scene has stopped");
  fail("The scene has stopped.", "Load the page again to go on. " + (why ? "It said “" + why + "”; more" : "What happened") + " is in the browser's console.");
}

function megabytes(n) { return (n / 1e6).toFixed(1); }

// ask fetches the scene and compiles it as it comes. A browser keeps what it made of a
// response from the network, for the next visit, and not of one that a page made: so
// the bytes are counted on a copy, which takes time, and only where they may be long in
// coming.
function ask() {
  const { scene, size } = document.currentScript.dataset;
  const response = (globalThis.gainwrightSite ? gainwrightSite.scene(scene) : fetch(scene)).then(async r => {
    if (!r.ok) throw new Error(globalThis.gainwrightSite ? "the server says " + r.status : (await r.text()).trim());
    return r;
  });
  const near = isNear(scene);
  const counted = response.then(r => near ? [] : [Number(r.headers.get("Gainwright-Size") || size) || 0, r.clone().body]);
  const module = WebAssembly.compileStreaming(response);
  const long = new Promise(r => setTimeout(r, 1000, true));
  // Until the module is there, or takes long, this thread is left to the bytes, which pass
  // through it. What fails is told by whoever waits for the module.
  const slow = Promise.race([module.then(() => false, () => false), long]);
  counted.catch(() => {});
  module.then(() => { try { localStorage.setItem(cameHere, scene); } catch {} }, () => {});
  return { counted, module, slow };
}

// isNear tells whether the scene will be there at once: from this computer, or since it came
// here before and the browser has it, most likely. What is kept for this address is so
// read, for the scene too, while there is nothing else to do.
function isNear(scene) {
  const here = /^(localhost|127\..*|\[::1\])$/.test(location.hostname);
  try {
    return sessionStorage.length >= 0 && localStorage.getItem(cameHere) === scene || here;
  } catch { // forbidden: so the scene finds, too
    return here;
  }
}

// count tells how much of the scene has come, if it takes long: reading it takes time, too.
async function count({ counted, module, slow }) {
  const [total, body] = await counted;
  if (!body) return;
  let here = !await slow;
  module.then(() => { here = true; }, () => {});
  const reader = body.getReader();
  for (let got = 0; !here;) {
    const { done, value } = await reader.read();
    if (done || here) break;
    got += value.byteLength;
    if (total) bar.value = got / total;
    detail.textContent = megabytes(got) + (total ? " of " + megabytes(total) : "") + " MB";
  }
  reader.cancel();
}

// draws reports whether the browser can draw the scene. Where that is not at hand yet it
// takes as long as making the scene's own canvas.
function draws() { return !!document.createElement("canvas").getContext("webgl2"); }

function drawsNot() {
  fail("This browser cannot draw the scene: it offers no WebGL 2.", "Switch on hardware acceleration (or software rendering) in the browser's settings, or use another browser.");
}

async function run() {
  start = document.getElementById("start");
  line = document.getElementById("start-text");
  detail = document.getElementById("start-detail");
  bar = document.getElementById("start-progress");
  if (!asked) {
    fail("This browser cannot run the scene: it has no WebAssembly.", "A current Firefox, Chrome, Edge or Safari has it; some are set up to switch it off.");
    return;
  }
  if (typeof Go !== "function") {
    fail("The scene did not load.", again);
    return;
  }
  // A learning system that has opened the page says first what it has to say.
  try {
    if (globalThis.gainwrightCourse) await gainwrightCourse.ready;
  } catch (e) {
    fail("The lesson cannot be opened.", e && e.message || e);
    return;
  }
  const go = new Go();
  listen();
  count(asked).catch(() => {}); // what breaks off is told by the module
  if (await asked.slow && !draws()) { // else the scene finds out
    drawsNot();
    return;
  }
  let scene;
  try {
    const module = await asked.module;
    detail.textContent = "Starting…";
    scene = await WebAssembly.instantiate(module, go.importObject);
  } catch (e) {
    fail("The scene did not load.", (e && e.message || e) + ". " + again);
    return;
  }
  addEventListener("gainwright-picture", () => start.remove(), { once: true });
  // Where memory runs out the machine below the program falls, and nothing is said.
  addEventListener("error", e => { if (e.error instanceof WebAssembly.RuntimeError) stopped(); });
  await go.run(scene);
  if (start.isConnected && !draws()) drawsNot();
  else stopped();
}

addEventListener("DOMContentLoaded", run);
