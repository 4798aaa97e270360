// Studies: power, start, spread, stages and hiss. Each is worked out when it is opened, and again with what is tried.
import { ask, build, cancel, on, Told } from "./link.js";
import { renew } from "./renew.js";

const WAITS = "Working it out.";

/** One of them: its form, how far it is, what was found. */
class Study {
  /** @param {HTMLDetailsElement} place */
  constructor(place) {
    this.place = place;
    this.what = place.dataset.asks ?? "";
    this.form = /** @type {HTMLFormElement} */ (place.querySelector("form"));
    this.state = /** @type {HTMLElement} */ (place.querySelector(".state-words"));
    this.found = /** @type {HTMLElement} */ (place.querySelector(".found"));
    this.stop = /** @type {HTMLButtonElement} */ (place.querySelector(".stop"));
    /** @type {string[]} */
    this.changes = [];
    this.shown = "";
    this.busy = false;
    this.stopped = false;
    place.addEventListener("toggle", () => void this.look());
    this.form.addEventListener("submit", (event) => {
      event.preventDefault();
      this.shown = "";
      void this.look();
    });
    this.stop.addEventListener("click", () => {
      this.stopped = true;
      this.say("Stopping.");
      cancel(this.what);
    });
    this.found.addEventListener("click", (event) => {
      const button = event.target instanceof Element ? event.target.closest("button.save") : null;
      const drawn = button?.closest("figure")?.querySelector("svg");
      if (drawn) save(drawn, `${build}_${button?.getAttribute("data-name")}.svg`);
    });
    on("progress", ({ what, words }) => {
      if (this.busy && what === this.what && !this.stopped) this.say(`${WAITS} Now: ${words}.`);
    });
    on("waits", (message) => {
      if (this.busy && message.what === this.what && !this.stopped) this.say(message.for ? `It waits for ${message.for}.` : WAITS);
    });
  }

  /** What is asked: what the form says, and what is tried. */
  args() {
    /** @type {Record<string, unknown>} */
    const args = this.changes.length ? { changes: this.changes } : {};
    for (const each of this.form.querySelectorAll("input")) {
      if (each.type === "checkbox") args[each.name] = each.checked;
      else if (each.type === "number") {
        if (each.value) args[each.name] = Number(each.value);
      } else args[each.name] = each.value;
    }
    return args;
  }

  /** Asks for what is wanted by now, one question at a time; nothing while it is folded up. */
  async look() {
    if (this.busy) return;
    for (let wanted = this.wanted(); this.place.open && wanted !== this.shown; wanted = this.wanted()) {
      this.shown = wanted;
      await this.work(wanted);
    }
  }

  wanted() {
    return JSON.stringify(this.args());
  }

  /** @param {string} wanted */
  async work(wanted) {
    this.begin();
    let words = "";
    try {
      const { html } = await ask(this.what, JSON.parse(wanted));
      renew(this.found, html);
    } catch (error) {
      if (!(error instanceof Told)) throw error;
      const { what, found, wanted: right, do: todo } = error.lines;
      words = this.stopped ? "Stopped. Press the button to work it out." : `${what.charAt(0).toUpperCase()}${what.slice(1)}. Found: ${found}. Wanted: ${right}. Do: ${todo}.`;
      this.found.replaceChildren();
    } finally {
      this.end(words);
    }
  }

  begin() {
    this.busy = true;
    this.stopped = false;
    this.stop.hidden = false;
    this.found.classList.add("behind");
    this.say(this.found.childElementCount ? `${WAITS} Below stands what was found before.` : WAITS);
  }

  /** @param {string} words */
  end(words) {
    this.busy = false;
    this.stop.hidden = true;
    this.found.classList.remove("behind");
    this.say(words);
  }

  /** @param {string} words */
  say(words) {
    this.state.textContent = words;
  }
}

/** All of them. */
export class Studies {
  /** @param {Element[]} places */
  constructor(places) {
    this.all = places.flatMap((place) => (place instanceof HTMLDetailsElement ? [new Study(place)] : []));
  }

  /** Takes what is tried. @param {string[]} changes */
  tried(changes) {
    for (const each of this.all) {
      each.changes = changes;
      void each.look();
    }
  }

  /** Works anew what is open: the build has changed. */
  again() {
    for (const each of this.all) {
      each.shown = "";
      void each.look();
    }
  }
}

/** Gives a plot to be saved, black on white as it was drawn. @param {SVGElement} drawn @param {string} name */
function save(drawn, name) {
  const address = URL.createObjectURL(new Blob([new XMLSerializer().serializeToString(drawn)], { type: "image/svg+xml" }));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 1000);
}
