// The shelf: how far each build is, asked once the page stands, and again when somebody comes back to it.
import { ask, Told, whenever } from "./link.js";
import { drawing } from "./drawing.js";

/** @typedef {{picture: string, cards: number, cards_done: number, leads: number, leads_in: number, joints: number,
 *   soldered: number, next: string}} ShelfCard */

const cards = /** @type {HTMLElement[]} */ ([...document.querySelectorAll("[data-shelf]")]);

/** @param {HTMLElement} card @param {string} name */
function place(card, name) {
  return /** @type {HTMLElement | null} */ (card.querySelector(`[data-fill=${name}]`));
}

/** @param {HTMLElement} card @param {ShelfCard} told */
function fill(card, told) {
  const picture = place(card, "picture");
  picture?.replaceChildren(drawing(told.picture));
  picture?.classList.replace("empty", "sheet");
  const stands = place(card, "stands");
  if (stands) {
    stands.className = "";
    stands.textContent =
      `${told.cards_done} of ${told.cards} cards done, ${told.leads_in} of ${told.leads} leads in, ` +
      `${told.soldered} of ${told.joints} joints soldered.`;
  }
  const next = place(card, "next");
  if (next) next.textContent = told.next ? `Next: ${told.next}` : "Everything is in.";
}

/** @param {HTMLElement} card */
async function look(card) {
  const stands = place(card, "stands");
  if (!stands) return;
  try {
    fill(card, await ask("shelf card", {}, card.dataset.shelf));
  } catch (error) {
    if (!(error instanceof Told)) throw error;
    const picture = place(card, "picture");
    picture?.replaceChildren("no picture yet");
    picture?.classList.replace("sheet", "empty");
    stands.textContent = `${error.lines.what}: ${error.lines.do}`;
  }
}

async function lookAtAll() {
  for (const card of cards) await look(card);
}

whenever(() => void lookAtAll());
document.addEventListener("visibilitychange", () => {
  if (!document.hidden) void lookAtAll();
});
