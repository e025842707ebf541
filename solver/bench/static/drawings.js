// Drawings that come with an answer, one for a light screen and one for a dark one.

import { el } from "./elements.js";

/** A drawing that follows the screen from light to dark; `drop()` gives back its memory. */
export function drawing({ picture, picture_dark: dark }, words) {
  const addresses = [picture, dark].map((svg) => URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" })));
  const shown = el("picture", {},
    el("source", { srcset: addresses[1], media: "(prefers-color-scheme: dark)" }),
    el("img", { src: addresses[0], class: "drawing", alt: words }));
  return { shown, drop: () => addresses.forEach((address) => URL.revokeObjectURL(address)) };
}
