// Ohms between two points: both tips named, or put by a tap on the drawing.
import { ask, Told } from "./link.js";
import { h } from "./wiring_card.js";

/** @typedef {import("./wiring_lit.js").Thing} Thing */

export class Between {
  /** @param {HTMLElement} place a folded form */
  constructor(place) {
    this.place = /** @type {HTMLDetailsElement} */ (place);
    this.form = /** @type {HTMLFormElement} */ (place.querySelector("form"));
    this.answer = /** @type {HTMLElement} */ (place.querySelector(".answer"));
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      void this.read();
    });
    if (location.hash === "#between") this.place.open = true;
  }

  /** @param {string} name */
  field(name) {
    return /** @type {HTMLInputElement} */ (this.form.elements.namedItem(name));
  }

  /** What a card has for a point that a tip can be held at. @param {Thing} thing */
  buttons(thing) {
    if (thing.kind === "strip" || thing.kind === "wire") return [];
    const tips = thing.kind === "part" ? [] : [this.tip("red", "Red tip here", thing.name), this.tip("black", "Black tip here", thing.name)];
    const across = thing.kind === "part" ? [this.tip("red", "Ohms across it", thing.name)] : [];
    return [h("p", { class: "tools" }, ...tips, ...across)];
  }

  /** @param {"red" | "black"} which @param {string} words @param {string} name */
  tip(which, words, name) {
    const button = h("button", { type: "button" }, words);
    button.addEventListener("click", () => {
      const across = words === "Ohms across it";
      this.place.open = true;
      this.field(which).value = name;
      if (across) this.field("black").value = "";
      this.answer.replaceChildren();
      const waits = !across && ["red", "black"].find((each) => !this.field(each).value);
      if (!waits) void this.read();
      else this.answer.replaceChildren(h("p", {}, `Now the ${waits} tip: tap where it goes.`));
      this.place.scrollIntoView({ block: "nearest" });
    });
    return button;
  }

  async read() {
    const red = this.field("red").value.trim();
    const black = this.field("black").value.trim();
    if (!red) return;
    try {
      const found = await ask("ohms between", { red, black });
      this.answer.replaceChildren(
        h("p", {}, `${found.point}:`),
        h("p", { class: "reads" }, h("strong", {}, found.reads)),
        ...(found.note ? [h("p", {}, found.note)] : []),
        h("p", { class: "faint" }, `With a ${found.meter}.`),
      );
    } catch (error) {
      if (!(error instanceof Told)) throw error;
      const { what, found, wanted, do: todo } = error.lines;
      this.answer.replaceChildren(h("p", {}, `${what}. Found: ${found}. Wanted: ${wanted}. Do: ${todo}.`));
    }
    this.answer.scrollIntoView({ block: "nearest" });
  }
}
