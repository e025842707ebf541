// The book: all plates of a folder as one table, what goes with what, the plates most like the one on the bench, and files.

import { file, get, orSay, post } from "./api.js";
import { drawing } from "./drawings.js";
import { button, el } from "./elements.js";
import { progressLine, watch } from "./jobs.js";

const WORDS = [["size", "Size"], ["species", "Wood"], ["cut", "Cut"], ["stage", "Stage"]];
const ROLES = [["", "all"], ["top", "tops"], ["back", "backs"], ["panel", "panels"]];
const FIRST = 40;

export class Book {
  constructor(page, bench) {
    this.page = page;
    this.bench = bench;
    this.here = true;
    this.order = { sort: "name", descending: false };
    this.begin();
  }

  leave() {
    this.here = false;
    this.drop();
  }

  drop() {
    this.drawn?.drop();
    if (this.address) URL.revokeObjectURL(this.address);
    this.drawn = this.address = null;
  }

  async begin() {
    const { shelves, figures } = await get(this.bench.path("/book"));
    if (!this.here) return;
    this.figures = figures;
    this.shelf = el("select", { id: "shelf" }, ...shelves.map((one) => el("option", { value: one.shelf }, `${one.folder} (${one.plates})`)));
    this.role = el("select", { id: "book-role" }, ...ROLES.map(([value, words]) => el("option", { value }, words)));
    this.words = Object.fromEntries(WORDS.map(([name, words]) => [name, this.text(`book-${name}`, words, "9")]));
    this.alike = el("input", { type: "checkbox", id: "alike" });
    this.warm = this.text("book-warm", "Mass and tones in a room of \u00b0C", "5", "20");
    this.damp = this.text("book-damp", "and % humidity", "5", "50");
    this.ranges = el("div", { id: "ranges" });
    [this.across, this.up] = [["across", "against"], ["up", "Draw"]].map(([id, words]) => {
      const input = this.choice(`draw-${id}`, ["", ...figures], "nothing");
      return { input, label: el("label", { class: "field" }, words, input) };
    });
    this.said = el("p", { id: "book-said", role: "status", class: "warn" });
    this.going = progressLine("book-work");
    this.result = el("div", { id: "book-result" });
    this.page.replaceChildren(
      el("form", { submit: (event) => { event.preventDefault(); this.read(); } },
        el("div", { class: "fields" }, el("label", { class: "field" }, "Plates in", this.shelf)),
        el("fieldset", { class: "boxed" }, el("legend", {}, "Which of them"),
          el("div", { class: "fields" }, el("label", { class: "field" }, "Kind", this.role), ...WORDS.map(([name]) => this.words[name].label)),
          el("div", { class: "limits" }, this.ranges, button("Another limit", () => this.range(), { id: "another-limit" }))),
        el("div", { class: "fields" }, this.warm.label, this.damp.label),
        el("div", { class: "fields" }, this.up.label, this.across.label,
          el("label", { class: "field" }, this.alike, "those most like this plate first")),
        el("div", { class: "buttons" }, el("button", { type: "submit", class: "main", id: "show-book" }, "Show the plates"))),
      this.going.line, this.said, this.result);
    this.range();
  }

  text(id, words, size, value = "") {
    const input = el("input", { type: "text", id, size, value, autocomplete: "off" });
    return { input, label: el("label", { class: "field" }, words, input) };
  }

  choice(id, names, nothing) {
    return el("select", { id }, ...names.map((name) => el("option", { value: name }, name ? called(name) : nothing)));
  }

  /** One more line for a figure with its ends. */
  range() {
    const number = this.ranges.childElementCount + 1;
    const figure = this.choice(`limit-${number}`, this.figures, "");
    const ends = [["least", "at least"], ["most", "at most"]].map(([id, words]) => this.text(`${id}-${number}`, words, "7").label);
    this.ranges.append(el("div", { class: "fields", role: "group", "aria-label": `Limit ${number}` }, el("label", { class: "field" }, "Figure", figure), ...ends));
  }

  get question() {
    const ranges = [...this.ranges.children].map((line) => {
      const [figure, least, most] = line.querySelectorAll("select, input");
      return { figure: figure.value, least: least.value, most: most.value };
    });
    const words = { role: this.role.value, ...Object.fromEntries(WORDS.map(([name]) => [name, this.words[name].input.value])) };
    return { shelf: this.shelf.value, words, ranges, ...this.order, across: this.across.input.value, up: this.up.input.value, alike: this.alike.checked, room: [this.warm.input.value, this.damp.input.value] };
  }

