// The microphone: what it hears as a WAV file, made in the page, with nothing smoothed or made louder by the browser.

const FULL = 32767;

/** Begin to record; `onLevel(peak, seconds)` tells how loud it is, full scale 1. Returns `{ end(), drop() }`; `end` gives the file. */
export async function record(onLevel) {
  const heard = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 };
  const stream = await navigator.mediaDevices.getUserMedia({ audio: heard });
  const context = new AudioContext();
  const blocks = [];
  let taken = 0;
  const close = () => {
    for (const track of stream.getTracks()) track.stop();
    return context.close();
  };
  try {
    await context.audioWorklet.addModule("listener.js");
    const listener = new AudioWorkletNode(context, "listener", { numberOfOutputs: 0, channelCount: 1, channelCountMode: "explicit" });
    listener.port.onmessage = ({ data }) => {
      blocks.push(data);
      taken += data.length;
      onLevel(data.reduce((most, value) => Math.max(most, Math.abs(value)), 0), taken / context.sampleRate);
    };
    context.createMediaStreamSource(stream).connect(listener);
    await context.resume();
  } catch (fault) {
    close();
    throw fault;
  }
  return {
    drop: close,
    async end() {
      await close();
      return wav(blocks, taken, context.sampleRate);
    },
  };
}

/** Return a WAV file of one channel, 16 bit. */
function wav(blocks, count, rate) {
  const view = new DataView(new ArrayBuffer(44 + 2 * count));
  const word = (at, text) => [...text].forEach((letter, k) => view.setUint8(at + k, letter.charCodeAt(0)));
  word(0, "RIFF");
  view.setUint32(4, 36 + 2 * count, true);
  word(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, rate, true);
  view.setUint32(28, 2 * rate, true);
  view.setUint16(32, 2, true);
  view.setUint16(34, 16, true);
  word(36, "data");
  view.setUint32(40, 2 * count, true);
  let at = 44;
  for (const block of blocks) {
    for (const value of block) {
      view.setInt16(at, Math.round(Math.max(-1, Math.min(1, value)) * FULL), true);
      at += 2;
    }
  }
  return new Blob([view.buffer], { type: "audio/wav" });
}
