// Hands what the microphone brings to the program: bytes of the number of the first frame
// (64-bit) and of the samples (32-bit).
class GainwrightInput extends AudioWorkletProcessor {
  constructor({ processorOptions: o }) {
    super();
    this.bytes = new Uint8Array(8 + 4 * o.block);
    this.frame = new Float64Array(this.bytes.buffer, 0, 1);
    this.samples = new Float32Array(this.bytes.buffer, 8);
    this.have = 0;
    this.first = -1; // frame of the context's clock at which sound first came
    this.next = 0;   // the one that follows what is here
  }

  process([[input]]) {
    if (this.first < 0) {
      if (!input) return true;
      this.first = this.next = currentFrame;
    }
    if (this.have && currentFrame !== this.next) this.send();
    if (!this.have) this.frame[0] = currentFrame - this.first;
    const n = input ? input.length : 128;
    if (input) this.samples.set(input, this.have); else this.samples.fill(0, this.have, this.have + n);
    this.have += n;
    this.next = currentFrame + n;
    if (this.have + n > this.samples.length) this.send();
    return true;
  }

  // send posts a copy.
  send() {
    this.port.postMessage(this.have === this.samples.length ? this.bytes : this.bytes.slice(0, 8 + 4 * this.have));
    this.have = 0;
  }
}
registerProcessor("gainwright-input", GainwrightInput);
