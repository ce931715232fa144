// Runs the worklet's processor without a browser: its clock is ours, and so is
// the program that feeds it, with the pauses given. Prints what came out as JSON.
import { readFileSync } from "node:fs";
import vm from "node:vm";

const [file, seconds, ...rest] = process.argv.slice(2);
const pauses = rest.map(p => p.split(":").map(Number)); // "at:length" in seconds
const rate = 48000, block = 256;
let Processor;
const said = [];
const world = vm.createContext({
  AudioWorkletProcessor: class { constructor() { this.port = { postMessage: m => said.push(m) }; } },
  registerProcessor: (_, c) => { Processor = c; },
  sampleRate: rate, currentFrame: 0, currentTime: 0,
});
vm.runInContext(readFileSync(file, "utf8"), world);
const p = new Processor({ processorOptions: { block, least: 768, depth: 4096, most: 12288, reserve: 512, period: 8 * rate, periods: 12 } });

// The program, as worklet_js.go has it.
let depth = 4096, sent = 0, base = -1, done = 0, last = 0;
const code = n => n % 30000 + 1;
function topUp() {
  if (base >= 0) {
    done = Math.min(done + world.currentFrame - last, Math.max(0, world.currentFrame - base), sent);
    last = world.currentFrame;
  }
  for (let n = Math.floor((depth - sent + done) / block); n > 0; n--) {
    const b = new Int16Array(2 * block);
    for (let i = 0; i < block; i++) b[2 * i] = b[2 * i + 1] = code(sent + i);
    sent += block;
    p.port.onmessage({ data: b });
  }
}
const result = { breaks: 0, lost: 0, wrong: 0, heard: 0, depth: [], asked: 0 };
const l = new Float32Array(128), r = new Float32Array(128);
let next = 0;
for (let q = 0; q < seconds * rate / 128; q++) {
  world.currentFrame = q * 128;
  world.currentTime = world.currentFrame / rate;
  const played = p.played, gain = p.gain;
  p.process([], [[l, r]]);
  for (let i = 0; i < p.played - played; i++, next++) {
    result.heard++;
    // Behind a silence sound comes in slowly; else each sample is the next.
    if (gain === 1 && (l[i] !== code(next) / 32768 || r[i] !== l[i])) result.wrong++;
  }
  if (pauses.some(([at, length]) => world.currentTime >= at && world.currentTime < at + length)) continue;
  for (const m of said.splice(0)) {
    const what = Math.floor(m / 2 ** 48), n = m % 2 ** 48;
    if (what === 0) { result.asked++; topUp(); }
    if (what === 1) result.lost += n;
    if (what === 2) { base = n; last = world.currentFrame; done = Math.min(last - n, sent); }
    if (what === 3) { result.breaks++; base = -1; done = n; }
    if (what === 4) depth = n;
  }
  if (q % Math.round(rate / 128) === 0) result.depth.push(depth);
}
result.sent = sent;
console.log(JSON.stringify(result));
