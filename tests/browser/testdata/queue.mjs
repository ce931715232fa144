// Runs the worklet's processor without a browser: its clock is ours, and so is
// the program that feeds it, with the stalls given. Prints what came out as JSON.
//
// A stall is "at:length" or "at:length:kind", in seconds:
//   away     the program does nothing (the default)
//   breathe  it is held up and hears nothing, but looks at the clock every 10 ms
//   starve   so it is, and the audio thread gets no time either; afterwards that runs
//            ten times as fast until it has caught up, and messages to it wait in line
//   suspend  the audio context is suspended: its clock stands
import { readFileSync } from "node:fs";
import vm from "node:vm";

const [file, seconds, ...rest] = process.argv.slice(2);
const stalls = rest.map(s => s.split(":")).map(([at, length, kind]) => ({ from: +at, to: +at + +length, kind: kind || "away" }));
const rate = 48000, block = 256;
let Processor;
const said = [], sending = [];
const world = vm.createContext({
  AudioWorkletProcessor: class { constructor() { this.port = { postMessage: m => said.push(m) }; } },
  registerProcessor: (_, c) => { Processor = c; },
  sampleRate: rate, currentFrame: 0, currentTime: 0,
});
vm.runInContext(readFileSync(file, "utf8"), world);
const p = new Processor({ processorOptions: { block, least: 768, depth: 4096, most: 12288, reserve: 512, period: 8 * rate, periods: 12 } });

// The program, as account.go and worklet_js.go have it.
let depth = 4096, sent = 0, plays = false, base = 0, gone = 0, limit = 0, last = 0, awake = false;
const code = n => n % 30000 + 1;
function left() {
  const now = world.currentFrame;
  limit += Math.max(0, now - last);
  last = now;
  return sent - Math.max(0, Math.min(plays ? now - base : gone, limit, sent));
}
function topUp() {
  for (let n = Math.floor((depth - left()) / block); n > 0; n--) {
    const b = new Int16Array(2 * block);
    for (let i = 0; i < block; i++) b[2 * i] = b[2 * i + 1] = code(sent + i);
    limit = Math.min(limit, sent);
    sent += block;
    sending.push(b);
  }
}
const waits = n => { plays = false; gone = n; limit = Math.max(limit, n); };
const from = n => { plays = true; base = n; };
function hear() {
  for (const m of said.splice(0)) {
    const what = Math.floor((m + 2 ** 47) / 2 ** 48), n = m - what * 2 ** 48;
    if (what === 0 || what === 7) {
      result.asked++;
      awake = true;
      (what === 0 ? from : waits)(n);
      topUp();
    }
    if (what === 1) result.lost += n;
    if (what === 2) from(n);
    if (what === 3) { result.breaks++; waits(n); }
    if (what === 4) depth = n;
    if (what === 8) { result.dropped += n; gone += n; base -= n; limit += n; }
  }
}

// silent is how many frames of each second brought no sound, behind how far what is
// heard is behind what was sent, at the end of each second.
const result = { breaks: 0, lost: 0, wrong: 0, heard: 0, depth: [], asked: 0, dropped: 0, silent: [], behind: [] };
const l = new Float32Array(128), r = new Float32Array(128);
const seams = []; // where something was dropped: after so many frames played, so many
let next = 0;
function quantum(q, second) {
  world.currentFrame = q * 128;
  world.currentTime = world.currentFrame / rate;
  const played = p.played, gain = p.gain;
  p.process([], [[l, r]]);
  const n = p.played - played;
  result.silent[second] += 128 - n;
  for (let i = 0; i < n; i++, next++) {
    result.heard++;
    let at = next, near = false;
    for (const s of seams) {
      if (next >= s.at) at += s.n;
      if (Math.abs(next - s.at) <= 240) near = true;
    }
    // Behind a silence and around a seam sound is faded; else each sample is the next.
    if (gain === 1 && !near && (l[i] !== code(at) / 32768 || r[i] !== l[i])) result.wrong++;
  }
}
let run = 0, owed = 0;
for (let q = 0; q < seconds * rate / 128; q++) {
  const t = q * 128 / rate, second = Math.floor(t);
  const stall = stalls.find(s => t >= s.from && t < s.to);
  const kind = stall ? stall.kind : "";
  result.silent[second] ??= 0;
  if (kind !== "suspend") owed++;
  for (let i = 0; i < 10 && owed > 0 && kind !== "starve"; i++, owed--) quantum(run++, second);
  if (owed === 0) {
    for (const b of sending.splice(0)) {
      const dropped = p.dropped;
      p.port.onmessage({ data: b });
      if (p.dropped > dropped) seams.push({ at: p.played + p.have, n: p.dropped - dropped });
    }
  }
  if (kind === "breathe" || owed > 0) {
    if (q % 4 === 0 && awake) topUp();
  } else if (kind !== "away") {
    hear();
    if (q % 4 === 0 && awake) topUp();
  }
  result.depth[second] = depth;
  result.behind[second] = sent - p.played - p.dropped;
}
result.sent = sent;
console.log(JSON.stringify(result));
