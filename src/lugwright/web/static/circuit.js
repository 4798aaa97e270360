// The circuit page: what is pointed at, the card, and the address that names what is chosen.
import { ask, on } from "./link.js";
import { orShow } from "./bench.js";
import { areasOf, bring, light, pointing } from "./circuit-pointing.js";
import { cardOf, made } from "./circuit-card.js";
import { Plates } from "./circuit-plates.js";
import { Studies } from "./circuit-studies.js";
import { Trials } from "./circuit-trials.js";

/** @typedef {import("./circuit-pointing.js").Thing} Thing */
/** @typedef {import("./circuit-card.js").Facts} Facts */

const side = /** @type {HTMLElement} */ (document.querySelector(".drawn-side"));
const card = /** @type {HTMLElement} */ (document.getElementById("card"));
const find = /** @type {HTMLFormElement} */ (document.getElementById("find"));
const findName = /** @type {HTMLInputElement} */ (document.getElementById("find-name"));

const trials = new Trials();
const plates = new Plates(/** @type {HTMLDetailsElement} */ (document.getElementById("plates")));
const studies = new Studies([...document.querySelectorAll("details.study")]);
trials.plates = (changes) => {
  plates.tried(changes);
  studies.tried(changes);
};
/** @type {Facts | undefined} */
let facts;
/** @type {Thing | undefined} */
let chosen;
/** @type {Thing | undefined} */
let near;
let underMouse = false;

/** Shows what is pointed at, else what is chosen. */
function show() {
  const thing = near ?? chosen;
  light(near, "near");
  light(chosen, "chosen");
  card.hidden = !thing || !facts;
  card.classList.toggle("passing", near !== undefined && underMouse); // it must not come between the mouse and the part
  if (thing && facts) {
    card.replaceChildren(...cardOf(thing, facts, { show: leaf, away, attempt: (part) => trials.attempt(part) }));
  }
}

/** @param {Thing} thing */
function choose(thing) {
  chosen = thing;
  near = undefined;
  history.replaceState(null, "", `#${thing.kind}=${encodeURIComponent(thing.name)}`);
  show();
}

/** Goes on to something that the card names; the focus stays in the card. @param {Thing} thing */
function leaf(thing) {
  choose(thing);
  card.querySelector("h3")?.focus();
}

function away() {
  const was = areasOf(chosen).find((area) => area.getAttribute("tabindex") === "0") ?? areasOf(chosen)[0];
  was?.focus({ preventScroll: true });
  chosen = near = undefined;
  history.replaceState(null, "", location.pathname + location.search);
  show();
}

/** Shows what the address names. */
function fromAddress() {
  const folded = document.getElementById(location.hash.slice(1));
  if (folded instanceof HTMLDetailsElement) folded.open = true;
  const named = /^#(part|joint)=(.+)$/.exec(location.hash);
  if (!named || !named[1] || !named[2]) return;
  const thing = /** @type {Thing} */ ({ kind: named[1], name: decodeURIComponent(named[2]) });
  bring(thing);
  choose(thing);
}

async function learn() {
  facts = await orShow(ask("circuit facts"));
  if (!card.contains(document.activeElement)) show();
  if (facts) trials.learn(facts);
  plates.again();
  studies.again();
}

pointing(side, (thing, byMouse) => {
  near = thing;
  underMouse = byMouse;
  show();
}, choose);
find.addEventListener("submit", (event) => {
  event.preventDefault();
  const wanted = findName.value.trim();
  for (const kind of /** @type {const} */ (["part", "joint"])) {
    const thing = { kind, name: wanted };
    if (areasOf(thing).length) {
      bring(thing);
      choose(thing);
      return;
    }
  }
  card.hidden = false;
  card.replaceChildren(made("p", "", `Nothing drawn here is called ${wanted || "that"}. Names are as in the build file: R3, V1, B+2.`));
});
addEventListener("hashchange", fromAddress);
/** @type {ReturnType<typeof setTimeout> | undefined} */
let soon;
on("changed", (message) => {
  if (message.kind === "link" && !facts) return; // the first questions are on their way
  if (message.kind === "file") {
    trials.keep();
    location.reload();
    return;
  }
  clearTimeout(soon);
  soon = setTimeout(() => void learn(), 400);
});
await learn();
fromAddress();
