// What stands beside the step: trace, idle setting, as built. Each is asked for when it is opened, and again when the
// log has changed; what was found before stays readable until the new answer is there.
import { showError } from "./bench.js";
import { ask, cancel, on, Told } from "./link.js";
import { renew } from "./renew.js";

/** By the id of what unfolds: what is asked, and the words while it is worked out.
 * @type {Record<string, {what: string, place: string, words: string}>} */
const SIDES = {
  "side-trace": { what: "trace", place: "power-trace", words: "Weighing the readings" },
  "side-idle": { what: "idle setting", place: "power-idle", words: "Working out the idle setting" },
  "side-as-built": { what: "as built rows", place: "power-as-built", words: "Reading what was measured" },
};
/** How many times each was asked; only the last answer is shown. @type {Map<string, number>} */
const asked = new Map();

/** Asks for what is open beside the step. */
export async function refreshSide() {
  for (const id of Object.keys(SIDES)) if (details(id)?.open) void fill(id);
}

/** Lets what is folded beside the step be opened, also by links to it. */
export function sideBySide() {
  for (const id of Object.keys(SIDES)) {
    details(id)?.addEventListener("toggle", () => {
      if (details(id)?.open) void fill(id);
      else if (id === "side-trace") document.getElementById("trace-alarm")?.replaceChildren();
    });
  }
  document.addEventListener("click", (event) => {
    const link = event.target instanceof Element ? event.target.closest('a[href^="#side-"]') : null;
    const side = link instanceof HTMLAnchorElement ? details(link.hash.slice(1)) : null;
    if (!side) return;
    event.preventDefault();
    side.open = true;
    side.scrollIntoView({ block: "start" });
    /** @type {HTMLElement | null} */ (side.querySelector("summary"))?.focus({ preventScroll: true });
  });
  document.addEventListener("change", (event) => {
    if (event.target instanceof HTMLSelectElement && event.target.id === "target") void fill("side-idle");
  });
  document.addEventListener("click", (event) => {
    if (event.target instanceof Element && event.target.id === "show-suspects") void suspects();
  });
}

/** @param {string} id */
function details(id) {
  const found = document.getElementById(id);
  return found instanceof HTMLDetailsElement ? found : null;
}

/** @param {string} id */
async function fill(id) {
  const side = SIDES[id];
  const place = side && document.getElementById(side.place);
  if (!side || !place) return;
  const number = (asked.get(id) ?? 0) + 1;
  asked.set(id, number);
  busy(place, `${side.words} …`);
  try {
    const found = await ask(side.what, args(id));
    if (asked.get(id) !== number) return;
    for (const [part, html] of Object.entries(found.parts)) {
      const there = document.getElementById(part);
      if (there) renew(there, /** @type {string} */ (html));
    }
  } catch (error) {
    if (!(error instanceof Told)) throw error;
    if (error.stopped && asked.get(id) === number) return ended(place, id);
    if (!error.stopped) showError(error.lines);
  }
  if (asked.get(id) === number) busy(place, "");
}

/** Says that what was worked out was ended by hand, with a way to begin again. @param {HTMLElement} place @param {string} id */
function ended(place, id) {
  busy(place, "Ended.");
  place.setAttribute("aria-busy", "false");
  const button = place.previousElementSibling?.querySelector("button");
  const again = document.createElement("button");
  again.type = "button";
  again.textContent = "Begin again";
  again.addEventListener("click", () => {
    busy(place, "");
    void fill(id);
  });
  button?.replaceWith(again);
  again.focus();
}

/** @param {string} id */
function args(id) {
  const target = document.getElementById("target");
  return id === "side-idle" && target instanceof HTMLSelectElement ? { target: target.value } : {};
}

/** Says above a side what is being worked out, with a way to end it; "" takes that away.
 * @param {HTMLElement} place @param {string} words */
function busy(place, words) {
  place.setAttribute("aria-busy", String(words !== ""));
  const line = place.previousElementSibling;
  const had = line instanceof HTMLElement && line.matches(".busy") ? line : null;
  if (!words) return had?.remove();
  const text = had?.querySelector("span") ?? document.createElement("span");
  text.textContent = words;
  if (had) return;
  const box = document.createElement("p");
  box.className = "busy";
  box.setAttribute("role", "status");
  const end = document.createElement("button");
  end.type = "button";
  end.textContent = "End this";
  end.addEventListener("click", () => cancel("trace"));
  box.append(text, ...(place.id === "power-trace" ? [end] : []));
  place.before(box);
}

/** Draws the places of the likeliest suspects below them. */
async function suspects() {
  const button = document.getElementById("show-suspects");
  if (!button) return;
  button.textContent = "Drawing …";
  try {
    const found = await ask("suspects");
    const image = new Image();
    image.className = "suspects-picture";
    image.alt = "The wiring side: a ring around each joint to look at first.";
    image.src = URL.createObjectURL(new Blob([found.svg], { type: "image/svg+xml" }));
    button.replaceWith(image);
  } catch (error) {
    if (error instanceof Told) showError(error.lines);
    button.textContent = "Show the likeliest places on the drawing";
  }
}

/** @param {string} what @param {(side: {words: string}) => string} words */
function tellBusy(what, words) {
  const side = Object.values(SIDES).find((each) => each.what === what);
  const place = side && document.getElementById(side.place);
  if (side && place?.getAttribute("aria-busy") === "true") busy(place, words(side));
}

on("progress", (message) => tellBusy(message.what, () => `Working out ${message.words} …`));
on("waits", (message) => tellBusy(message.what, (side) => (message.for ? `It waits for ${message.for} …` : `${side.words} …`)));
