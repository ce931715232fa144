// Plays what the program sends. The queue is kept as short as this machine allows:
// what is in it was made before the last change of a setting.
class GainwrightOutput extends AudioWorkletProcessor {
  constructor({ processorOptions: o }) {
    super();
    this.block = o.block;     // frames that the program makes at a time
    this.least = o.least;     // the queue's bounds, frames
    this.most = o.most;
    this.depth = o.depth;     // what shall be ready or on its way, frames
    this.reserve = o.reserve; // of it, what shall never be needed
    this.period = o.period;   // frames after which the depth is looked at
    this.size = 4 * o.most;
    this.left = new Float32Array(this.size);
    this.right = new Float32Array(this.size);
    this.read = this.write = this.have = this.played = this.dropped = 0;
    this.rise = 1;            // of what is put in, after something was dropped
    this.woke = -Infinity;    // frame at which the program was last woken
    this.used = new Float32Array(o.periods); // the most that was needed in each of the last periods
    this.low = Infinity;      // fewest frames there were in this period
    this.since = 0;           // frames since it began
    this.young = true;        // it is the first
    this.dip = 0;             // how far the reserve is drawn on this time
    this.strained = 0;        // when it was last told that the reserve is drawn on
    this.started = false;
    this.waiting = true;      // for the first sound, or for the next after a break
    this.broken = 0;          // frames of the break so far
    this.gain = 0;
    this.l = this.r = 0;
    this.port.onmessage = ({ data }) => this.take(data);
  }

  // take puts 16-bit codes, left and right in turn, into the queue. Where this thread
  // gets no time the program's clock, which is ours, stands and then runs, and heaps
  // come at once: what does not fit is dropped, and told. The seam is faded.
  take(codes) {
    const n = codes.length / 2;
    this.woke = -Infinity;
    let i = 0;
    for (; i < n && this.have < this.size; i++, this.have++) {
      if (this.rise < 1) this.rise = Math.min(1, this.rise + 1 / 240);
      this.left[this.write] = codes[2 * i] / 32768 * this.rise;
      this.right[this.write] = codes[2 * i + 1] / 32768 * this.rise;
      if (++this.write === this.size) this.write = 0;
    }
    if (i === n) return;
    this.dropped += n - i;
    this.tell(8, n - i);
    for (let k = 0, at = this.write; k < Math.min(240, this.have); k++) {
      at = (at || this.size) - 1;
      this.left[at] *= k / 240;
      this.right[at] *= k / 240;
    }
    this.rise = 0;
  }

  // tell sends one number: what it is about in the upper part, how much below, which
  // may be negative.
  tell(what, n) { this.port.postMessage(what * 2 ** 48 + n); }

  // From here on what is gone is the time passed since this frame.
  base() { return currentFrame - this.played - this.dropped; }
  gone() { return this.played + this.dropped; }

  process(_, [out]) {
    const l = out[0], r = out[1] || out[0], frames = l.length;
    // The program also looks by itself, whenever it has time.
    if (this.depth - this.have >= this.block && currentFrame >= this.woke + 480) {
      this.woke = currentFrame;
      if (this.waiting) this.tell(7, this.gone()); else this.tell(0, this.base());
    }
    if (this.waiting && this.have >= this.reserve + frames) {
      this.waiting = false;
      this.started = true;
      if (this.broken > 0) this.tell(1, this.broken);
      this.broken = 0;
      this.tell(2, this.base());
    }
    let i = 0;
    if (!this.waiting) {
      const n = Math.min(frames, this.have);
      for (; i < n; i++) {
        // After silence sound comes in within 5 ms.
        if (this.gain < 1) this.gain = Math.min(1, this.gain + 1 / 240);
        l[i] = this.l = this.left[this.read] * this.gain;
        r[i] = this.r = this.right[this.read] * this.gain;
        if (++this.read === this.size) this.read = 0;
      }
      this.have -= n;
      this.played += n;
      if (n < frames) {
        this.waiting = true;
        this.gain = 0;
        this.tell(3, this.gone());
      }
    }
    // No sound is there: the last one fades.
    for (; i < frames; i++) {
      l[i] = this.l *= 0.98;
      r[i] = this.r *= 0.98;
      if (this.started) this.broken++;
    }
    if (this.started) this.adapt(frames);
    return true;
  }

  // adapt lengthens the queue at once by what was missing of its reserve. It
  // shortens it when for several periods less was needed.
  adapt(frames) {
    const missing = this.reserve - this.have + this.broken;
    if (missing > 0 && currentTime > this.strained + 0.5) {
      this.strained = currentTime;
      this.tell(5, 0);
    }
    if (missing > this.dip) {
      this.deepen(this.depth + missing - this.dip);
      this.dip = missing;
    } else if (missing < 0) {
      this.dip = 0;
    }
    this.low = Math.min(this.low, this.have);
    this.since += frames;
    if (this.since < this.period) return;
    this.used.copyWithin(1, 0);
    // The first period, in which the browser compiles what runs often, is soon
    // forgotten.
    this.used[this.young ? this.used.length - 2 : 0] = this.depth - this.low;
    this.young = false;
    const need = Math.max(...this.used) + this.reserve;
    this.tell(6, this.low);
    if (need < this.depth) this.deepen((this.depth + need) / 2);
    this.low = Infinity;
    this.since = 0;
  }

  deepen(n) {
    n = Math.round(Math.max(this.least, Math.min(this.most, n)));
    if (n === this.depth) return;
    this.depth = n;
    this.tell(4, n);
  }
}
registerProcessor("gainwright-output", GainwrightOutput);
