// Other plans of the build, side by side and chosen; strips and bus as lines for the build file.
import { orShow } from "./bench.js";
import { ask, cancel, errand, on, underWay } from "./link.js";
import { renew } from "./renew.js";
import { h } from "./wiring_card.js";

const CHOOSE = "choose plan";

/** What is asked for by buttons in a fold: while it is worked out they rest, and one stops it. */
class Fold {
  /** @param {HTMLElement} place */
  constructor(place) {
    this.place = place;
    this.says = /** @type {HTMLElement} */ (place.querySelector(".says"));
    this.found = /** @type {HTMLElement} */ (place.querySelector(".found"));
    this.stop = /** @type {HTMLButtonElement} */ (place.querySelector(".stop"));
    this.busy = ""; // what is worked out
    this.stop.addEventListener("click", () => cancel(this.busy));
    on("progress", ({ what, words }) => this.busy === what && this.say(`${words} ...`));
    on("waits", (message) => this.busy === message.what && this.say(message.for ? `It waits for ${message.for}.` : "Working ..."));
  }

  /** @param {string} words */
  say(words) {
    this.says.textContent = words;
  }

  /** Shows that it is worked on until the answer is there. @template T @param {string} what @param {Promise<T>} asked */
  async working(what, asked) {
    this.busy = what;
    this.say("Working ...");
    this.rest(true);
    try {
      return await orShow(asked);
    } finally {
      this.busy = "";
      this.say("");
      this.rest(false);
    }
  }

  /** @param {boolean} busy */
  rest(busy) {
    for (const each of this.place.querySelectorAll("button")) each.disabled = busy && each !== this.stop;
    this.stop.hidden = !busy;
    if (busy) this.stop.focus();
  }
}

/** @param {HTMLElement} place @param {HTMLDialogElement} dialog */
export function otherPlans(place, dialog) {
  const fold = new Fold(place);
  const head = /** @type {HTMLElement} */ (dialog.querySelector("h2"));
  const [yes, no] = /** @type {HTMLButtonElement[]} */ ([...dialog.querySelectorAll("button")]);
  let way = "";
  place.addEventListener("click", async (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (button?.dataset.way) {
      way = button.dataset.way;
      head.textContent = way === "afresh" ? "Plan afresh?" : `Keep the plan called ${way}?`;
      dialog.showModal();
    } else if (button?.classList.contains("ask")) {
      const answer = await fold.working("plans compared", ask("plans compared"));
      if (answer) renew(fold.found, answer.html);
    }
  });
  no?.addEventListener("click", () => dialog.close());
  yes?.addEventListener("click", async () => {
    dialog.close();
    void follow(errand(CHOOSE, { way }));
  });
  /** @param {Promise<any>} chosen */
  const follow = async (chosen) => {
    if (await fold.working(CHOOSE, chosen)) location.reload();
  };
  const before = underWay(CHOOSE);
  if (before) {
    place.setAttribute("open", "");
    void follow(before.answer);
  }
}

/** @param {HTMLElement} place */
export function stripLines(place) {
  const fold = new Fold(place);
  const copied = /** @type {HTMLButtonElement} */ (place.querySelector(".copy"));
  let text = "";
  place.addEventListener("click", async (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (!button?.classList.contains("ask")) return;
    const afresh = "afresh" in button.dataset;
    const answer = await fold.working("strips", ask("strips", { afresh }));
    if (!answer) return;
    text = answer.text;
    const words = afresh ? `Proposed without any; the plan on them costs ${answer.cost}. Nothing is written.` : `The plan on them costs ${answer.cost}.`;
    fold.found.replaceChildren(h("p", {}, words), h("pre", { tabindex: "0" }, text));
    copied.hidden = false;
    copied.textContent = "Copy";
  });
  copied.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(text);
      copied.textContent = "Copied";
    } catch {
      const lines = fold.found.querySelector("pre");
      if (lines) getSelection()?.selectAllChildren(lines);
      copied.textContent = "Marked: copy it with Ctrl-C";
    }
  });
}
