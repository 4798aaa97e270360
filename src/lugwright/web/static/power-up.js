// The power-up page: the step that is shown, readings typed into it, and what they mean at once.
import { orShow } from "./bench.js";
import { ask, build, copy, deed, on } from "./link.js";
import { tabStorage } from "./outbox.js";
import { showPlace } from "./power-probes.js";
import { refreshSide, sideBySide } from "./power-side.js";
import { renew } from "./renew.js";

const doing = /** @type {HTMLElement} */ (document.getElementById("power-doing"));
const main = /** @type {HTMLElement} */ (document.getElementById("main"));
const LOOKED = `looked at ${build} ${copy}`;
/** Lines of a step that were looked at, kept while this tab lives. @type {Set<string>} */
const looked = new Set(lookedBefore());
/** @type {Promise<void> | undefined} */
let asking;
/** @type {Promise<void> | undefined} */
let again;

/** Which step the address asks for, else the one that is shown; "" the next one. */
function wantedStep() {
  return location.hash.startsWith("#step=") ? decodeURIComponent(location.hash.slice(6)) : (main.dataset.step ?? "");
}

/** Shows where the power-up stands now. One question at a time: what changes meanwhile is asked for once, afterwards.
 * @returns {Promise<void>} */
function refresh() {
  if (!asking) {
    asking = askAndShow().finally(() => (asking = undefined));
    return asking;
  }
  again ??= asking.then(() => {
    again = undefined;
    return refresh();
  });
  return again;
}

async function askAndShow() {
  const wanted = wantedStep();
  const found = await orShow(ask("power up", { step: wanted }));
  doing.hidden = true;
  if (!found || wanted !== wantedStep()) return;
  for (const [id, html] of Object.entries(found.parts)) {
    const place = document.getElementById(id);
    if (place) renew(place, /** @type {string} */ (html));
  }
  tickLooked();
  main.dataset.step = found.step;
  main.dataset.ready = "yes";
}

/** @returns {string[]} */
function lookedBefore() {
  try {
    const found = JSON.parse(tabStorage()?.getItem(LOOKED) ?? "[]");
    return Array.isArray(found) ? found.filter((line) => typeof line === "string") : [];
  } catch {
    return [];
  }
}

function keepLooked() {
  try {
    tabStorage()?.setItem(LOOKED, JSON.stringify([...looked]));
  } catch {
    // full: they are ticked in this page alone
  }
}

/** Sets the boxes of lines that were looked at, and opens the button behind them when all are. */
function tickLooked() {
  const lines = /** @type {NodeListOf<HTMLInputElement>} */ (main.querySelectorAll("input.line"));
  // What the server says, not what is there: the box may have been that of another line.
  for (const line of lines) line.checked = line.defaultChecked || looked.has(line.dataset.line ?? "");
  const finish = /** @type {HTMLButtonElement | null} */ (main.querySelector("form.finish[data-by-line] .main-deed"));
  if (finish) finish.disabled = [...lines].some((line) => !line.checked);
}

/** Writes down what was typed into a row, and goes on to the next row that is to come.
 * @param {HTMLFormElement} form */
async function write(form) {
  const input = /** @type {HTMLInputElement} */ (form.elements.namedItem("value"));
  const value = input.value.trim();
  if (!value) return next(form);
  const pending = document.createElement("span");
  pending.className = "pending";
  pending.dataset.ours = "";
  pending.textContent = `… ${value} is not stored yet`;
  form.append(pending);
  input.value = "";
  next(form);
  const { step, point } = form.dataset;
  try {
    const judged = await orShow(deed("reading", { step, point, value }));
    if (judged) say(form, judged);
    else if (!input.value) input.value = value;
  } finally {
    pending.remove();
  }
}

/** Shows how a reading was judged, before the whole step is asked for anew.
 * @param {HTMLFormElement} form @param {{shown: string, verdict: string, mark: string, kind: string}} judged */
function say(form, judged) {
  const place = form.querySelector("output");
  if (!place) return;
  const verdict = document.createElement("b");
  verdict.textContent = judged.verdict;
  place.replaceChildren(`${judged.mark} ${judged.shown} `, verdict);
  (form.closest(".row") ?? form).setAttribute("class", `${form.closest(".row") ? "row" : "entry-line"} ${judged.kind}`);
}

