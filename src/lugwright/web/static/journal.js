// Notes and photos, and the latest of the log with a way to take any of it back.

import { orShow } from "./bench.js";
import { deed } from "./link.js";
import { takeUpPhotos, watchField } from "./photos.js";

/** @typedef {{time: string, since: string, kind: string, words: string, size: string, ids: string[]}} Happening */

const list = /** @type {HTMLElement} */ (document.getElementById("log"));
const form = /** @type {HTMLFormElement} */ (document.getElementById("note"));
const about = /** @type {HTMLInputElement} */ (form.elements.namedItem("about"));
const words = /** @type {HTMLTextAreaElement} */ (form.elements.namedItem("text"));

/** Hears the form. */
export function watchJournal() {
  void takeUpPhotos();
  for (const id of ["camera", "picture"]) {
    watchField(/** @type {HTMLInputElement} */ (document.getElementById(id)), () => {
      const said = { about: about.value.trim(), text: words.value.trim() };
      words.value = "";
      return said;
    });
  }
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    write();
  });
  document.addEventListener("click", (event) => {
    const button = event.target instanceof Element ? event.target.closest("[data-about]") : null;
    if (!(button instanceof HTMLElement)) return;
    about.value = button.dataset.about ?? "";
    words.focus();
    form.scrollIntoView({ block: "center" });
  });
}

/** Writes the note down; the words leave the field only when they are kept. */
async function write() {
  const text = words.value.trim();
  if (!text) return;
  const stored = deed("note", { text, about: about.value.trim() });
  words.value = "";
  if ((await orShow(stored)) === undefined && words.value === "") words.value = text;
}

/** Shows the latest of the log. @param {Happening[]} log */
export function showLog(log) {
  const focused = document.activeElement instanceof HTMLElement ? document.activeElement.dataset.time : undefined;
  list.replaceChildren(...(log.length ? log.map(item) : [empty()]));
  if (focused) /** @type {HTMLElement | null} */ (list.querySelector(`[data-time="${CSS.escape(focused)}"]`))?.focus();
}

/** @param {Happening} each */
function item(each) {
  const row = document.createElement("li");
  const when = document.createElement("span");
  when.className = "aside";
  when.textContent = each.since;
  const what = document.createElement("span");
  what.textContent = `${each.kind}: ${each.words}${each.size ? ` (${each.size})` : ""}`;
  row.append(when, what);
  if (each.ids.length) {
    const back = document.createElement("button");
    back.type = "button";
    back.dataset.time = each.time;
    back.textContent = "Take back";
    back.setAttribute("aria-label", `Take back ${what.textContent}`);
    back.addEventListener("click", () => {
      back.disabled = true;
      orShow(deed("take back", { ids: each.ids }));
    });
    row.append(back);
  }
  return row;
}

function empty() {
  const row = document.createElement("li");
  row.className = "aside";
  row.textContent = "Nothing is in the log yet.";
  return row;
}
