// What every page has: how the link to the server stands, errors in four lines, light and letters.
import { giveUp, on, Told } from "./link.js";
import { look } from "./look.js";

const strip = /** @type {HTMLElement} */ (document.getElementById("link"));
const LATE_MS = 600; // what is stored sooner is not told of
const told = /** @type {HTMLElement} */ (document.getElementById("told"));

/** @type {number | undefined} */
let late;
let lastKept = "";
on("link", (message) => {
  clearTimeout(late);
  document.documentElement.classList.toggle("unlinked", !message.open);
  if (message.unsaved === 0) {
    told.querySelector(".kept")?.remove();
    lastKept = "";
  }
  if (message.open && message.unsaved > 0) late = setTimeout(showLink, LATE_MS, message);
  else showLink(message);
});

/** @param {import("./link.js").Message} message */
function showLink(message) {
  const words = [];
  if (!message.paired) words.push("This device is not paired any more: load the page again, and give a new code.");
  else if (!message.open) words.push("No connection to the bench: trying again.");
  if (message.unsaved) {
    const where = message.kept ? "kept in this tab" : "leave this page open: the browser keeps nothing";
    words.push(`${message.unsaved} not stored yet; ${where}.`);
  }
  strip.textContent = words.join(" ");
  strip.hidden = words.length === 0;
}

on("trouble", (message) => {
  if (message.cid) showKept(message.error, message.cid);
  else showError(message.error);
});

/** Shows why a deed could not be stored yet; it is tried again until it is, or until its doer gives it up.
 * @param {import("./link.js").FourLines} lines @param {string} cid */
function showKept(lines, cid) {
  const now = JSON.stringify([lines, cid]);
  if (now === lastKept) return; // shown, or put away by hand
  lastKept = now;
  showError(lines);
  const box = /** @type {HTMLElement} */ (told.querySelector(".refused"));
  box.classList.add("kept");
  const words = document.createElement("p");
  words.textContent = "It is kept and tried again every two seconds. What you did after it waits for it.";
  const stop = document.createElement("button");
  stop.type = "button";
  stop.textContent = "Do not store it";
  stop.addEventListener("click", () => {
    box.remove();
    giveUp(cid);
  });
  box.querySelector("dl")?.after(words);
  box.append(" ", stop);
}

/** Shows an error until it is put away.
 * @param {import("./link.js").FourLines} lines */
export function showError(lines) {
  const box = document.createElement("section");
  box.className = "refused";
  const head = document.createElement("h2");
  head.textContent = lines.what;
  const list = document.createElement("dl");
  for (const name of /** @type {const} */ (["found", "wanted", "do"])) {
    const term = document.createElement("dt");
    const words = document.createElement("dd");
    term.textContent = name;
    words.textContent = lines[name];
    list.append(term, words);
  }
  const away = document.createElement("button");
  away.type = "button";
  away.textContent = "Put away";
  away.addEventListener("click", () => box.remove());
  box.append(head, list, away);
  told.replaceChildren(box);
}

/** Waits for something asked; shows the error where there is no answer, and returns undefined. What was stopped by hand
 * is no error.
 * @template T @param {Promise<T>} asked @returns {Promise<T | undefined>} */
export async function orShow(asked) {
  try {
    return await asked;
  } catch (error) {
    if (!(error instanceof Told)) throw error;
    if (!error.stopped) showError(error.lines);
    return undefined;
  }
}

look();
