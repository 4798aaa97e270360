// Trying values: the curve follows the slider, then come the idle and the findings. Nothing of it is written anywhere.
import { ask, build, deed, Told } from "./link.js";
import { orShow } from "./bench.js";
import { Answers } from "./circuit-answers.js";
import { button, made } from "./circuit-card.js";
import { Chart } from "./circuit-chart.js";
import { Figures, findingsOf, Moved } from "./circuit-figures.js";
import { asBuilt, change, rowOf, shown, words } from "./circuit-rows.js";

/** @typedef {import("./circuit-card.js").Facts} Facts */
/** @typedef {import("./circuit-card.js").Trial} Trial */
/** @typedef {import("./circuit-chart.js").Curve} Curve */
/** @typedef {import("./circuit-rows.js").Row} Row */

const SLOW_MS = 150; // from here on a page says that it is still following
const STILL_MS = 120; // a hand that has been still for so long lets the page look ahead
const RESTS_MS = 700; // a slider that has not moved for so long rests: then all else is worked out
const KEPT = `tried ${build}`; // over a reload of this tab

/** @param {string} id */
const at = (id) => /** @type {HTMLElement} */ (document.getElementById(id));
const state = at("curve-state");

/** Everything that is tried on this page. */
export class Trials {
  constructor() {
    const svg = /** @type {SVGSVGElement} */ (/** @type {unknown} */ (at("chart")));
    this.chart = new Chart(svg, (told) => (at("at").textContent = told));
    /** @type {Row[]} */
    this.rows = [];
    /** @type {Facts | undefined} */
    this.facts = undefined;
    /** @type {Curve | undefined} */
    this.asIs = undefined;
    /** @type {{moved: string | null} | undefined} */
    this.wanted = undefined;
    this.flying = false;
    this.movedAt = 0;
    const busy = () => this.flying || document.hidden || performance.now() - this.movedAt < STILL_MS;
    const still = () => new Promise((/** @type {(_: void) => void} */ done) => setTimeout(done, STILL_MS));
    this.answers = new Answers((asked) => ask("tried response", asked), busy, still);
    this.points = { source: "", output: "" };
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.rests = undefined;
    this.asked = 0;
    this.looking = false;
    this.warmed = "";
    this.listed = "";
    this.figures = new Figures(at("figures"));
    this.idle = new Moved(at("idle-moved"));
    /** Told of what is tried once the sliders rest. @type {(changes: string[]) => void} */
    this.plates = () => {};
    const quantity = /** @type {HTMLSelectElement} */ (at("quantity"));
    quantity.addEventListener("change", () => this.chart.of(/** @type {import("./circuit-chart.js").Quantity} */ (quantity.value)));
    at("points").addEventListener("submit", (event) => {
      event.preventDefault();
      const data = new FormData(/** @type {HTMLFormElement} */ (at("points")));
      this.points = { source: String(data.get("source") ?? "").trim(), output: String(data.get("output") ?? "").trim() };
      void this.begin();
    });
  }

  /** Learns what can be tried, and keeps what is being tried where the part is still there. @param {Facts} facts */
  learn(facts) {
    this.facts = facts;
    if (!this.rows.length) {
      for (const part of (at("curves").dataset.knobs ?? "").split(" ").filter(Boolean)) {
        const trial = facts.parts[part]?.tries[0];
        if (trial) this.add(part, trial, false);
      }
    }
    this.takeUp(facts);
    void this.begin();
  }

  /** Keeps what is tried for the page that comes after this one. */
  keep() {
    const tried = this.tried().map((row) => ({ part: row.part, set: row.trial.set, how: row.trial.how, now: row.now }));
    sessionStorage.setItem(KEPT, JSON.stringify(tried));
  }

  /** Takes up what the page before this one tried. @param {Facts} facts */
  takeUp(facts) {
    const kept = /** @type {{part: string, set: string, how: string, now: string}[]} */ (
      JSON.parse(sessionStorage.getItem(KEPT) ?? "[]")
    );
    sessionStorage.removeItem(KEPT);
    for (const { part, set, how, now } of kept) {
      const trial = facts.parts[part]?.tries.find((each) => each.set === set && each.how === how);
      if (!trial) continue;
      const row = this.rows.find((each) => each.trial.set === set && each.trial.how === how) ?? this.add(part, trial, true);
      row.set(now);
      row.now = now === asBuilt(row) ? undefined : now;
      row.row.classList.toggle("moved", row.now !== undefined);
    }
    if (kept.length) this.listChanged();
  }

