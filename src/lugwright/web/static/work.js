// The Work page: what is ticked here is shown as ticked once the server has stored it.

import { openCard, watchCards } from "./job_cards.js";
import { showLog, watchJournal } from "./journal.js";
import { ask, build, on, Told } from "./link.js";
import { showPhotos } from "./photos.js";
import { apply, showHalt } from "./work_state.js";
import { watchTicks } from "./work_ticks.js";

const MINUTE_MS = 60_000;
const main = /** @type {HTMLElement} */ (document.getElementById("main"));
let asking = false;
let again = false;

/** Asks how things stand, and once more where something has changed meanwhile. */
async function refresh() {
  again = true;
  if (asking) return;
  asking = true;
  while (again) {
    again = false;
    try {
      const [state, log, photos] = await Promise.all([ask("work state"), ask("log tail"), ask("photos")]);
      apply(state);
      showLog(log);
      showPhotos(photos);
    } catch (error) {
      if (!(error instanceof Told)) throw error;
      showHalt(error.lines);
    }
  }
  asking = false;
}

/** Puts the card on top that is to be done next; done only when it is asked for, so that nothing moves under a finger. */
function goOn() {
  const now = /** @type {HTMLElement} */ (document.getElementById("now"));
  const next = main.querySelector(`.job[data-card="${main.dataset.next ?? ""}"]`);
  if (!next) return;
  const last = now.querySelector(".job");
  if (last instanceof HTMLElement && last !== next) putBack(last);
  now.append(next);
  openCard(next, true);
  /** @type {HTMLElement} */ (document.getElementById("go-on")).hidden = true;
  /** @type {HTMLElement} */ (document.getElementById("now-title")).textContent = "Next";
  /** @type {HTMLElement} */ (next.querySelector(".job-head")).focus();
}

/** Puts a card where it belongs among the others. @param {HTMLElement} card */
function putBack(card) {
  const cards = /** @type {HTMLElement} */ (document.getElementById("cards"));
  const number = Number(card.dataset.card);
  const after = [...cards.children].find((each) => each instanceof HTMLElement && Number(each.dataset.card) > number);
  cards.insertBefore(card, after ?? null);
  openCard(card, false);
}

function showWhich() {
  const which = /** @type {HTMLSelectElement} */ (document.getElementById("which")).value;
  main.dataset.which = which;
  for (const each of document.querySelectorAll("#cards .job")) {
    const card = /** @type {HTMLElement} */ (each);
    card.hidden = which !== "all" && (which === "done") !== (card.dataset.state === "done");
  }
}

on("changed", (message) => {
  if (message.build === build) refresh();
});
on("stored", () => refresh());
setInterval(() => {
  if (document.visibilityState === "visible") refresh(); // how long ago things were is another time now
}, MINUTE_MS);
watchCards();
watchTicks();
watchJournal();
document.getElementById("go-on")?.addEventListener("click", goOn);
document.getElementById("which")?.addEventListener("change", showWhich);
document.getElementById("print")?.addEventListener("click", () => print());
addEventListener("beforeprint", () => {
  const top = document.querySelector("#now .job");
  if (!(top instanceof HTMLElement)) return;
  const open = top.querySelector(".job-head")?.getAttribute("aria-expanded") === "true";
  putBack(top); // on paper they stand in their order
  addEventListener(
    "afterprint",
    () => {
      document.getElementById("now")?.append(top);
      openCard(top, open);
    },
    { once: true },
  );
});
document.getElementById("reload")?.addEventListener("click", () => location.reload());
addEventListener("hashchange", openNamed);
openNamed();

/** Opens the card that the address names. */
function openNamed() {
  const card = location.hash.startsWith("#card-") ? document.getElementById(location.hash.slice(1)) : null;
  if (card) openCard(card, true);
  card?.scrollIntoView();
}
