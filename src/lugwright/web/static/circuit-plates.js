// Plate curves and load lines: each section as it is, and beside it with what is tried.
import { ask, Told } from "./link.js";
import { made } from "./circuit-card.js";
import { drawing } from "./drawing.js";

/** @typedef {{sections: string[], title: string, svg: string, words: string}} Plate */

/** Fills a place with the curves once it is opened, and again with what is tried. */
export class Plates {
  /** @param {HTMLDetailsElement} place */
  constructor(place) {
    this.place = place;
    this.box = /** @type {HTMLElement} */ (place.querySelector("div"));
    /** @type {string[]} */
    this.changes = [];
    this.shown = "";
    /** @type {Plate[] | undefined} */
    this.asIs = undefined;
    place.addEventListener("toggle", () => void this.draw());
  }

  /** @param {string[]} changes */
  tried(changes) {
    this.changes = changes;
    void this.draw();
  }

  /** Forgets what is drawn: the build has changed. */
  again() {
    this.shown = "";
    this.asIs = undefined;
    void this.draw();
  }

  async draw() {
    const now = JSON.stringify(this.changes);
    if (!this.place.open || now === this.shown) return;
    this.shown = now;
    if (!this.box.childElementCount) this.box.append(made("p", "", "Working out the curves."));
    try {
      const asIs = this.asIs ?? /** @type {Plate[]} */ (await ask("plate curves", {}));
      this.asIs = asIs;
      const tried = this.changes.length ? /** @type {Plate[]} */ (await ask("plate curves", { changes: this.changes })) : [];
      if (now === this.shown) this.box.replaceChildren(...asIs.map((each) => pair(each, tried)));
    } catch (error) {
      if (!(error instanceof Told)) throw error;
      this.shown = "";
      this.box.replaceChildren(made("p", "", `${error.lines.what}: ${error.lines.found}.`));
    }
  }
}

/** @param {Plate} plate @param {Plate[]} tried */
function pair(plate, tried) {
  const section = made("section", "plate", made("h3", "", plate.title));
  section.append(figure(plate, tried.length ? "As it is" : ""));
  const other = tried.find((each) => each.sections.includes(plate.sections[0] ?? ""));
  if (other && other.svg === plate.svg) section.append(made("p", "", "With what is tried: the same."));
  else if (other) section.append(figure(other, "Tried"));
  return section;
}

/** @param {Plate} plate @param {string} head */
function figure(plate, head) {
  const found = made("figure", "plate-curves", drawing(plate.svg), made("figcaption", "", plate.words));
  if (head) found.prepend(made("strong", "", head));
  return found;
}
