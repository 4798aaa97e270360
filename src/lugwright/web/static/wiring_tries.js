// A plan tried out: what it costs or saves, undo and redo, kept only when asked.
import { orShow } from "./bench.js";
import { ask, cancel, errand, on, underWay } from "./link.js";
import { h } from "./wiring_card.js";
import { keepDraft, keptDraft } from "./wiring_kept.js";

/** @typedef {import("./wiring_moves.js").Put} Put */
/** @typedef {{name: string, before: number, after: number, reason: string}} Term */
/** @typedef {{what: string, before: string, after: string, why: string}} Move */
/** @typedef {{grade: string, what: string}} Found */
/** @typedef {{puts: Put[], svg: string, tables: import("./wiring_things.js").Tables, file: {was: string, lines: string[], name: string} | null, before: number, after: number, terms: Term[], moves: Move[], new: Found[], gone: Found[]}} Try */

const DRAFT = "wiring draft";
const KEEP = "wiring keep";

export class Tries {
  /** @param {HTMLElement} place @param {(tried: Try | null) => void} show @param {string} mark of the build file and the stored plan */
  constructor(place, show, mark) {
    this.place = place;
    this.show = show;
    this.mark = mark;
    /** What was put where, step by step; what came of it once it was worked out in this page. @type {{puts: Put[], tried: Try | null}[]} */
    this.made = [];
    this.at = 0; // how many of them are shown: 0 is the stored plan
    this.busy = "";
    this.what = DRAFT; // that is busy
    this.old = false;
    this.said = ""; // of a draft that was kept over a reload
    on("progress", ({ what, words }) => this.busy && what === this.what && this.works(words));
    on("waits", (message) => this.busy && message.what === this.what && this.works(message.for ? `It waits for ${message.for}` : "planning"));
    document.addEventListener("keydown", (event) => this.keyed(event));
  }

  get now() {
    return this.made[this.at - 1]?.tried ?? null;
  }

  /** Whether a plan that is tried out would be lost by showing what has changed elsewhere; then it is said here. */
  outdated() {
    if (!this.at && !this.busy) return false;
    this.old = true;
    this.draw();
    return true;
  }

  /** Takes up what was tried out when the page was left. */
  async takeUp() {
    const keeping = underWay(KEEP);
    if (keeping && (await this.kept(keeping.answer))) return;
    const draft = keptDraft();
    if (!draft) return;
    if (draft.mark !== this.mark) {
      keepDraft(null);
      if (!draft.keeping) this.said = "What was tried out here is dropped: the build or its plan has changed since.";
      this.draw();
      return;
    }
    this.made = draft.steps.map((puts) => ({ puts, tried: null }));
    this.said = "Taken up again as it was when the page was left.";
    if (draft.at) await this.go(draft.at);
    else this.draw();
  }

  /** Keeps in this tab what is tried out. @param {number} [at] @param {boolean} [keeping] */
  remember(at = this.at, keeping = false) {
    keepDraft(this.made.length ? { mark: this.mark, steps: this.made.map((each) => each.puts), at, keeping } : null);
  }

  /** Tries one thing more. @param {Put} put */
  async add(put) {
    if (this.busy) return;
    const before = [this.made, this.at];
    this.said = "";
    this.made = [...this.made.slice(0, this.at), { puts: [...(this.now?.puts ?? []), put], tried: null }];
    if (await this.go(this.made.length)) return;
    [this.made, this.at] = /** @type {[typeof this.made, number]} */ (before);
    this.remember();
    this.draw();
  }

  /** Shows a step, once it is worked out; returns whether it could be. @param {number} at */
  async go(at) {
    if (this.busy || at < 0 || at > this.made.length) return false;
    this.remember(at);
    const step = this.made[at - 1];
    if (step && !step.tried) {
      this.what = DRAFT;
      this.works("planning");
      this.place.scrollIntoView({ block: "nearest" });
      step.tried = (await orShow(ask(DRAFT, { puts: step.puts }))) ?? null;
      this.busy = "";
      if (!step.tried) {
        this.remember();
        this.draw();
        return false;
      }
      step.puts = step.tried.puts;
      this.place.scrollIntoView({ block: "nearest" });
    } else {
      this.said = "";
    }
    this.at = at;
    this.remember();
    this.show(this.now);
    this.draw();
    return true;
  }

  async keep() {
    const tried = this.now;
    if (!tried || this.busy) return;
    this.remember(this.at, true);
    if (!(await this.kept(errand(KEEP, { puts: tried.puts, seen: tried.file?.was ?? "" })))) this.remember();
  }