  /** Draws the curve as it is, then what is tried. */
  async begin() {
    this.asIs = undefined;
    this.answers.forget();
    this.wanted = { moved: null };
    await this.fly();
    await this.warm();
  }

  /** Has the server look at each knob while nobody turns one: the first turn is then as quick as the others. */
  async warm() {
    const points = JSON.stringify(this.points);
    if (this.warmed === points) return;
    this.warmed = points;
    try {
      for (const row of this.rows.filter((each) => each.trial.how === "turn")) {
        if (this.warmed !== points || !this.asIs || this.flying || this.changes().length) return;
        const moved = `${row.trial.set}=${row.trial.at}`;
        await ask("tried response", { changes: [moved], moved, ...this.points });
      }
    } catch (error) {
      if (!(error instanceof Told)) throw error; // it is told when somebody turns that knob
    }
  }

  /** @param {string} part @param {Trial} trial @param {boolean} comesOff */
  add(part, trial, comesOff) {
    const away = comesOff ? (/** @type {Row} */ row) => this.takeOff(row) : undefined;
    const row = rowOf(part, trial, (moved) => this.moved(moved), away);
    this.rows.push(row);
    for (const kind of ["pointerenter", "focusin"]) row.row.addEventListener(kind, () => this.reached(row));
    at("trials").append(row.row);
    return row;
  }

  /** A hand has come to a slider: what it moves first is not to wait behind what it may move next. @param {Row} row */
  reached(row) {
    this.movedAt = performance.now();
    this.lookAhead(row);
  }

  /** Gives a part its rows, and the first of them the focus. @param {string} part */
  attempt(part) {
    const tries = this.facts?.parts[part]?.tries ?? [];
    for (const trial of tries) {
      const there = this.rows.some((row) => row.trial.set === trial.set && row.trial.how === trial.how);
      if (!there) this.add(part, trial, true);
    }
    const row = this.rows.find((each) => each.part === part)?.row;
    row?.scrollIntoView({ block: "nearest" });
    /** @type {HTMLElement | null | undefined} */ (row?.querySelector("input, select"))?.focus();
  }

  /** @param {Row} row */
  takeOff(row) {
    this.rows = this.rows.filter((each) => each !== row);
    row.row.remove();
    this.moved(row);
  }

  tried() {
    return this.rows.filter((row) => row.now !== undefined);
  }

  changes() {
    return this.tried().map(change);
  }

  /** The newest value wins: what comes while one is asked waits, and replaces what waited. @param {Row} row */
  moved(row) {
    this.wanted = { moved: row.now === undefined || !this.rows.includes(row) ? null : change(row) };
    this.listChanged();
    clearTimeout(this.rests);
    this.asked++;
    this.movedAt = performance.now();
    at("tried-findings").replaceChildren();
    this.rests = setTimeout(() => void this.lookAtAll(), RESTS_MS);
    void this.fly();
    this.lookAhead(row);
  }

  /** Has what a slider can be moved to worked out while nobody waits: its curve is there when the hand is.
   * @param {Row} row */
  lookAhead(row) {
    void this.answers.ahead(() => {
      if (!this.asIs || !this.rows.includes(row)) return [];
      const texts = row.near().filter((text) => text !== asBuilt(row));
      return texts.map((text) => {
        const those = this.rows.filter((each) => each === row || each.now !== undefined);
        const changes = those.map((each) => (each === row ? `${row.trial.set}=${text}` : change(each)));
        return { changes, moved: `${row.trial.set}=${text}`, ...this.points };
      });
    });
  }

  async fly() {
    if (this.flying || !this.wanted) return;
    this.flying = true;
    const slow = setTimeout(() => this.say("Following: the curve drawn is that of before.", true), SLOW_MS);
    try {
      while (this.wanted) {
        const { moved } = this.wanted;
        this.wanted = undefined;
        await this.follow(moved);
      }
    } catch (error) {
      if (!(error instanceof Told)) throw error;
      this.refuse(error);
    } finally {
      clearTimeout(slow);
      this.flying = false;
    }
    if (this.wanted) void this.fly();
  }

  /** @param {string | null} moved */
  async follow(moved) {
    if (!this.asIs) this.asIs = await this.answers.of({ changes: [], moved: null, ...this.points });
    const changes = this.changes();
    const tried = changes.length ? await this.answers.of({ changes, moved, ...this.points }) : undefined;
    this.chart.show(this.asIs, tried, moved !== null);
    this.tell(tried);
  }