  async read() {
    const asked = this.question;
    this.drop();
    await this.doing(() => post(this.bench.path("/book"), asked), (book) => this.show(book, asked, FIRST), () => this.result.replaceChildren());
  }

  /** Do something long, and say what it is refused for. */
  async doing(begin, done, undone = () => {}) {
    this.said.textContent = "";
    try {
      const end = await watch(await begin(), { onTold: (told) => this.going.show(told), still: () => this.here });
      if (!this.here) return;
      if (end.state === "done") { await done(end.result); return; }
      this.said.textContent = end.said;
      undone();
    } catch (refusal) {
      if (refusal.status === undefined) throw refusal;
      this.said.textContent = refusal.message;
      undone();
    }
  }

  show(book, asked, most) {
    const shown = book.plates.slice(0, most);
    const columns = [["name", "Plate"], ["taken", "Last entry"], ...book.columns.map(({ name, head, unit }) => [name, `${head.replaceAll(" ", "\u00a0")}, ${unit}`])];
    const steps = asked.alike;
    const heads = columns.map(([name, words]) => this.head(name, words, asked));
    if (steps) heads.push(el("th", { scope: "col" }, "Steps off"));
    this.drop();
    this.drawn = book.picture ? drawing(book, `${called(asked.up)} against ${called(asked.across)}; the words above say what is told by it`) : null;
    this.saved = el("span", { id: "book-file" });
    this.result.replaceChildren(...[
      el("p", { id: "book-count", role: "status" }, `${book.plates.length} of ${book.all_plates} plates.`),
      el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "The plates" }, el("table", { id: "book", class: "close" },
        el("thead", {}, el("tr", {}, ...heads)),
        el("tbody", {}, ...shown.map((plate, k) => this.row(plate, book.cells[k], asked))))),
      shown.length < book.plates.length ? button(`Show all ${book.plates.length}`, () => this.show(book, asked, Infinity), { id: "show-all" }) : null,
      ...book.remarks.map((words) => el("p", {}, words)),
      this.drawn?.shown,
      ...book.words.map((words) => el("p", { class: "quiet" }, words)),
      ...book.left_out.map((words) => el("p", { class: "warn" }, words)),
      el("div", { class: "buttons" },
        button("For a spreadsheet (CSV)", () => this.write(asked, "csv"), { id: "book-csv" }),
        button("As Parquet", () => this.write(asked, "parquet"), { id: "book-parquet" }), this.saved),
    ].filter(Boolean));
  }

  /** A column's head, by which the table is put in order: once up, once more down. */
  head(name, words, asked) {
    const down = asked.sort === name && !asked.descending;
    const way = asked.sort === name && !asked.alike ? (asked.descending ? "descending" : "ascending") : null;
    const sort = () => { this.order = { sort: name, descending: down }; this.alike.checked = false; this.read(); };
    return el("th", { scope: "col", "aria-sort": way, class: ["name", "taken"].includes(name) ? "words" : null },
      button(`${words}${way ? (asked.descending ? " \u2193" : " \u2191") : ""}`, sort, { "data-sort": name }));
  }

  row(plate, cells, asked) {
    const what = [plate.group, plate.species, plate.cut === "between" ? "between cuts" : plate.cut].filter(Boolean).join(", ");
    return el("tr", {}, el("th", { scope: "row", class: "told" }, button(plate.name, () => this.take(asked, plate.name), { title: "Put it on the bench" }), el("span", {}, what)),
      el("td", { class: "words" }, el("span", { class: "nowrap" }, plate.taken?.slice(0, 10) ?? ""), el("br"), plate.stage),
      ...cells.map((words) => el("td", {}, words)), ...(asked.alike ? [el("td", {}, plate.steps.toFixed(1))] : []));
  }

  async take(asked, name) {
    await orSay(this.said, async () => {
      const { plate } = await post("/api/take", { shelf: asked.shelf, name });
      await this.bench.openPlate(plate);
    });
  }

  async write(asked, kind) {
    this.saved.replaceChildren();
    await this.doing(() => post(this.bench.path("/book/file"), { kind, book: asked }), async ({ bytes }) => {
      if (this.address) URL.revokeObjectURL(this.address);
      this.address = URL.createObjectURL(await file(this.bench.path(`/book/file/${kind}`)));
      const link = el("a", { href: this.address, download: `book.${kind}` }, `Save book.${kind}`);
      this.saved.replaceChildren(link, ` (${Math.ceil(bytes / 1000)} kB)`);
      link.focus();
    });
  }
}

function called(name) {
  return name.replace(/^mode(\d+)$/, "mode $1").replace("thinnest", "thinnest place").replace("thickness", "mean thickness");
}
