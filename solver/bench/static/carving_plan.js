// A carving plan: asked for in one form, drawn into a trial of its own, its answer told right below.

import { post } from "./api.js";
import { el } from "./elements.js";
import { progressLine, watch } from "./jobs.js";

/** Return the form of a plan; `adopt(trial)` gets the trial into which it was drawn, `here()` tells whether anybody still waits. */
export function planForm(bench, { adopt, here }) {
  const { picture, tones } = bench, wishes = {};
  const field = (name, words, value) => {
    wishes[name] = el("input", { type: "number", id: `plan-${name}`, step: "any", min: "0", value: value === undefined || value === null ? "" : String(value) });
    return el("label", { class: "field" }, words, wishes[name]);
  };
  const named = ["1", "2", "5"].filter((name) => tones.modes.some((tone) => tone.mode === name));
  const symmetric = el("input", { type: "checkbox", id: "plan-symmetric", checked: picture.alike, "aria-describedby": "plan-sides" });
  const going = progressLine(), said = el("p", { id: "plan-said", role: "status" });

  async function draw(request) {
    said.textContent = "";
    try {
      const job = await post(bench.path("/plan"), { mark: picture.mark, ...request });
      const end = await watch(job, { onTold: (told) => going.show(told), still: here });
      if (!here()) return;
      if (end.state === "done") adopt(end.result.trial);
      say(end.state === "done" ? planWords(end.result.plan) : end.said);
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      say(refusal.message);
    }
  }

  function say(words) {
    said.textContent = words;
    said.scrollIntoView({ block: "nearest" });
  }

  function go(event) {
    event.preventDefault();
    const given = ({ value }) => (value === "" ? null : Number(value));
    const wants = Object.fromEntries(named.filter((name) => given(wishes[name]) !== null).map((name) => [name, given(wishes[name])]));
    draw({ wants, least_mm: given(wishes.least), max_removal_mm: given(wishes.most), symmetric: symmetric.checked });
  }

  return el("form", { submit: go }, el("fieldset", { class: "boxed" },
    el("legend", {}, "A carving plan, drawn into a trial of its own"),
    el("div", { class: "fields" },
      ...named.map((name) => field(name, `Mode ${name}, Hz`, picture.wanted_hz[name])),
      field("least", "Nowhere thinner than, mm", picture.least_mm),
      field("most", "Nowhere deeper than, mm", picture.deepest_mm),
      el("label", { class: "field" }, symmetric, "the same on both sides"),
      el("button", { type: "submit", id: "draw-plan" }, "Draw a plan")),
    going.line, said,
    el("p", { class: "quiet", id: "plan-sides" }, sidesWords(picture))));
}

/** Why a plan begins with both sides thinned alike, or not. */
function sidesWords(picture) {
  if (picture.alike) return "The same on both sides is ticked because there is no bar and the sides are alike within 0.1 mm: what readings scatter would put the plan on one of them.";
  return `The same on both sides is not ticked because ${picture.bar_mm ? "the bar makes the sides differ" : "the sides differ by more than readings scatter"}; tick it if you want the wood off both alike.`;
}

/** What a plan comes to, by the full solve. */
function planWords(plan) {
  const wishes = plan.modes.filter((tone) => tone.wanted_hz !== null)
    .map((tone) => `${/\D/.test(tone.mode) ? tone.mode : `mode ${tone.mode}`} from ${tone.now_hz.toFixed(1)} to ${tone.planned_hz.toFixed(1)} Hz (wanted ${tone.wanted_hz.toFixed(1)})`);
  const reached = plan.sure ? "The wishes are met" : "The expected tones come to the wishes";
  return `${plan.reached ? reached : "The wishes are not met; this comes nearest"}: ${wishes.join(", ")}. `
    + plan.remarks.map((words) => `${words} `).join("")
    + `${plan.removed_g.toFixed(2)} g, at most ${plan.max_removal_mm.toFixed(2)} mm deep, ${plan.min_thickness_mm.toFixed(2)} mm left at the thinnest. Take half at most, then weigh, tap, and plan again.`;
}
