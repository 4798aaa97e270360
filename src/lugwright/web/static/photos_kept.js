// Photos that are not stored yet: this browser keeps them over a reload, so many and no more.

/** @typedef {{cid: string, build: string, copy: string, about: string, text: string, name: string, picture: Blob}} KeptPhoto */

const MOST = 24;
const MOST_BYTES = 150 * 1024 * 1024; // of all together
const STORE = "photos";

/** @template T @param {IDBRequest<T>} request @returns {Promise<T>} */
function answered(request) {
  return new Promise((found, failed) => {
    request.onsuccess = () => found(request.result);
    request.onerror = () => failed(request.error);
  });
}

/** @template T @param {IDBTransactionMode} mode @param {(store: IDBObjectStore) => IDBRequest<T>} ask @returns {Promise<T>} */
async function inStore(mode, ask) {
  const opening = indexedDB.open("lugwright", 1);
  opening.onupgradeneeded = () => opening.result.createObjectStore(STORE, { keyPath: "cid" });
  const database = await answered(opening);
  try {
    const transaction = database.transaction(STORE, mode);
    const done = new Promise((whole, failed) => {
      transaction.oncomplete = whole;
      transaction.onabort = () => failed(transaction.error);
    });
    const found = await answered(ask(transaction.objectStore(STORE)));
    await done;
    return found;
  } finally {
    database.close();
  }
}

/** Keeps a photo; returns whether a reload would find it. @param {KeptPhoto} photo */
export async function keepPhoto(photo) {
  try {
    const held = await keptPhotos();
    const bytes = held.reduce((sum, each) => sum + each.picture.size, photo.picture.size);
    if (held.length >= MOST || bytes > MOST_BYTES) return false;
    await inStore("readwrite", (store) => store.put(photo));
    return true;
  } catch {
    return false; // a browser that keeps nothing, or a full disk
  }
}

/** Forgets a photo that is stored, or never will be. @param {string} cid */
export async function dropPhoto(cid) {
  await inStore("readwrite", (store) => store.delete(cid)).catch(() => {}); // then it was not kept
}

/** The photos that are kept. @returns {Promise<KeptPhoto[]>} */
export async function keptPhotos() {
  return inStore("readonly", (store) => store.getAll()).catch(() => []);
}
