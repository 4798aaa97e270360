// The wiring side: drawing, lighting, filters, card.
import { orShow } from "./bench.js";
import { ask, cancel, errand, on, underWay } from "./link.js";
import { Between } from "./wiring_between.js";
import { Board } from "./wiring_board.js";
import { SideCard, counted } from "./wiring_card.js";
import { Lighting, thingAt, thingOf } from "./wiring_lit.js";
import { dragging, moveForm } from "./wiring_moves.js";
import { otherPlans, stripLines } from "./wiring_plans.js";
import { Things } from "./wiring_things.js";
import { Tries } from "./wiring_tries.js";
import { Why } from "./wiring_why.js";

/** @typedef {import("./wiring_lit.js").Thing} Thing */
/** @typedef {import("./wiring_lit.js").Lit} Lit */

/** @template {HTMLElement} T @param {string} id @returns {T} */
function byId(id) {
  return /** @type {T} */ (document.getElementById(id));
}

class Page {
  /** @param {Things} things */
  constructor(things) {
    this.things = things;
    this.board = new Board(byId("board"), byId("sheet"));
    this.lighting = new Lighting(/** @type {SVGSVGElement} */ (byId("sheet").querySelector("svg")));
    /** Drawings by what the list of sides calls them. @type {Map<string, Lighting>} */
    this.views = new Map([["", this.lighting]]);
    this.view = "";
    this.between = new Between(byId("between"));
    this.why = new Why(byId("why"));
    this.card = new SideCard(byId("card"), {
      pick: (thing) => this.keep(thing),
      enlarge: (name) => void this.show(name),
      move: (things, thing) => moveForm(things, thing, (put) => void this.tries.add(put)),
      more: (things, thing) => [...this.between.buttons(thing), ...(this.stored && things.tables !== this.stored ? [] : this.why.button(things, thing))],
    });
    /** @type {Thing | null} */
    this.kept = null;
    /** @type {Thing | null} */
    this.under = null;
    /** Tables of the stored plan, while another is shown. @type {import("./wiring_things.js").Tables | undefined} */
    this.stored = undefined;
    this.job = 0;
    this.tries = new Tries(byId("tries"), (shown) => this.adopt(shown), things.tables.mark ?? "");
    dragging(this.board, byId("arrange"), this, (put) => void this.tries.add(put));
    this.board.tapped = (event) => this.keep(this.things.resolved(thingAt(event.clientX, event.clientY, event.pointerType === "mouse" ? 3 : 16)));
    this.listen();
    this.refill();
    this.lay(this.lighting);
  }

  /** Lays a drawing on the board. @param {Lighting} lighting @param {boolean} [stay] where it is looked at */
  lay(lighting, stay = false) {
    this.lighting = lighting;
    byId("sheet").replaceChildren(lighting.drawing, lighting.over);
    if (stay) this.board.rest();
    else this.board.takes(lighting.box);
    this.draw();
  }

  /** Shows another side, or a strip or a socket enlarged. @param {string} name "", "top", "strip A", "socket V1" */
  async show(name) {
    const select = /** @type {HTMLSelectElement} */ (byId("side"));
    if (!this.views.has(name)) {
      const found = await orShow(ask("wiring view", { name }));
      if (found) this.views.set(name, new Lighting(drawn(found.svg)));
    }
    const lighting = this.views.get(name);
    if (lighting) this.view = name;
    select.value = this.view;
    if (lighting) this.lay(lighting);
  }

  /** Shows a plan that is tried out; null: the one that is stored. @param {{svg: string, tables: import("./wiring_things.js").Tables} | null} tried */
  adopt(tried) {
    const stored = this.views.get("") ?? this.lighting;
    this.stored ??= this.things.tables;
    const select = /** @type {HTMLSelectElement} */ (byId("side"));
    select.disabled = tried !== null;
    select.value = this.view = "";
    this.things = new Things(tried?.tables ?? this.stored, this.things.state);
    this.setJob(0);
    this.lay(tried ? new Lighting(drawn(tried.svg)) : stored, true);
    this.refill();
  }

