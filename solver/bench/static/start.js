// The first page: plates that are open, used last, lying here; a new one; and plates shown as examples.

import { get, post } from "./api.js";
import { drawCards } from "./cards.js";
import { button, el } from "./elements.js";

export async function startPage(work, bench) {
  const offered = await get("/api/start");
  const open = async (body, path) => bench.openPlate((await post(path, body)).plate);
  const group = (words, plates, act) => plates.length
    ? [el("h2", {}, words), el("ul", { class: "plates" }, ...plates.map((plate) => el("li", {}, card(plate, () => act(plate)))))]
    : [];
  work.replaceChildren(
    ...group("On the bench", offered.open, (plate) => bench.openPlate(plate.plate)),
    ...group("Used last", offered.recent, (plate) => open({ offer: plate.offer }, "/api/open")),
    ...group("In this folder", offered.beside, (plate) => open({ offer: plate.offer }, "/api/open")),
    el("h2", {}, "A new plate"),
    newPlate(offered, async (body) => {
      const { plate } = await post("/api/new", body);
      location.hash = "#describe"; // a new plate is described first
      await bench.openPlate(plate);
    }),
    ...group(`To look at: invented plates, copied into ${offered.place} when opened`, offered.demonstrations.map((plate) => ({ ...plate, folder: plate.folder.split(/[\\/]/).at(-1) })),
      (plate) => open({ offer: plate.offer }, "/api/open")),
  );
  await drawCards(work);
}

function card(plate, act) {
  const role = plate.role === null ? "its plate.toml cannot be read" : plate.role;
  const path = plate.plate ? `/api/plates/${plate.plate}/card` : `/api/offers/${plate.offer}/card`;
  const picture = el("canvas", { "aria-hidden": "true", "data-card": plate.role === null ? null : path });
  return button(el("span", { class: "card" }, picture, el("span", {}, el("strong", {}, plate.title), el("span", {}, `${role} - ${plate.folder}`))), act);
}

function newPlate(offered, make) {
  const name = el("input", { type: "text", required: true, maxlength: "60", id: "new-name" });
  const like = el("select", { id: "new-like" }, ...offered.like.map((kind) => el("option", { value: kind }, kind.replace("-", " "))));
  const length = el("input", { type: "number", id: "new-length", step: "any" });
  const said = el("p", { role: "alert" });
  const act = async (event) => {
    event.preventDefault();
    said.textContent = "";
    try {
      await make({ name: name.value, like: like.value, length_mm: length.value === "" ? null : Number(length.value) });
    } catch (refusal) {
      said.textContent = refusal.message;
    }
  };
  return el("form", { submit: act, input: () => { said.textContent = ""; } },
    el("div", { class: "fields" },
      el("label", { class: "field" }, "Name", name),
      el("label", { class: "field" }, "like a usual", like),
      el("label", { class: "field" }, "Length in mm", length),
      el("button", { type: "submit", class: "main" }, "Make it")),
    el("p", { class: "quiet" }, `Left out, the length is the usual one. Its folder is made in ${offered.place}; usual plates follow common practice and no instrument in particular. Put your own readings in afterwards.`),
    said);
}
