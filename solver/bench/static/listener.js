// Beside the page: hands on what the microphone hears, a tenth of a second at a time.

class Listener extends AudioWorkletProcessor {
  constructor() {
    super();
    this.block = new Float32Array(Math.round(sampleRate / 10));
    this.filled = 0;
  }

  process([[channel]]) {
    for (const value of channel ?? []) {
      this.block[this.filled++] = value;
      if (this.filled === this.block.length) {
        this.port.postMessage(this.block.slice());
        this.filled = 0;
      }
    }
    return true;
  }
}

registerProcessor("listener", Listener);
