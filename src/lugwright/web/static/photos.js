// Photos: sent as they are taken, again and again until the server has them; shown from the log.

import { showError } from "./bench.js";
import { build, copy } from "./link.js";

/** @typedef {{file: string, text: string, since: string, there: boolean}} Photo */
/** @typedef {{about: string, text: string}} Words */

const MOST_BYTES = 12 * 1024 * 1024;
const KINDS = ["image/jpeg", "image/png", "image/webp"];
const MOST_PIXELS = 2560; // of the longer side of a picture that has to be made smaller
const AGAIN_MS = 3000;

const list = /** @type {HTMLElement} */ (document.getElementById("photos"));
const sending = /** @type {HTMLElement} */ (document.getElementById("sending"));
let waiting = 0;
let chain = Promise.resolve();

/** Takes what a file field has been given. @param {HTMLInputElement} field @param {() => Words} words */
export function watchField(field, words) {
  field.addEventListener("change", () => {
    const said = words();
    for (const file of field.files ?? []) {
      waiting += 1;
      chain = chain.then(() => keep(file, said));
    }
    field.value = "";
    tell("");
  });
}

/** @param {File} file @param {Words} words */
async function keep(file, words) {
  try {
    const picture = await prepared(file);
    const cid = Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");
    await sendUntilKept(picture, `/build/${build}/photos?${new URLSearchParams({ cid, copy, ...words })}`);
  } catch {
    showError({ what: `${file.name} cannot be read`, found: file.type || "no known kind", wanted: "a picture", do: "save it as JPEG" });
  }
  waiting -= 1;
  tell(waiting ? "" : "The photo is stored.");
}

/** Returns a picture that the server takes; what it would not take is drawn anew, smaller. @param {File} file */
async function prepared(file) {
  if (KINDS.includes(file.type) && file.size <= MOST_BYTES) return file;
  const bitmap = await createImageBitmap(file);
  const share = Math.min(1, MOST_PIXELS / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(bitmap.width * share);
  canvas.height = Math.round(bitmap.height * share);
  canvas.getContext("2d")?.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  /** @type {Blob} */
  const blob = await new Promise((found, failed) => {
    canvas.toBlob((made) => (made ? found(made) : failed(new Error("no picture"))), "image/jpeg", 0.88);
  });
  return blob;
}

/** @param {Blob} picture @param {string} address */
async function sendUntilKept(picture, address) {
  for (;;) {
    const answer = await sent(picture, address);
    if (answer && !answer.keep) {
      if (answer.error) showError(answer.error);
      return;
    }
    if (answer?.error) showError(answer.error);
    tell("It could not be stored yet; trying again.");
    await new Promise((later) => setTimeout(later, AGAIN_MS));
  }
}

/** @param {Blob} picture @param {string} address */
async function sent(picture, address) {
  try {
    const response = await fetch(address, { method: "POST", headers: { "content-type": picture.type }, body: picture });
    return await response.json();
  } catch {
    return undefined; // no server there
  }
}

/** @param {string} words */
function tell(words) {
  const count = waiting > 1 ? `${waiting} photos are` : "The photo is";
  sending.textContent = waiting ? `${count} being stored; leave this page open. ${words}`.trim() : words;
}

addEventListener("beforeunload", (event) => {
  if (waiting > 0) event.preventDefault();
});

/** Shows the pictures that the log names. @param {Photo[]} photos */
export function showPhotos(photos) {
  const now = JSON.stringify(photos.map(({ file, text, there }) => [file, text, there]));
  if (list.dataset.shown === now) return;
  list.dataset.shown = now;
  list.replaceChildren(...photos.map(item));
}

/** @param {Photo} photo */
function item(photo) {
  const row = document.createElement("li");
  const words = document.createElement("span");
  words.textContent = photo.text || photo.file;
  if (photo.there) {
    const link = document.createElement("a");
    link.href = `/build/${build}/photos/${encodeURIComponent(photo.file)}`;
    const image = document.createElement("img");
    image.src = link.href;
    image.alt = photo.text || photo.file;
    image.loading = "lazy";
    link.append(image);
    row.append(link, words);
  } else {
    words.textContent += " (the file is not beside the build)";
    row.append(words);
  }
  return row;
}