  /** Waits until a plan is kept, and shows it; returns whether it is. @param {Promise<any>} answer */
  async kept(answer) {
    this.what = KEEP;
    this.works("keeping the plan");
    this.old = false;
    const done = await orShow(answer);
    this.busy = "";
    if (done) {
      keepDraft(null);
      location.reload();
    } else {
      this.draw();
    }
    return Boolean(done);
  }

  /** @param {KeyboardEvent} event */
  keyed(event) {
    const typing = /** @type {Element | null} */ (event.target)?.closest?.("input, textarea, select");
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || typing || !this.made.length) return;
    event.preventDefault();
    void this.go(this.at + (event.shiftKey ? 1 : -1));
  }

  /** @param {string} words */
  works(words) {
    this.busy = words;
    this.draw();
  }

  draw() {
    const focused = /** @type {HTMLElement | null} */ (document.activeElement)?.dataset.act;
    this.place.hidden = !this.made.length && !this.busy && !this.said;
    const rows = this.busy ? this.working() : [...this.heading(), ...(this.now ? this.told(this.now) : [])];
    this.place.replaceChildren(...rows);
    if (focused) /** @type {HTMLElement | null} */ (this.place.querySelector(`[data-act="${focused}"]:not(:disabled)`) ?? this.place.querySelector("button:not(:disabled)"))?.focus();
  }

  working() {
    return [h("p", { role: "status" }, `${this.busy} ...`), h("p", { class: "tools" }, this.button("stop", "Stop", () => cancel(this.what)))];
  }

  heading() {
    const tried = this.now;
    const more = tried ? tried.after - tried.before : 0;
    const cost = Math.abs(more) < 0.5 ? "It costs the same" : `It costs ${Math.abs(more).toFixed(0)} ${more > 0 ? "more" : "less"}`;
    const words = tried ? `${cost}: ${tried.after.toFixed(0)} after ${tried.before.toFixed(0)} of the stored plan, where a millimeter of ordinary wire counts 1. Nothing is written yet.` : "The stored plan is shown.";
    return [
      h("h2", {}, tried ? `Tried out: ${tried.puts.map(name).join(", ")}` : "Nothing tried out"),
      ...(this.old ? [h("p", { class: "hot" }, "The build or its plan has changed elsewhere since."), h("p", {}, this.button("reload", "Show it as it is now", () => location.reload()))] : []),
      ...(this.said ? [h("p", {}, this.said)] : []),
      h("p", { role: "status" }, words),
      h(
        "p",
        { class: "tools" },
        this.button("undo", "Undo", () => void this.go(this.at - 1), this.at > 0),
        this.button("redo", "Redo", () => void this.go(this.at + 1), this.at < this.made.length),
        this.button("keep", tried?.file ? `Keep, and change ${tried.file.name}` : "Keep this plan", () => void this.keep(), tried !== null),
      ),
    ];
  }

  /** @param {Try} tried */
  told(tried) {
    const signed = (/** @type {number} */ value) => (value > 0 ? `+${value.toFixed(1)}` : value.toFixed(1).replace("-", "−"));
    const terms = tried.terms.map((term) => h("tr", {}, h("th", { scope: "row", title: term.reason }, term.name), h("td", {}, term.before.toFixed(1)), h("td", {}, term.after.toFixed(1)), h("td", {}, signed(term.after - term.before))));
    const head = h("tr", {}, ...["term", "before", "now", "more"].map((words) => h("th", { scope: "col" }, words)));
    const moves = tried.moves.map((move) => h("li", {}, `${move.what}: ${move.before || "new"} → ${move.after || "gone"} (${move.why})`));
    return [
      ...(tried.file ? [h("p", {}, `A strip stands where ${tried.file.name} says. To keep this, its line changes:`), h("pre", { tabindex: "0" }, tried.file.lines.join("\n"))] : []),
      ...(terms.length ? [h("table", {}, h("caption", { class: "faint" }, "Cost, term by term"), h("thead", {}, head), h("tbody", {}, ...terms))] : []),
      ...tried.new.map((found) => h("p", { class: "hot" }, `New ${found.grade}: ${found.what}`)),
      ...tried.gone.map((found) => h("p", {}, `Gone: ${found.what}`)),
      h("details", {}, h("summary", {}, `${moves.length} parts and wires not where they were`), h("ul", {}, ...moves)),
    ];
  }

  /** @param {string} act @param {string} words @param {() => void} does @param {boolean} [able] */
  button(act, words, does, able = true) {
    const button = /** @type {HTMLButtonElement} */ (h("button", { type: "button", "data-act": act }, words));
    button.disabled = !able;
    button.addEventListener("click", does);
    return button;
  }
}

/** @param {Put} put */
function name(put) {
  return "part" in put ? put.part : `strip ${put.strip}`;
}
