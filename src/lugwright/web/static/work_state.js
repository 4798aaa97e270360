// How the work stands, written into the page in place: nothing moves, no focus is lost.

/** @typedef {{number: number, title: string}} Begun */
/** @typedef {{
 *   mark: string, done: string, last: string, loose: string, next: number,
 *   phases: {phase: string, done: number, cards: number}[],
 *   begun: Begun[], half_done: string[], reopened: string[], swapped: string[],
 *   cards: Record<string, {state: string, words: string, checked: string}>,
 *   leads: Record<string, string>, joints: Record<string, string>,
 * }} State */

import { pending } from "./link.js";

const OTHER_CARDS = {
  what: "The job cards have changed",
  found: "the circuit or the plan is another one now",
  wanted: "a tick on the cards as they are",
  do: "What is ticked stays ticked; what you tick on these cards is refused",
};
const SHAPES = /** @type {Record<string, string>} */ ({ done: "good", begun: "part" });
const main = /** @type {HTMLElement} */ (document.getElementById("main"));

/** The mark of the cards that this page shows. */
export function shownMark() {
  return main.querySelector("[data-mark]")?.getAttribute("data-mark") ?? "";
}

/** Says why the page stands still: an error, or that there are other cards now; nothing where it does not.
 * @param {import("./link.js").FourLines | undefined} lines */
export function showHalt(lines) {
  /** @type {HTMLElement} */ (document.getElementById("moved")).hidden = lines === undefined;
  setText("moved-what", lines?.what ?? "");
  setText("moved-words", lines ? `${lines.found}; wanted: ${lines.wanted}. ${lines.do}.` : "");
}

/** Shows a state, unless it is of other cards than those on this page.
 * @param {State} state */
export function apply(state) {
  const same = state.mark === shownMark();
  showHalt(same ? undefined : OTHER_CARDS);
  if (!same) return;
  setText("done", state.done);
  setText("last", state.last);
  setText("loose-words", state.loose);
  for (const each of state.phases) showPhase(each);
  showLoose(state);
  for (const box of /** @type {NodeListOf<HTMLInputElement>} */ (main.querySelectorAll("[data-tick] input"))) {
    showBox(box, state);
  }
  for (const card of main.querySelectorAll(".job")) showCard(/** @type {HTMLElement} */ (card), state);
  showNext(state.next);
}

/** @param {string} id @param {string} words */
function setText(id, words) {
  const place = document.getElementById(id);
  if (place && place.textContent !== words) place.textContent = words;
}

/** @param {State["phases"][number]} each */
function showPhase(each) {
  const row = main.querySelector(`[data-phase="${CSS.escape(each.phase)}"]`);
  const bar = row?.querySelector("progress");
  const count = row?.querySelector(".figures");
  if (bar) bar.value = each.done;
  if (count) count.textContent = `${each.done}/${each.cards}`;
}

/** @param {HTMLInputElement} box @param {State} state */
function showBox(box, state) {
  const label = /** @type {HTMLElement} */ (box.closest("[data-tick]"));
  if (Number(label.dataset.waiting ?? 0) > 0) return;
  if (label.dataset.kept) {
    if (pending().some((each) => each.cid === label.dataset.kept)) return;
    delete label.dataset.kept;
    label.classList.remove("pending");
  }
  const { lead, joint, whole } = box.dataset;
  const since = lead ? state.leads[lead] : joint ? state.joints[joint] : state.cards[whole ?? ""]?.checked;
  box.checked = Boolean(since);
  const words = label.querySelector(".since");
  if (words && words.textContent !== (since ?? "")) words.textContent = since ?? "";
}

/** @param {HTMLElement} card @param {State} state */
function showCard(card, state) {
  const now = state.cards[card.dataset.card ?? ""];
  if (!now) return;
  card.dataset.state = now.state;
  const which = main.dataset.which ?? "all";
  if (card.parentElement?.id === "cards") card.hidden = which !== "all" && (which === "done") !== (now.state === "done");
  const words = card.querySelector("[data-words]");
  if (!words || words.textContent === now.words) return;
  words.textContent = now.words;
  words.className = `state ${SHAPES[now.state] ?? "todo"}`;
}

/** Offers the next card once the one on top is done. @param {number} next */
function showNext(next) {
  main.dataset.next = String(next);
  const top = main.querySelector("#now .job");
  const onTop = top instanceof HTMLElement ? Number(top.dataset.card) : 0;
  const done = !(top instanceof HTMLElement) || top.dataset.state === "done";
  const button = /** @type {HTMLElement} */ (document.getElementById("go-on"));
  button.hidden = next === 0 || next === onTop || !done;
  button.textContent = `Next: card ${next}`;
  /** @type {HTMLElement} */ (document.getElementById("all-done")).hidden = next !== 0;
  setText("now-title", next === 0 ? "Every card is done" : done && onTop ? `Card ${onTop} is done` : "Next");
}

/** @param {State} state */
function showLoose(state) {
  for (const each of main.querySelectorAll("[data-loose]")) {
    const box = /** @type {HTMLDetailsElement} */ (each);
    const rows = state[/** @type {"begun" | "half_done" | "reopened" | "swapped"} */ (box.dataset.loose)];
    const count = /** @type {HTMLElement} */ (box.querySelector(".figures"));
    const list = /** @type {HTMLElement} */ (box.querySelector("ul"));
    box.hidden = rows.length === 0;
    count.textContent = String(rows.length);
    list.replaceChildren(...rows.map(row));
  }
}

/** @param {string | Begun} words */
function row(words) {
  const item = document.createElement("li");
  if (typeof words === "string") {
    item.textContent = words;
    return item;
  }
  const link = document.createElement("a");
  link.href = `#card-${words.number}`;
  link.textContent = `card ${words.number}, ${words.title}`;
  item.append(link);
  return item;
}