  /** Takes tables or state that have changed. @param {Things} things */
  takes(things) {
    const follows = this.job && this.job === this.things.state.next;
    this.things = things;
    if (follows) this.setJob(things.state.next);
    this.refill();
    this.draw();
  }

  refill() {
    byId("names").replaceChildren(...this.things.names().map((name) => new Option(name, name)));
  }

  listen() {
    const board = byId("board");
    board.addEventListener("pointermove", (event) => event.buttons || event.pointerType === "touch" || this.over(thingOf(/** @type {Element} */ (event.target))));
    board.addEventListener("pointerleave", () => this.over(null));
    document.addEventListener("keydown", (event) => event.key === "Escape" && this.keep(null));
    byId("find").addEventListener("input", () => this.find(false));
    byId("find").addEventListener("change", () => this.find(true));
    for (const id of ["by-step", "by-layer", "by-volts", "by-work"]) byId(id).addEventListener("input", () => this.draw());
    byId("next-job").addEventListener("click", () => this.showJob(this.job ? 0 : this.things.state.next));
    byId("card-before").addEventListener("click", () => this.showJob(Math.max(this.job - 1, 1)));
    byId("card-after").addEventListener("click", () => this.showJob(Math.min(this.job + 1, this.things.tables.cards.length)));
    byId("side").addEventListener("change", () => void this.show(/** @type {HTMLSelectElement} */ (byId("side")).value));
    window.addEventListener("beforeprint", () => this.board.paper(true));
    window.addEventListener("afterprint", () => this.board.paper(false));
    byId("larger").addEventListener("click", () => this.board.zoom(1.5));
    byId("smaller").addEventListener("click", () => this.board.zoom(1 / 1.5));
    byId("whole").addEventListener("click", () => this.board.whole());
    byId("fit").addEventListener("click", () => this.fit());
  }

  /** @param {Thing | null} thing */
  over(thing) {
    const now = this.things.resolved(thing);
    if (now?.kind === this.under?.kind && now?.name === this.under?.name) return;
    this.under = now;
    if (!this.kept) this.draw();
  }

  /** @param {Thing | null} thing */
  keep(thing) {
    this.kept = thing;
    if (thing) this.setJob(0);
    this.draw();
  }

  /** @param {boolean} all whether to say that there is no such thing */
  find(all) {
    const typed = /** @type {HTMLInputElement} */ (byId("find")).value;
    const thing = this.things.called(typed);
    if (!thing) {
      if (all && typed) byId("count").textContent = `Nothing here is called ${typed}.`;
      return;
    }
    this.keep(thing);
    if (all) this.fit();
  }

  /** Shows what the address names, as other pages link to it: #part=R3, #joint=B+1. */
  fromAddress() {
    const named = /^#(?:part|joint)=(.+)$/.exec(location.hash);
    if (!named?.[1]) return;
    /** @type {HTMLInputElement} */ (byId("find")).value = decodeURIComponent(named[1]);
    this.find(true);
  }

  filter() {
    const value = (/** @type {string} */ id) => /** @type {HTMLInputElement} */ (byId(id)).value;
    return { step: value("by-step"), layer: value("by-layer"), volts: Number(value("by-volts")) || 0, work: value("by-work") };
  }

  /** What is lit now. @returns {Lit | null} */
  lit() {
    const lit = this.chosen();
    return lit && this.view === "top" ? this.things.withOwners(lit) : lit;
  }

  /** @returns {Lit | null} */
  chosen() {
    const thing = this.kept ?? this.under;
    if (thing) return this.things.lit(thing);
    const card = this.things.tables.cards[this.job - 1];
    if (!card) return this.things.filtered(this.filter());
    const lit = this.things.litCard(card);
    return this.lighting.found(lit).length ? lit : null;
  }

