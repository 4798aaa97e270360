// The book: made when asked, with how far it is, and stopped when asked. It goes on when the page is left.
import { orShow } from "./bench.js";
import { cancel, errand, on, underWay } from "./link.js";
import { refetch } from "./refetch.js";

const WHAT = "make book";
const form = /** @type {HTMLFormElement} */ (document.getElementById("make"));
const stop = /** @type {HTMLButtonElement} */ (document.getElementById("stop"));
const make = /** @type {HTMLButtonElement} */ (form.querySelector("[type=submit]"));
const shown = /** @type {HTMLElement} */ (document.getElementById("under-way"));
const words = /** @type {HTMLElement} */ (shown.querySelector("p"));
const bar = /** @type {HTMLProgressElement} */ (shown.querySelector("progress"));
let stopped = false;

/** @param {boolean} busy */
function show(busy) {
  shown.hidden = !busy;
  stop.hidden = !busy;
  make.disabled = busy;
}

/** Shows how far the book is until it is made. @param {Promise<any>} book */
async function follow(book) {
  stopped = false;
  words.textContent = "Making the book.";
  bar.value = 0;
  show(true);
  if (await orShow(book)) await refetch("made");
  const held = document.activeElement === stop;
  show(false);
  if (held) make.focus();
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  void follow(errand(WHAT, { paper: new FormData(form).get("paper") }));
  stop.focus();
});

stop.addEventListener("click", () => {
  stopped = true;
  words.textContent = "Stopping.";
  cancel(WHAT);
});

on("progress", (message) => {
  if (message.what !== WHAT || stopped) return;
  words.textContent = `Making the book: ${message.words}.`;
  bar.value = message.share;
});
on("waits", (message) => {
  if (message.what === WHAT && !stopped) words.textContent = message.for ? `The book waits for ${message.for}.` : "Making the book.";
});
on("changed", () => void refetch("made"));
const before = underWay(WHAT);
if (before) void follow(before.answer);
