// Job cards that open and close; the drawing of a card is asked for when the card is opened.

import { ask } from "./link.js";
import { orShow } from "./bench.js";

const MOST_WIDE_MM = 90; // on paper; what is as wide fills the column, smaller drawings less of it

/** Opens the card on top at once, and any other when its head is pressed. */
export function watchCards() {
  document.addEventListener("click", (event) => {
    const head = event.target instanceof Element ? event.target.closest(".job-head") : null;
    const card = head?.closest(".job");
    if (card) openCard(card, head?.getAttribute("aria-expanded") === "false");
  });
  for (const event of ["pointerover", "focusin"]) document.addEventListener(event, lightUp);
  for (const card of document.querySelectorAll("#now .job")) openCard(card, true);
}

/** @param {Element} card @param {boolean} open */
export function openCard(card, open) {
  card.querySelector(".job-head")?.setAttribute("aria-expanded", String(open));
  const body = card.querySelector(".job-body");
  if (body instanceof HTMLElement) body.hidden = !open;
  const slot = card.querySelector("[data-drawing]");
  if (open && slot instanceof HTMLElement) draw(Number(/** @type {HTMLElement} */ (card).dataset.card), slot);
}

/** @param {number} number @param {HTMLElement} slot */
async function draw(number, slot) {
  if (slot.dataset.drawing) return;
  slot.dataset.drawing = "asked";
  /** @type {string[] | undefined} */
  const drawings = await orShow(ask("card drawing", { number }));
  slot.removeAttribute("aria-busy");
  if (!drawings) {
    slot.dataset.drawing = "";
    slot.textContent = "The drawing could not be made.";
    return;
  }
  const sheets = drawings.map((svg, k) => sheet(svg, `Drawing of card ${number}, ${k + 1} of ${drawings.length}`));
  const larger = document.createElement("button");
  larger.type = "button";
  larger.textContent = "Larger";
  larger.setAttribute("aria-pressed", "false");
  larger.addEventListener("click", () => {
    larger.setAttribute("aria-pressed", String(slot.classList.toggle("large")));
  });
  slot.replaceChildren(...sheets, larger);
}

/** @param {string} svg @param {string} name */
function sheet(svg, name) {
  const drawn = document.importNode(new DOMParser().parseFromString(svg, "image/svg+xml").documentElement, true);
  for (const each of drawn.querySelectorAll("[id]")) each.removeAttribute("id"); // other cards draw the same wires
  const paperMm = Number.parseFloat(drawn.getAttribute("width") ?? "") || MOST_WIDE_MM;
  drawn.removeAttribute("width");
  drawn.removeAttribute("height");
  drawn.setAttribute("role", "img");
  drawn.setAttribute("aria-label", name);
  const frame = document.createElement("div");
  frame.className = "sheet";
  frame.tabIndex = 0;
  frame.setAttribute("role", "group");
  frame.setAttribute("aria-label", name);
  frame.style.setProperty("--share", `${Math.min(100, (100 * paperMm) / MOST_WIDE_MM)}%`);
  frame.append(drawn);
  return frame;
}

/** Lights up what a box is about in the drawing of its card. @param {Event} event */
function lightUp(event) {
  const label = event.target instanceof Element ? event.target.closest(".job .tick") : null;
  for (const lit of document.querySelectorAll(".drawing .lit")) lit.classList.remove("lit");
  const box = label?.querySelector("input");
  const drawing = label?.closest(".job")?.querySelector(".drawing");
  if (!box || !drawing) return;
  const part = (box.dataset.lead ?? "").split(".")[0] ?? "";
  const selectors = box.dataset.joint
    ? [`[data-terminal="${CSS.escape(box.dataset.joint)}"]`]
    : [`.new [data-wire="${CSS.escape(part)}"]`, `.new [data-part="${CSS.escape(part)}"]`];
  for (const each of drawing.querySelectorAll(selectors.join(","))) each.classList.add("lit");
}