  draw() {
    const lit = this.lit();
    this.lighting.show(lit, this.job && !this.kept && !this.under ? 0.88 : 0.78);
    byId("count").textContent = lit ? countedLit(this.things, lit) : "";
    const thing = this.kept ?? this.under;
    const card = this.things.tables.cards[this.job - 1];
    if (thing) this.card.show(this.things, thing, this.kept !== null);
    else if (card) this.card.job(this.things, card);
    else this.card.nothing(this.things, inWords(this.filter(), this.things.tables.touch_v));
  }

  fit() {
    const lit = this.lit();
    const box = lit && this.lighting.bounds(lit);
    if (box) this.board.fit(box);
    else this.board.whole();
  }

  /** @param {number} number */
  setJob(number) {
    this.job = number;
    byId("next-job").setAttribute("aria-pressed", String(number > 0));
    for (const id of ["card-before", "card-after"]) byId(id).hidden = number === 0;
  }

  /** @param {number} number of a card; 0: none */
  showJob(number) {
    this.kept = null;
    this.setJob(number);
    this.draw();
    if (number) this.fit();
  }
}

/** A drawing that came as text. @param {string} svg */
function drawn(svg) {
  const root = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  return /** @type {SVGSVGElement} */ (/** @type {unknown} */ (document.importNode(root, true)));
}

/** @param {import("./wiring_things.js").Filter} filter @param {number} touch_v */
function inWords({ step, layer, volts, work }, touch_v) {
  const ringed = volts ? `${volts} V and more from ground; rings mark what is above ${touch_v} V` : "";
  const words = [step, layer, work, ringed].filter((each) => each).join("; ");
  return words && `Lit: ${words}`;
}

/** @param {Things} things @param {Lit} lit */
function countedLit(things, lit) {
  const names = [...lit.things];
  const wires = names.filter((name) => things.tables.wires[name]).length;
  const parts = names.filter((name) => things.tables.parts[name]?.seated).length;
  return `Lit: ${counted(wires, "wire", "wires")}, ${counted(parts, "part", "parts")}, ${counted(lit.terminals.size, "lug or pin", "lugs and pins")}.`;
}

/** The page of a build without a plan: a button that makes one. */
function planner() {
  const button = /** @type {HTMLButtonElement} */ (byId("plan-it"));
  const stop = byId("stop-planning");
  const says = byId("planning");
  on("changed", ({ kind }) => kind === "plan" && location.reload());
  on("progress", ({ what, words }) => what === "plan" && (says.textContent = `${words} ...`));
  on("waits", (message) => message.what === "plan" && (says.textContent = message.for ? `It waits for ${message.for}.` : "planning ..."));
  stop.addEventListener("click", () => cancel("plan"));
  /** @param {Promise<any>} plan */
  const follow = async (plan) => {
    button.disabled = true;
    stop.hidden = false;
    says.textContent = "planning ...";
    const done = await orShow(plan);
    button.disabled = false;
    stop.hidden = true;
    says.textContent = done ? "The plan is made." : "";
    if (done) location.reload();
  };
  button.addEventListener("click", () => void follow(errand("plan")));
  const before = underWay("plan");
  if (before) void follow(before.answer);
}

async function start() {
  if (!document.getElementById("wiring")) {
    planner();
    new Between(byId("between"));
    return;
  }
  const [tables, state] = (await orShow(Promise.all([ask("wiring tables"), ask("wiring state")]))) ?? [];
  if (!tables || tables.plan !== "whole") return;
  const page = new Page(new Things(tables, state));
  byId("wiring").dataset.ready = "yes";
  otherPlans(byId("plans"), /** @type {HTMLDialogElement} */ (byId("choose")));
  stripLines(byId("strip-lines"));
  page.fromAddress();
  void page.tries.takeUp();
  window.addEventListener("hashchange", () => page.fromAddress());
  on("changed", async ({ kind }) => {
    if (kind === "plan" || kind === "file") {
      if (!page.tries.outdated()) location.reload();
      return;
    }
    const now = await orShow(ask("wiring state"));
    if (now && now.fingerprint === page.things.tables.fingerprint) page.takes(new Things(page.things.tables, now));
  });
  page.card.readings = (await orShow(ask("wiring readings"))) ?? null;
  page.draw();
}

void start();
