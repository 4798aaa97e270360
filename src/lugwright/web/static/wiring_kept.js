// What is being tried out on the wiring side, kept in this tab over a reload: what was put where, not what came of it.
import { build, copy } from "./link.js";
import { tabStorage } from "./outbox.js";

/** @typedef {import("./wiring_moves.js").Put} Put */
/** @typedef {{mark: string, steps: Put[][], at: number, keeping: boolean}} Draft */

const KEY = `draft ${build} ${copy}`;

/** Keeps a draft in the place of the one before; null: there is none any more. @param {Draft | null} draft */
export function keepDraft(draft) {
  try {
    if (draft) tabStorage()?.setItem(KEY, JSON.stringify(draft));
    else tabStorage()?.removeItem(KEY);
  } catch {
    // a browser that keeps nothing: it is in this page alone
  }
}

/** The draft of this build and copy that this tab keeps. @returns {Draft | undefined} */
export function keptDraft() {
  try {
    const found = JSON.parse(tabStorage()?.getItem(KEY) ?? "null");
    return isDraft(found) ? found : undefined;
  } catch {
    return undefined;
  }
}

/** @param {any} found @returns {found is Draft} */
export function isDraft(found) {
  const steps = Array.isArray(found?.steps) && found.steps.every((/** @type {unknown} */ puts) => Array.isArray(puts) && puts.length > 0);
  return steps && typeof found.mark === "string" && Number.isInteger(found.at) && found.at >= 0 && found.at <= found.steps.length;
}
