// The figures below the curve: as it is and as tried, what moves at idle, findings that come and go.
import { made } from "./circuit-card.js";

/** @typedef {import("./circuit-chart.js").Curve} Curve */
/** @typedef {{grade: string, part: string, what: string, found: string, wanted: string, do: string}} Finding */

const MOST_LISTED = 12;

/** A table made once; while a slider moves only its words change. */
export class Figures {
  /** @param {HTMLElement} place */
  constructor(place) {
    this.place = place;
    this.shape = "";
    /** @type {HTMLElement[][]} */
    this.cells = [];
  }

  /** @param {Curve | undefined} asIs @param {Curve | undefined} tried */
  show(asIs, tried) {
    const rows = asIs?.words ?? [];
    const shape = `${rows.map(([what]) => what).join()} ${tried !== undefined}`;
    if (shape !== this.shape) this.make(rows.map(([what]) => what), tried ? 2 : 1);
    this.shape = shape;
    this.cells.forEach((cells, k) => {
      cells.forEach((cell, side) => {
        const words = (side ? tried : asIs)?.words[k]?.[1] ?? "";
        if (cell.textContent !== words) cell.textContent = words;
      });
    });
  }

  /** @param {string[]} names @param {number} columns */
  make(names, columns) {
    const heads = ["as it is", "tried"].slice(0, columns);
    const head = made("tr", "", made("th", ""), ...heads.map((words) => made("th", "", words)));
    this.cells = names.map(() => heads.map(() => made("td", "")));
    const body = names.map((name, k) => made("tr", "", made("th", "", name), ...(this.cells[k] ?? [])));
    this.place.replaceChildren(made("table", "compared", head, ...body));
  }
}

/** What has moved at idle, most first; while a slider moves only its words change, and what was opened stays open. */
export class Moved {
  /** @param {HTMLElement} place */
  constructor(place) {
    this.place = place;
    /** @type {HTMLElement[]} */
    this.rows = [];
    this.tables = [tableOfMoved(), tableOfMoved()];
    this.summary = made("summary", "");
    this.more = made("details", "", this.summary, this.tables[1] ?? "");
  }

  /** @param {Curve["idle"]} idle */
  show(idle) {
    this.rows.splice(idle.length).forEach((row) => row.remove());
    idle.forEach(({ name, was, now }, k) => {
      const row = this.rows[k] ?? this.add(k);
      [name, was, now].forEach((words, column) => {
        const cell = row.children[column];
        if (cell && cell.textContent !== words) cell.textContent = words;
      });
    });
    const rest = `${idle.length - MOST_LISTED} more that have moved`;
    if (this.summary.textContent !== rest) this.summary.textContent = rest;
    this.more.hidden = idle.length <= MOST_LISTED;
    if (!idle.length) this.place.replaceChildren();
    else if (!this.place.childElementCount) {
      this.place.append(made("h3", "", "The idle moves"), this.tables[0] ?? "", this.more);
    }
  }

  /** @param {number} k */
  add(k) {
    const row = made("tr", "", made("th", ""), made("td", ""), made("td", ""));
    this.tables[k < MOST_LISTED ? 0 : 1]?.append(row);
    this.rows.push(row);
    return row;
  }
}

function tableOfMoved() {
  const head = made("tr", "", made("th", "", "at idle"), made("th", "", "as it is"), made("th", "", "tried"));
  return made("table", "compared", head);
}

/** @param {{new: Finding[], gone: Finding[], same: number, looked: string[]}} found */
export function findingsOf(found) {
  const looked = `Looked at: ${found.looked.join("; ") || "the build file, which cannot be read with these values"}.`;
  if (!found.new.length && !found.gone.length) return [made("p", "", `No finding comes or goes. ${looked}`)];
  const items = [
    ...found.new.map((each) => made("li", `finding ${each.grade}`,
      made("strong", "", `New, ${each.grade}: `), `${each.what}. Found: ${each.found}. Wanted: ${each.wanted}. Do: ${each.do}.`)),
    ...found.gone.map((each) => made("li", "finding gone", made("strong", "", "Gone: "), `${each.grade}: ${each.what}`)),
  ];
  return [made("h3", "", "Findings that come and go"), made("ul", "findings", ...items), made("p", "", looked)];
}
