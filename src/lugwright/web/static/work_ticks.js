// Ticking: a lead, a joint, a whole card. What is ticked already is taken back only after a question.

import { showError } from "./bench.js";
import { ask, deed, pending, Told } from "./link.js";
import { shownMark } from "./work_state.js";

/** @typedef {{cards?: number[], leads?: string[], terminals?: string[]}} Work */

const TAKEN_OUT = {
  lead: "The lead comes out again, and its joint counts as open.",
  joint: "The joint counts as open again; its leads stay in.",
  whole: "The card counts as not done: its leads come out, its joints are open.",
};

/** Hears every box on the page. */
export function watchTicks() {
  document.addEventListener("change", (event) => {
    const box = event.target;
    if (!(box instanceof HTMLInputElement) || !box.closest("[data-tick]")) return;
    if (box.checked) carryOut(box, false);
    else {
      box.checked = true;
      askBack(box);
    }
  });
  showPending();
  ask("ready to tick").catch(() => {}); // why a build cannot be ticked is told by the page itself
}

/** What a box is about, as the server takes it. @param {HTMLInputElement} box @returns {Work} */
function workOf(box) {
  if (box.dataset.lead) return { leads: [box.dataset.lead] };
  if (box.dataset.joint) return { terminals: [box.dataset.joint] };
  return { cards: [Number(box.dataset.whole)] };
}

/** @param {HTMLInputElement} box @param {boolean} undo */
async function carryOut(box, undo) {
  wait(box, undo);
  try {
    await deed("tick", { ...workOf(box), undo, mark: shownMark() });
  } catch (error) {
    if (!(error instanceof Told)) throw error;
    box.checked = undo;
    showError(error.lines);
  }
  settle(box);
}

/** Marks a box as done here and not stored yet. @param {HTMLInputElement} box @param {boolean} undo */
function wait(box, undo) {
  const label = /** @type {HTMLElement} */ (box.closest("[data-tick]"));
  label.classList.add("pending");
  label.dataset.waiting = String(Number(label.dataset.waiting ?? 0) + 1);
  const since = label.querySelector(".since");
  if (since) since.textContent = undo ? "taking back" : "storing";
}

/** @param {HTMLInputElement} box */
function settle(box) {
  const label = /** @type {HTMLElement} */ (box.closest("[data-tick]"));
  const left = Number(label.dataset.waiting ?? 1) - 1;
  label.dataset.waiting = String(left);
  if (left > 0) return;
  label.classList.remove("pending");
  const since = label.querySelector(".since");
  if (since) since.textContent = box.checked ? "stored" : "";
}

/** Asks before something is taken back. @param {HTMLInputElement} box */
function askBack(box) {
  const dialog = /** @type {HTMLDialogElement} */ (document.getElementById("undo"));
  const label = /** @type {HTMLElement} */ (box.closest("[data-tick]"));
  const kind = /** @type {keyof typeof TAKEN_OUT} */ (label.dataset.tick);
  const words = label.querySelector(".words")?.firstChild?.textContent?.trim() ?? "";
  /** @type {HTMLElement} */ (document.getElementById("undo-title")).textContent = `${words}: take it back?`;
  /** @type {HTMLElement} */ (document.getElementById("undo-words")).textContent = TAKEN_OUT[kind];
  const yes = /** @type {HTMLButtonElement} */ (document.getElementById("undo-yes"));
  const no = /** @type {HTMLButtonElement} */ (document.getElementById("undo-no"));
  yes.onclick = () => {
    dialog.close();
    box.checked = false;
    carryOut(box, true);
  };
  no.onclick = () => dialog.close();
  dialog.onclose = () => box.focus();
  dialog.showModal();
}

/** Shows as waiting what this tab had not stored when the page was left. */
function showPending() {
  for (const each of pending()) {
    const work = /** @type {Work & {undo?: boolean}} */ (each.args);
    if (each.what !== "tick") continue;
    for (const box of boxesOf(work)) {
      box.checked = !work.undo;
      const label = /** @type {HTMLElement} */ (box.closest("[data-tick]"));
      label.classList.add("pending");
      label.dataset.kept = each.cid;
      const since = label.querySelector(".since");
      if (since) since.textContent = work.undo ? "taking back" : "storing";
    }
  }
}

/** @param {Work} work @returns {HTMLInputElement[]} */
function boxesOf(work) {
  const names = [
    ...(work.leads ?? []).map((name) => `input[data-lead="${CSS.escape(name)}"]`),
    ...(work.terminals ?? []).map((name) => `input[data-joint="${CSS.escape(name)}"]`),
    ...(work.cards ?? []).map((number) => `input[data-whole="${number}"]`),
  ];
  return names.flatMap((name) => [.../** @type {NodeListOf<HTMLInputElement>} */ (document.querySelectorAll(name))]);
}
