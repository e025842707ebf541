// The predicted pitch as a quiet tone, on request only.

import { button, el, noteWords } from "./elements.js";

const LEVEL = 0.05, SECONDS = 1.6, RAMP = 0.08;

export function pitchPlayer() {
  let sounding = null, tone = null;
  const words = el("span", { class: "quiet" });
  const play = button("Hear it", sound, { id: "hear" });
  const box = el("div", {},
    el("div", { class: "buttons" }, play, words, el("span", { class: "quiet" }, "Turn the volume down first: loud tones harm hearing.")));

  function sound() {
    silence();
    const context = new AudioContext();
    const voice = context.createOscillator(), level = context.createGain(), now = context.currentTime;
    voice.frequency.value = tone.hz;
    level.gain.setValueAtTime(0, now);
    level.gain.linearRampToValueAtTime(LEVEL, now + RAMP);
    level.gain.setValueAtTime(LEVEL, now + SECONDS - RAMP);
    level.gain.linearRampToValueAtTime(0, now + SECONDS);
    voice.connect(level).connect(context.destination);
    voice.start(now);
    voice.stop(now + SECONDS);
    sounding = context;
    play.setAttribute("aria-pressed", "true");
    voice.addEventListener("ended", silence);
  }

  function silence() {
    play.removeAttribute("aria-pressed");
    sounding?.close();
    sounding = null;
  }

  return {
    box,
    silence,
    choose(wanted) {
      silence();
      tone = wanted;
      words.textContent = `${tone.hz.toFixed(1)} Hz, ${noteWords(tone)} cents`;
    },
  };
}