/** @param {HTMLFormElement} form */
function next(form) {
  const rows = /** @type {HTMLElement[]} */ ([...main.querySelectorAll("#power-step .row")]);
  const here = rows.findIndex((row) => row.contains(form));
  if (here < 0) return;
  const after = rows.slice(here + 1).find((row) => row.classList.contains("to-come"));
  const input = /** @type {HTMLElement | null | undefined} */ (after?.querySelector("input"));
  input?.focus();
}

/** What a form of the page does. @type {Record<string, (form: HTMLFormElement, button: HTMLElement | null) => Promise<void>>} */
const DEEDS = {
  reading: (form) => write(form),
  "pass over": async (form) => {
    const reason = String(new FormData(form).get("reason") ?? "");
    if (await orShow(deed("pass over", { step: form.dataset.step, reason }))) form.reset();
    await refresh();
  },
  "step done": async (form, button) => {
    const undo = button instanceof HTMLButtonElement && button.name === "undo";
    const done = await orShow(deed("step done", { step: form.dataset.step, undo }));
    if (!done) return;
    if (undo || (done.next && done.next <= done.number)) await refresh();
    else await go("");
  },
  "as built": async (form) => {
    const said = new FormData(form);
    const what = String(said.get("what") ?? "").trim();
    const value = String(said.get("value") ?? "").trim();
    if (what && value && (await orShow(deed("as built", { what, value })))) form.reset();
  },
};

/** What a button of the page does without a form. @type {Record<string, (data: DOMStringMap) => object>} */
const TAPS = {
  reading: ({ step, point, value }) => ({ step, point, value }),
  "take reading back": ({ step, point }) => ({ step, point }),
  "as built back": ({ what }) => ({ what }),
  sign: ({ sign, seen }) => ({ sign, seen: seen === "yes" }),
  "sign back": ({ sign }) => ({ sign }),
};

/** Shows another step and puts the eye and the keyboard there. @param {string} hash */
async function go(hash) {
  history.replaceState(null, "", hash || `${location.pathname}${location.search}`);
  main.dataset.step = "";
  await refresh();
  const title = document.getElementById("step-title");
  title?.focus({ preventScroll: true });
  title?.scrollIntoView({ block: "start" });
}

/** Has done what a button says; until it is stored the button shows that it is not.
 * @param {HTMLElement} button @param {DOMStringMap} data */
async function tap(button, data) {
  const what = button.dataset.deed ?? "";
  button.setAttribute("aria-disabled", "true");
  await orShow(deed(what, TAPS[what]?.(data) ?? {}));
  button.removeAttribute("aria-disabled");
}

main.addEventListener("submit", (event) => {
  const form = /** @type {HTMLFormElement} */ (event.target);
  const what = DEEDS[form.dataset.deed ?? ""];
  if (!what) return;
  event.preventDefault();
  void what(form, /** @type {SubmitEvent} */ (event).submitter);
});

main.addEventListener("click", (event) => {
  const button = event.target instanceof Element ? event.target.closest("button, a") : null;
  if (!(button instanceof HTMLElement)) return;
  const form = button.closest("form");
  if (button.matches(".over") && form) {
    /** @type {HTMLInputElement} */ (form.elements.namedItem("value")).value = "OL";
    form.requestSubmit();
  } else if (button.matches(".where") && form) {
    showPlace(form, { follow: true });
  } else if (TAPS[button.dataset.deed ?? ""]) {
    void tap(button, { ...form?.dataset, ...button.dataset });
  } else if (button instanceof HTMLAnchorElement && button.hash.startsWith("#step=")) {
    event.preventDefault();
    void go(button.hash);
  } else if (button instanceof HTMLAnchorElement && button.getAttribute("href") === "#") {
    event.preventDefault();
    void go("");
  }
});

main.addEventListener("change", (event) => {
  if (!(event.target instanceof HTMLInputElement) || !event.target.matches("input.line")) return;
  const line = event.target.dataset.line ?? "";
  if (event.target.checked) looked.add(line);
  else looked.delete(line);
  keepLooked();
  tickLooked();
});

main.addEventListener("focusin", (event) => {
  const form = event.target instanceof HTMLInputElement && event.target.name === "value" ? event.target.form : null;
  if (form?.dataset.red) showPlace(form, { follow: false });
});

window.addEventListener("hashchange", () => void go(location.hash));
on("changed", () => void refresh().then(refreshSide));
on("progress", (message) => {
  if (message.what !== "power up" && message.what !== "reading") return;
  doing.textContent = `Working out ${message.words} …`;
  doing.hidden = false;
});
sideBySide();
void refresh();
