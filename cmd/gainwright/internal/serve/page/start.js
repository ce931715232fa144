// Loads the scene, tells how far it is, and says plainly what is missing where it
// cannot run.
"use strict";

const start = document.getElementById("start");
const line = document.getElementById("start-text");
const detail = document.getElementById("start-detail");
const bar = document.getElementById("start-progress");

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

// counted passes a response on and reports the bytes that came through.
function counted(response) {
  const total = Number(response.headers.get("Gainwright-Size")) || 0;
  let got = 0;
  const count = new TransformStream({
    transform(chunk, out) {
      got += chunk.byteLength;
      if (total) bar.value = got / total;
      detail.textContent = megabytes(got) + (total ? " of " + megabytes(total) : "") + " MB";
      out.enqueue(chunk);
    },
    flush() { detail.textContent = "Starting…"; },
  });
  return new Response(response.body.pipeThrough(count), { headers: { "Content-Type": "application/wasm" } });
}

async function run() {
  if (typeof WebAssembly !== "object") {
    fail("This browser cannot run the scene: it has no WebAssembly.", "A current Firefox, Chrome, Edge or Safari has it; some are set up to switch it off.");
    return;
  }
  if (!document.createElement("canvas").getContext("webgl2")) {
    fail("This browser cannot draw the scene: it offers no WebGL 2.", "Switch on hardware acceleration (or software rendering) in the browser's settings, or use another browser.");
    return;
  }
  if (typeof Go !== "function") {
    fail("The scene did not load.", "Is gainwright still running in its terminal? Start it again, then load this page again.");
    return;
  }
  const go = new Go();
  listen();
  let scene;
  try {
    const response = await fetch("scene.wasm");
    if (!response.ok) throw new Error((await response.text()).trim());
    scene = await WebAssembly.instantiateStreaming(counted(response), go.importObject);
  } catch (e) {
    fail("The scene did not load.", (e && e.message || e) + ". Is gainwright still running in its terminal? Start it again, then load this page again.");
    return;
  }
  addEventListener("gainwright-ready", () => start.remove(), { once: true });
  // Where memory runs out the machine below the program falls, and nothing is said.
  addEventListener("error", e => { if (e.error instanceof WebAssembly.RuntimeError) stopped(); });
  await go.run(scene.instance);
  stopped();
}

run();
