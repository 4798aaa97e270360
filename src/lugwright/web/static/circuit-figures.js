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

/** @param {Curve["idle"]} idle */
export function movedRows(idle) {
  if (!idle.length) return [];
  const head = made("tr", "", made("th", "", "at idle"), made("th", "", "as it is"), made("th", "", "tried"));
  /** @param {Curve["idle"]} rows */
  const table = (rows) =>
    made("table", "compared", head.cloneNode(true), ...rows.map((row) =>
      made("tr", "", made("th", "", row.name), made("td", "", row.was), made("td", "", row.now))));
  const rest = idle.slice(MOST_LISTED);
  const more = rest.length ? [made("details", "", made("summary", "", `${rest.length} more that have moved`), table(rest))] : [];
  return [made("h3", "", "The idle moves"), table(idle.slice(0, MOST_LISTED)), ...more];
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
