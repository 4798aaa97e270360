// What every page has: how the link to the server stands, errors in four lines, light and letters.
import { on, Told } from "./link.js";
import { look } from "./look.js";

const strip = /** @type {HTMLElement} */ (document.getElementById("link"));
const told = /** @type {HTMLElement} */ (document.getElementById("told"));

on("link", (message) => {
  const words = [];
  if (!message.open) words.push("No connection to the bench: trying again.");
  if (message.unsaved) words.push(`${message.unsaved} not stored yet; kept in this tab.`);
  strip.textContent = words.join(" ");
  strip.hidden = words.length === 0 || (message.open && message.unsaved < 1);
  document.documentElement.classList.toggle("unlinked", !message.open);
});
on("trouble", (message) => showError(message.error));

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

/** Waits for something asked; shows the error where there is no answer, and returns undefined.
 * @template T @param {Promise<T>} asked @returns {Promise<T | undefined>} */
export async function orShow(asked) {
  try {
    return await asked;
  } catch (error) {
    if (!(error instanceof Told)) throw error;
    showError(error.lines);
    return undefined;
  }
}

look();
