// Curves of what is tried: asked once, kept until the build changes, fetched ahead where a hand rests on a slider.

/** @typedef {import("./circuit-chart.js").Curve} Curve */
/** @typedef {{changes: string[], moved: string | null, source: string, output: string}} Asked */

const MOST_KEPT = 600;

/** @param {Asked} asked what is asked, however it was come to */
const key = ({ changes, source, output }) => JSON.stringify([changes, source, output]);

/** The curves that are known. */
export class Answers {
  /** @param {(asked: Asked) => Promise<Curve>} ask @param {() => boolean} busy somebody waits for something else
   * @param {() => Promise<void>} pause */
  constructor(ask, busy, pause) {
    this.ask = ask;
    this.busy = busy;
    this.pause = pause;
    this.fetching = false;
    /** @type {() => Asked[]} */
    this.wished = () => [];
    this.forget();
  }

  /** Of a build that has changed nothing is known. */
  forget() {
    /** @type {Map<string, Curve>} */
    this.kept = new Map();
    /** @type {Set<string>} */
    this.refused = new Set();
  }

  /** @param {Asked} asked @returns {Promise<Curve>} */
  async of(asked) {
    const { kept } = this; // an answer that comes after the build has changed is not kept for the new one
    const known = kept.get(key(asked));
    if (known) return known;
    const found = await this.ask(asked);
    kept.set(key(asked), found);
    for (const oldest of kept.keys()) {
      if (kept.size <= MOST_KEPT) break;
      kept.delete(oldest);
    }
    return found;
  }

  /** Fetches one after the other what may be asked next, while nobody waits; a newer wish takes the place of an older.
   * @param {() => Asked[]} wished the likeliest first, as things stand when it is called */
  async ahead(wished) {
    this.wished = wished;
    if (this.fetching) return;
    this.fetching = true;
    try {
      for (;;) {
        while (this.busy()) await this.pause();
        const next = this.wished().find((each) => !this.kept.has(key(each)) && !this.refused.has(key(each)));
        if (!next) return;
        await this.fetch(next);
      }
    } finally {
      this.fetching = false;
    }
  }

  /** @param {Asked} asked */
  async fetch(asked) {
    const { refused } = this;
    try {
      await this.of(asked);
    } catch {
      refused.add(key(asked)); // why, is told when somebody moves the slider there
    }
  }
}
