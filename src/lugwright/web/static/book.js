// The book: made when asked, with how far it is, and stopped when asked.
import { showError } from "./bench.js";
import { ask, cancel, on, Told } from "./link.js";
import { refetch } from "./refetch.js";

const form = /** @type {HTMLFormElement} */ (document.getElementById("make"));
const stop = /** @type {HTMLButtonElement} */ (document.getElementById("stop"));
const make = /** @type {HTMLButtonElement} */ (form.querySelector("[type=submit]"));
const underWay = /** @type {HTMLElement} */ (document.getElementById("under-way"));
const words = /** @type {HTMLElement} */ (underWay.querySelector("p"));
const bar = /** @type {HTMLProgressElement} */ (underWay.querySelector("progress"));
let stopped = false;

/** @param {boolean} busy */
function show(busy) {
  underWay.hidden = !busy;
  stop.hidden = !busy;
  make.disabled = busy;
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  stopped = false;
  words.textContent = "Making the book: waiting for what was asked before.";
  bar.value = 0;
  show(true);
  stop.focus();
  try {
    await ask("make book", { paper: new FormData(form).get("paper") });
    await refetch("made");
  } catch (error) {
    if (!(error instanceof Told)) throw error;
    if (!stopped) showError(error.lines);
  } finally {
    show(false);
    make.focus();
  }
});

stop.addEventListener("click", () => {
  stopped = true;
  words.textContent = "Stopping.";
  cancel();
});

on("progress", (message) => {
  if (message.what !== "make book" || underWay.hidden || stopped) return;
  words.textContent = `Making the book: ${message.words}.`;
  bar.value = message.share;
});
on("changed", () => void refetch("made"));
