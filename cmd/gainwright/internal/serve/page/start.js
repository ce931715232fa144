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
  await go.run(scene.instance);
  fail("The scene has stopped.", "Load the page again to go on. What happened is in the browser's console.");
}

run();
