// One row for each value that can be tried: a slider with the exact value beside it, or a choice.
import { made, button } from "./circuit-card.js";

/** @typedef {import("./circuit-card.js").Trial} Trial */

export const TURNS = 10; // a knob is marked from 0 to 10

/** A value being tried; `now` is in the words of the build file, undefined while it is as built. `near` tells what its
 * slider can be moved to, nearest first.
 * @typedef {{part: string, trial: Trial, now: string | undefined, row: HTMLElement, set: (text: string) => void,
 *   reset: () => void, near: () => string[]}} Row */

/** @param {Trial} trial */
export function words(trial) {
  return [trial.set, trial.label].filter(Boolean).join(" ");
}

/** How a change is written. @param {Row} row */
export function change(row) {
  return `${row.trial.set}=${row.now}`;
}

/** A change as a person reads it. @param {Row} row @param {string} text */
export function shown(row, text) {
  return row.trial.how === "turn" ? String(Number((TURNS * Number(text)).toFixed(2))) : text;
}

/** How a value stands in the build file. @param {Row} row */
export function asBuilt(row) {
  return row.trial.how === "turn" ? String(row.trial.at) : `${row.trial.at}`;
}

/** Makes the row of a trial; `moved` is called with every new value, `away` takes the row off.
 * @param {string} part @param {Trial} trial @param {(row: Row) => void} moved @param {((row: Row) => void) | undefined} away
 * @returns {Row} */
export function rowOf(part, trial, moved, away) {
  const name = words(trial);
  /** @type {Row} */
  const row = { part, trial, now: undefined, row: made("div", "trial"), set: () => {}, reset: () => {}, near: () => [] };
  /** @param {string} text */
  const take = (text) => {
    row.now = text === asBuilt(row) ? undefined : text;
    row.row.classList.toggle("moved", row.now !== undefined);
    moved(row);
  };
  const legend = made("span", "name", name);
  row.row.dataset.set = trial.set;
  row.row.dataset.how = trial.how;
  row.row.append(legend, ...WAYS[trial.how](row, take, name));
  row.reset = () => {
    row.set(asBuilt(row));
    row.now = undefined;
    row.row.classList.remove("moved");
  };
  const back = () => {
    row.reset();
    moved(row);
  };
  const last = away ? button("Take off", () => away(row)) : button("Back", back);
  last.setAttribute("aria-label", `${name}: ${away ? "take off" : "back"}`);
  if (away) last.classList.add("stays");
  row.row.append(last);
  row.set(asBuilt(row));
  return row;
}

/** Puts what a slider can be moved to in the order of how far that is. @param {string[]} all @param {number} at */
function nearest(all, at) {
  const far = all.map((text, k) => ({ text, far: Math.abs(k - at) }));
  return far.sort((a, b) => a.far - b.far).map(({ text }) => text);
}

/** @param {string} name @param {string} type @param {Record<string, string>} attributes */
function input(name, type, attributes) {
  const found = document.createElement("input");
  found.type = type;
  found.setAttribute("aria-label", name);
  for (const [key, value] of Object.entries(attributes)) found.setAttribute(key, value);
  return found;
}

/** @typedef {(row: Row, take: (text: string) => void, name: string) => HTMLElement[]} Way */
/** @type {Record<Trial["how"], Way>} */
const WAYS = { turn, steps, choice, text };

/** A knob: from 0 to 10, along its own taper. @type {Way} */
function turn(row, take, name) {
  const slider = input(name, "range", { min: "0", max: String(TURNS), step: "0.1" });
  const exact = input(`${name}, exactly`, "number", { min: "0", max: String(TURNS), step: "any" });
  /** @param {string} value */
  const share = (value) => String(Number((Number(value) / TURNS).toFixed(5)));
  slider.addEventListener("input", () => {
    exact.value = slider.value;
    take(share(slider.value));
  });
  exact.addEventListener("input", () => {
    if (exact.value === "" || !exact.checkValidity()) return;
    slider.value = exact.value;
    take(share(exact.value));
  });
  row.set = (now) => {
    exact.value = slider.value = String(Number((TURNS * Number(now)).toFixed(3)));
  };
  const all = Array.from({ length: 10 * TURNS + 1 }, (_, k) => share(String(k / 10)));
  row.near = () => nearest(all, Math.round(10 * Number(slider.value)));
  return [slider, exact];
}

/** A part: preferred values along a slider, any value typed. @type {Way} */
function steps(row, take, name) {
  const all = row.trial.steps ?? [];
  const slider = input(name, "range", { min: "0", max: String(all.length - 1), step: "1" });
  const exact = input(`${name}, exactly`, "text", { autocomplete: "off", spellcheck: "false", size: "7" });
  slider.addEventListener("input", () => {
    const value = all[Number(slider.value)] ?? "";
    exact.value = value;
    slider.setAttribute("aria-valuetext", value);
    take(value);
  });
  exact.addEventListener("change", () => {
    const value = exact.value.trim();
    if (!value) return;
    const at = all.indexOf(value);
    if (at >= 0) slider.value = String(at);
    take(value);
  });
  row.set = (now) => {
    exact.value = now;
    if (all.indexOf(now) >= 0) slider.value = String(all.indexOf(now));
    slider.setAttribute("aria-valuetext", now);
  };
  row.near = () => nearest(all, Number(slider.value));
  return [slider, exact];
}

/** A switch or a jack. @type {Way} */
function choice(row, take, name) {
  const select = document.createElement("select");
  select.setAttribute("aria-label", name);
  for (const each of row.trial.choices ?? []) select.append(new Option(each));
  select.addEventListener("change", () => take(select.value));
  row.set = (now) => {
    select.value = now;
  };
  return [select];
}

/** Another tube, typed. @type {Way} */
function text(row, take, name) {
  const exact = input(name, "text", { autocomplete: "off", spellcheck: "false", size: "9" });
  exact.addEventListener("change", () => {
    if (exact.value.trim()) take(exact.value.trim());
  });
  row.set = (now) => {
    exact.value = now;
  };
  return [exact];
}
