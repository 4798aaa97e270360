// Photos: sent as they are taken, again and again until the server has them, after a reload too; shown from the log.

import { showError } from "./bench.js";
import { build, copy } from "./link.js";
import { dropPhoto, keepPhoto, keptPhotos } from "./photos_kept.js";

/** @typedef {{file: string, text: string, since: string, there: boolean}} Photo */
/** @typedef {{about: string, text: string}} Words */
/** @typedef {import("./photos_kept.js").KeptPhoto} KeptPhoto */

const MOST_BYTES = 12 * 1024 * 1024;
const KINDS = ["image/jpeg", "image/png", "image/webp"];
const MOST_PIXELS = 2560; // of the longer side of a picture that has to be made smaller
const AGAIN_MS = 3000;

const list = /** @type {HTMLElement} */ (document.getElementById("photos"));
const sending = /** @type {HTMLElement} */ (document.getElementById("sending"));
/** What is not stored yet, and whether a reload would find it. @type {Map<string, boolean>} */
const waiting = new Map();
let chain = Promise.resolve();

/** Takes what a file field has been given. @param {HTMLInputElement} field @param {() => Words} words */
export function watchField(field, words) {
  field.addEventListener("change", () => {
    const said = words();
    for (const picture of field.files ?? []) {
      const cid = Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, "0")).join("");
      void send({ cid, build, copy, ...said, name: picture.name, picture }, false);
    }
    field.value = "";
  });
}

/** Takes up what was not stored when a page of this bench was left. */
export async function takeUpPhotos() {
  for (const photo of await keptPhotos()) if (!waiting.has(photo.cid)) void send(photo, true);
}

/** @param {KeptPhoto} photo @param {boolean} kept */
async function send(photo, kept) {
  waiting.set(photo.cid, kept);
  tell("");
  chain = chain.then(() => sendUntilKept(photo));
  if (kept || !(await keepPhoto(photo))) return;
  if (waiting.has(photo.cid)) waiting.set(photo.cid, true);
  else await dropPhoto(photo.cid); // it was quicker
  if (waiting.size) tell("");
}

/** Returns a picture that the server takes; what it would not take is drawn anew, smaller. @param {Blob} file */
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

/** @param {KeptPhoto} photo */
async function sendUntilKept(photo) {
  const { cid, build: of, copy: serial, about, text, name } = photo;
  const address = `/build/${of}/photos?${new URLSearchParams({ cid, copy: serial, about, text })}`;
  /** @type {Blob} */
  let picture;
  try {
    picture = await prepared(photo.picture);
  } catch {
    showError({ what: `${name} cannot be read`, found: photo.picture.type || "no known kind", wanted: "a picture", do: "save it as JPEG" });
    return settle(cid, "");
  }
  for (;;) {
    const answer = await sent(picture, address);
    if (answer && !answer.keep) {
      if (answer.error) showError(answer.error);
      return settle(cid, answer.error ? "" : "The photo is stored.");
    }
    if (answer?.error) showError(answer.error);
    tell("It could not be stored yet; trying again.");
    await new Promise((later) => setTimeout(later, AGAIN_MS));
  }
}

/** @param {Blob} picture @param {string} address @returns {Promise<{error?: import("./link.js").FourLines, keep?: boolean} | undefined>} */
async function sent(picture, address) {
  try {
    const response = await fetch(address, { method: "POST", headers: { "content-type": picture.type }, body: picture });
    if (response.status === 404) return { error: { ...NOT_HERE, found: address.split("/")[2] ?? "" } };
    return await response.json();
  } catch {
    return undefined; // no server there, or one that does not let this device in
  }
}

const NOT_HERE = {
  what: "a photo could not be stored",
  wanted: "a build that is on this bench",
  do: "take it again on the Work page of the build it belongs to",
};

/** @param {string} cid @param {string} words */
function settle(cid, words) {
  waiting.delete(cid);
  void dropPhoto(cid);
  tell(words);
}

/** @param {string} words */
function tell(words) {
  const count = waiting.size > 1 ? `${waiting.size} photos are` : "The photo is";
  const kept = [...waiting.values()].every((each) => each) ? "until then this browser keeps it" : "leave this page open";
  sending.textContent = waiting.size ? `${count} being stored; ${kept}. ${words}`.trim() : words;
}

addEventListener("beforeunload", (event) => {
  if ([...waiting.values()].some((kept) => !kept)) event.preventDefault();
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
