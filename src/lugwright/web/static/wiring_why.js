// Why something is where it is: asked from its card, told above it until it is put away.
import { ask, cancel, on, Told } from "./link.js";
import { renew } from "./renew.js";
import { h } from "./wiring_card.js";

/** @typedef {import("./wiring_lit.js").Thing} Thing */
/** @typedef {import("./wiring_things.js").Things} Things */

const TRYING = "Trying other places. On a large build it takes some seconds.";

export class Why {
  /** @param {HTMLElement} place */
  constructor(place) {
    this.place = place;
    this.asked = 0;
    on("waits", (message) => {
      const state = place.querySelector("[role=status]");
      if (message.what === "wiring why" && state) state.textContent = message.for ? `It waits for ${message.for}.` : TRYING;
    });
  }

  /** What the card of a thing has that the plan chose a place for. @param {Things} things @param {Thing} thing */
  button(things, thing) {
    const seated = thing.kind !== "part" || things.tables.parts[thing.name]?.seated;
    const ground = thing.kind === "joint" && ["ground", "chassis", "earth"].includes(thing.name);
    if (!seated || ground || thing.kind === "strip" || thing.kind === "bus") return [];
    const button = h("button", { type: "button" }, "Why is it there?");
    button.addEventListener("click", () => void this.ask(thing.name));
    return [h("p", { class: "tools" }, button)];
  }

  /** @param {string} name */
  async ask(name) {
    const mine = ++this.asked;
    const stop = this.made("Stop", () => cancel("wiring why"));
    this.show(h("p", { role: "status" }, TRYING), h("p", { class: "tools" }, stop));
    try {
      const { html } = await ask("wiring why", { name });
      if (mine !== this.asked) return;
      const told = h("div", {});
      renew(told, html);
      this.show(told, this.away());
    } catch (error) {
      if (!(error instanceof Told)) throw error;
      const { what, found, do: todo } = error.lines;
      if (mine === this.asked) this.show(h("p", {}, `${what}. Found: ${found}. Do: ${todo}.`), this.away());
    }
    const head = this.place.querySelector("h2, button");
    head?.setAttribute("tabindex", "-1");
    /** @type {HTMLElement | null} */ (head)?.focus();
  }

  /** @param {Node[]} rows */
  show(...rows) {
    this.place.hidden = rows.length === 0;
    this.place.replaceChildren(...rows);
    this.place.scrollIntoView({ block: "nearest" });
  }

  away() {
    return h("p", { class: "tools" }, this.made("Put away", () => this.show()));
  }

  /** @param {string} words @param {() => void} does */
  made(words, does) {
    const button = h("button", { type: "button" }, words);
    button.addEventListener("click", does);
    return button;
  }
}
