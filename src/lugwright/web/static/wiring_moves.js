// Moving a part or a strip by hand: dragged on the drawing, or put by the form in its card.
import { h } from "./wiring_card.js";
import { thingAt } from "./wiring_lit.js";

/** @typedef {import("./wiring_things.js").Things} Things */
/** @typedef {import("./wiring_lit.js").Thing} Thing */
/** @typedef {{part: string, by: [number, number]} | {part: string, ends: [string, string]} | {strip: string, at: [number, number], turn: number}} Put */
/** @typedef {{things: Things, lighting: import("./wiring_lit.js").Lighting, view: string}} Shown */
/** @typedef {{thing: Thing, pointer: number, from: {x: number, y: number}, by: [number, number], ghost: SVGElement[]}} Drag */

const LEAST_MM = 2; // less is a tap

/** What of a drawing can be dragged: a part that hangs, a strip, also by one of its lugs.
 * @param {Shown} shown @param {Thing | null} thing @returns {Thing | null} */
function movable({ things }, thing) {
  const { parts, strips, terminals } = things.tables;
  if (thing?.kind === "part" && parts[thing.name]?.seated) return thing;
  const strip = thing?.kind === "terminal" ? (terminals[thing.name]?.owner ?? "") : (thing?.name ?? "");
  return strips[strip] ? { kind: "strip", name: strip } : null;
}

/** Lets parts and strips be dragged while a button is pressed in.
 * @param {import("./wiring_board.js").Board} board @param {HTMLElement} button @param {Shown} shown @param {(put: Put) => void} put */
export function dragging(board, button, shown, put) {
  let arranging = false;
  /** @type {Drag | null} */
  let drag = null;
  button.addEventListener("click", () => {
    arranging = !arranging;
    button.setAttribute("aria-pressed", String(arranging));
    board.frame.classList.toggle("arranging", arranging);
  });
  /** @param {PointerEvent} event */
  const caught = (event) => {
    if (!arranging || shown.view) return null;
    const reach = event.pointerType === "mouse" ? 3 : 16;
    return movable(shown, shown.things.resolved(thingAt(event.clientX, event.clientY, reach)));
  };
  board.mayPan = (event) => drag === null && caught(event) === null;
  const drop = () => {
    drag?.ghost.forEach((element) => element.remove());
    drag = null;
  };
  board.frame.addEventListener("pointerdown", (event) => {
    const thing = event.button === 0 && event.isPrimary ? caught(event) : null;
    if (!thing) return;
    drag = { thing, pointer: event.pointerId, from: board.toMm(board.inFrame(event)), by: [0, 0], ghost: ghostOf(shown, thing) };
    board.frame.setPointerCapture(event.pointerId);
  });
  board.frame.addEventListener("pointermove", (event) => {
    if (event.pointerId !== drag?.pointer) return;
    const now = board.toMm(board.inFrame(event));
    drag.by = [now.x - drag.from.x, now.y - drag.from.y];
    for (const element of drag.ghost) element.setAttribute("transform", `translate(${drag.by[0]} ${drag.by[1]})`);
  });
  board.frame.addEventListener("pointerup", (event) => {
    if (event.pointerId !== drag?.pointer) return;
    const { thing, by } = drag;
    drop();
    if (Math.hypot(...by) < LEAST_MM) board.tapped(event);
    else put(putBy(shown.things, thing, by));
  });
  board.frame.addEventListener("pointercancel", drop);
  document.addEventListener("keydown", (event) => event.key === "Escape" && drop());
}

/** Copies of what is dragged, that follow the hand. @param {Shown} shown @param {Thing} thing */
function ghostOf({ lighting }, thing) {
  const copies = lighting.copies({ things: new Set([thing.name]), terminals: new Set() });
  for (const copy of copies) copy.classList.add("ghost");
  lighting.over.append(...copies);
  return copies;
}

/** @param {Things} things @param {Thing} thing @param {[number, number]} by in mm @returns {Put} */
function putBy(things, thing, by) {
  const strip = things.tables.strips[thing.name];
  if (!strip || thing.kind !== "strip") return { part: thing.name, by: [round(by[0], 1), round(by[1], 1)] };
  return { strip: thing.name, at: [round(strip.at[0] + by[0], 0), round(strip.at[1] + by[1], 0)], turn: strip.turn };
}

/** @param {number} value @param {number} digits */
function round(value, digits) {
  return Number(value.toFixed(digits));
}

/** The form that moves what a card is of, without dragging. @param {Things} things @param {Thing} thing @param {(put: Put) => void} put */
export function moveForm(things, thing, put) {
  const part = thing.kind === "part" ? things.tables.parts[thing.name] : undefined;
  const strip = thing.kind === "strip" ? things.tables.strips[thing.name] : undefined;
  if (!part?.seated && !strip) return [];
  const leads = (part?.ends ?? []).map((key, index) => lugs(things, key, `Lead ${part?.leads[index] ?? ""} to`));
  const fields = strip ? [number("Lug 1 from the left edge, mm", strip.at[0]), number("Lug 1 from the rear edge, mm", strip.at[1]), number("Turned, degrees", strip.turn)] : leads;
  const form = h("form", { class: "move", "data-of": thing.name }, ...fields, h("p", {}, h("button", { type: "submit" }, "Plan around it")));
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const values = [...form.querySelectorAll("select, input")].map((field) => /** @type {HTMLInputElement} */ (field).value);
    const [first = "", second = "", third = ""] = values;
    if (part) put({ part: thing.name, ends: [first, second] });
    else put({ strip: thing.name, at: [Number(first), Number(second)], turn: Number(third) });
  });
  return [h("details", {}, h("summary", {}, `Move ${part ? thing.name : `strip ${thing.name}`}`), form)];
}

/** @param {Things} things @param {string} now @param {string} words */
function lugs(things, now, words) {
  const { terminals } = things.tables;
  const joint = terminals[now]?.joint;
  const keys = Object.keys(terminals).filter((key) => terminals[key]?.kind === "lug" || terminals[key]?.joint === joint);
  const select = h("select", {}, ...keys.map((key) => new Option(terminals[key]?.label ?? key, key, key === now, key === now)));
  return h("label", {}, words, select);
}

/** @param {string} words @param {number} value */
function number(words, value) {
  return h("label", {}, words, h("input", { type: "number", step: "1", value: String(value) }));
}
