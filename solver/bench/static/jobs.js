// Long work: shown while it goes on, with a button to stop it.

import { get, stop } from "./api.js";
import { button, el } from "./elements.js";

const OFTEN_MS = 120;

/** Watch a job until it is over; `onPart(name)` for each part that is ready. Returns the job at its end. */
export async function watch(job, { onPart = () => {}, onTold = () => {}, still = () => true } = {}) {
  const seen = new Set();
  for (;;) {
    onTold(job);
    for (const part of job.parts) {
      if (!seen.has(part)) { seen.add(part); await onPart(part); }
    }
    if (!["waiting", "working"].includes(job.state) || !still()) return job;
    await new Promise((done) => setTimeout(done, OFTEN_MS));
    job = await get(`/api/jobs/${job.key}`);
  }
}

/** A line that tells how far a job is; `show(job)` keeps it up to date and hides it at the end, of which the task tells. */
export function progressLine(id = null) {
  const bar = el("progress", { max: "1", "aria-label": "How far it is" });
  const words = el("span", {});
  let key = null;
  const line = el("div", { class: "work-going", id, hidden: true }, bar, words, button("Stop", () => key && stop(`/api/jobs/${key}`)));
  return {
    line,
    show(job) {
      key = job.key;
      const going = job.state === "waiting" || job.state === "working";
      line.hidden = !going;
      bar.value = job.share;
      if (words.textContent !== job.said) words.textContent = job.said;
    },
  };
}
