// What this tab has to have done and does not know to be done: kept over a reload.

/** @typedef {{t: "deed" | "errand", cid: string, what: string, build: string, copy: string, args: object}} Deed */

/** Deeds in the order they were done: the first is sent until it is answered, only then the next. Or errands, which
 * take long: all of them are sent at once. */
export class Outbox {
  /** @param {Pick<Storage, "getItem" | "setItem"> | undefined} storage none where the browser keeps nothing
   * @param {"deed" | "errand"} [kind] */
  constructor(storage, kind = "deed") {
    this.storage = storage;
    this.kind = kind;
    /** Whether a reload of the tab would find them again. */
    this.kept = storage !== undefined;
    /** @type {Map<string, Deed>} */
    this.deeds = new Map();
    for (const deed of this.#found()) this.deeds.set(deed.cid, deed);
  }

  get #key() {
    return `${this.kind}s`;
  }

  /** @returns {Deed[]} */
  #found() {
    try {
      const found = JSON.parse(this.storage?.getItem(this.#key) ?? "[]");
      return Array.isArray(found) ? found.filter((each) => isDeed(each, this.kind)) : [];
    } catch {
      return [];
    }
  }

  /** @param {string} what @param {string} build @param {string} copy @param {object} args @returns {Deed} */
  add(what, build, copy, args) {
    const cid = Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
    /** @type {Deed} */
    const deed = { t: this.kind, cid, what, build, copy, args };
    this.deeds.set(cid, deed);
    this.#keep();
    return deed;
  }

  /** Forgets one: it is stored, or never to be. Returns it, nothing where it was not here.
   * @param {string} cid */
  drop(cid) {
    const deed = this.deeds.get(cid);
    this.deeds.delete(cid);
    this.#keep();
    return deed;
  }

  /** The one that is to be answered first. */
  get first() {
    return /** @type {Deed | undefined} */ (this.deeds.values().next().value);
  }

  get size() {
    return this.deeds.size;
  }

  #keep() {
    try {
      this.storage?.setItem(this.#key, JSON.stringify([...this.deeds.values()]));
      this.kept = this.storage !== undefined;
    } catch {
      this.kept = false; // full, or forbidden: they are in this page alone
    }
  }
}

/** @param {unknown} found @param {string} kind @returns {found is Deed} */
function isDeed(found, kind) {
  const deed = /** @type {Partial<Deed> | null} */ (found);
  return typeof deed === "object" && deed !== null && deed.t === kind && /^[0-9a-f]{32}$/.test(deed.cid ?? "");
}

/** The storage of this tab, none where the browser does not allow it. */
export function tabStorage() {
  try {
    return window.sessionStorage;
  } catch {
    return undefined;
  }
}
