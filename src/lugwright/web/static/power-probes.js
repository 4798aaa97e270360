// Where the tips of the meter are held, drawn beside the step; on a narrow page right behind the row.
import { orShow } from "./bench.js";
import { ask } from "./link.js";

const box = /** @type {HTMLElement} */ (document.getElementById("probes"));
const home = /** @type {HTMLElement} */ (box.parentElement);
const words = /** @type {HTMLElement} */ (document.getElementById("probe-words"));
const picture = /** @type {HTMLElement} */ (document.getElementById("probe-picture"));
const wholeButton = /** @type {HTMLButtonElement} */ (document.getElementById("probe-whole"));
const narrow = matchMedia("(max-width: 59.99rem)");
/** @type {{form: HTMLFormElement, place: string} | undefined} */
let shown;
let number = 0;
let whole = false;

/** Shows where a reading is taken. `follow`: also where the picture has no place of its own.
 * @param {HTMLFormElement} form @param {{follow: boolean}} how */
export function showPlace(form, { follow }) {
  if (narrow.matches && !follow) return;
  const place = `${form.dataset.red}|${form.dataset.black}`;
  if (shown?.place === place && shown.form === form && !box.hidden && follow && narrow.matches) {
    box.hidden = true;
    shown = undefined;
    return;
  }
  const again = shown?.place === place;
  shown = { form, place };
  if (narrow.matches) form.after(box);
  else if (box.parentElement !== home) home.prepend(box);
  if (!again) void draw();
}

async function draw() {
  if (!shown) return;
  const { red, black, words: point } = shown.form.dataset;
  const mine = ++number;
  const found = await orShow(ask("probes", { red, black, whole }));
  if (!found || mine !== number) return;
  words.replaceChildren(line("Reading: ", point ?? ""), line("Red tip: ", found.red), line("Black tip: ", found.black));
  box.hidden = false;
  wholeButton.hidden = !found.svg;
  picture.replaceChildren();
  if (!found.svg) return;
  const image = new Image();
  image.alt = `The wiring side around ${found.red}: red tip there, black tip at ${found.black}.`;
  image.src = URL.createObjectURL(new Blob([found.svg], { type: "image/svg+xml" }));
  image.addEventListener("load", () => URL.revokeObjectURL(image.src));
  picture.replaceChildren(image);
}

/** @param {string} head @param {string} rest */
function line(head, rest) {
  const row = document.createElement("span");
  const bold = document.createElement("b");
  bold.textContent = head;
  row.append(bold, rest);
  return row;
}

wholeButton.addEventListener("click", () => {
  whole = !whole;
  wholeButton.setAttribute("aria-pressed", String(whole));
  void draw();
});