  /** Says why there is no curve of what is tried, and draws none. @param {Told} told */
  refuse(told) {
    const { what, found, wanted } = told.lines;
    const none = this.asIs ? "No curve is drawn of what is tried." : "No curve is drawn.";
    this.chart.show(this.asIs, undefined, true);
    this.figures.show(this.asIs, undefined);
    this.idle.show([]);
    this.say(`${what}: ${found}; wanted: ${wanted}. ${none}`, true);
  }

  /** Says what the curves are and what the idle does. @param {Curve | undefined} tried */
  tell(tried) {
    const count = this.changes().length;
    const idle = tried?.idle.length ? "the idle has moved" : "the idle stays";
    this.say(count ? `${count} tried; ${idle}.` : "As the build file has it.", false);
    this.figures.show(this.asIs, tried);
    this.idle.show(tried?.idle ?? []);
  }

  /** @param {string} said @param {boolean} behind the curve is not the newest yet */
  say(said, behind) {
    state.textContent = said;
    at("curves").classList.toggle("behind", behind);
  }

  /** Lists what is tried, each with a way back, and all of it as a command line; while one slides only its words change. */
  listChanged() {
    const tried = this.tried();
    if (tried.map(key).join() !== this.listed) this.makeList(tried);
    const box = at("changed");
    box.hidden = tried.length === 0;
    box.querySelectorAll("li > span").forEach((span, k) => {
      const row = tried[k];
      if (row) span.textContent = `${words(row.trial)}: ${shown(row, asBuilt(row))} → ${shown(row, row.now ?? "")} `;
    });
    const line = box.querySelector("input");
    if (line) line.value = this.changes().map((each) => `--set "${each}"`).join(" ");
    const noted = box.querySelector("button.noted");
    if (noted instanceof HTMLButtonElement) {
      noted.disabled = false;
      noted.textContent = "Note in the log";
    }
  }

  /** @param {Row[]} tried */
  makeList(tried) {
    this.listed = tried.map(key).join();
    const items = tried.map((row) => {
      const back = button("Back", () => {
        row.reset();
        this.moved(row);
      });
      back.setAttribute("aria-label", `${words(row.trial)} back`);
      return made("li", "", made("span", ""), back);
    });
    const all = button("All back", () => {
      for (const row of this.tried()) row.reset();
      if (this.rows[0]) this.moved(this.rows[0]);
    });
    const line = document.createElement("input");
    line.readOnly = true;
    line.setAttribute("aria-label", "what is tried, for the command line");
    const copied = button("Copy for the command line", () => void copy(line, copied));
    const noted = button("Note in the log", () => void this.note(noted));
    noted.className = "noted";
    const deeds = made("div", "deeds", all, copied, noted);
    at("changed").replaceChildren(made("h3", "", "Tried, written nowhere"), made("ul", "", ...items), deeds, line);
  }

  /** Writes what is tried into the log, in words; the build file stays as it is. @param {HTMLButtonElement} noted */
  async note(noted) {
    const tried = this.tried().map((row) => `${words(row.trial)} ${shown(row, asBuilt(row))} → ${shown(row, row.now ?? "")}`);
    noted.disabled = true;
    noted.textContent = "Not stored yet";
    const done = await orShow(deed("note", { text: `Tried: ${tried.join("; ")}`, about: "circuit" }));
    noted.textContent = done ? "Noted in the log" : "Note in the log";
    noted.disabled = Boolean(done);
  }

  /** Works out everything else once the sliders rest: one question at a time, of what is tried by then. */
  async lookAtAll() {
    if (this.looking) return;
    this.looking = true;
    const box = at("tried-findings");
    try {
      for (let number = -1; number !== this.asked; ) {
        number = this.asked;
        const changes = this.changes();
        box.replaceChildren();
        if (!changes.length) {
          this.plates(changes);
          continue;
        }
        box.append(made("p", "", "Looking at ratings, mains, start and feedback with these values."));
        const asked = ask("tried findings", { changes }); // before what is open below: what can hurt is told first
        this.plates(changes);
        const found = await asked;
        if (number === this.asked) box.replaceChildren(...findingsOf(found));
      }
    } catch (error) {
      if (!(error instanceof Told)) throw error;
      box.replaceChildren(made("p", "", `${error.lines.what}: ${error.lines.found}.`));
    } finally {
      this.looking = false;
    }
  }
}

/** @param {Row} row */
const key = (row) => `${row.trial.set} ${row.trial.how}`;

/** @param {HTMLInputElement} line @param {HTMLButtonElement} copied */
async function copy(line, copied) {
  line.select();
  try {
    await navigator.clipboard.writeText(line.value);
    copied.textContent = "Copied";
  } catch {
    copied.textContent = "Marked: copy it with Ctrl-C";
  }
}
