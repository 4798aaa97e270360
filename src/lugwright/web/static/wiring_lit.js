// What is lit: copies of it on a second drawing over the first, with a white veil between. The first is never repainted.

/** @typedef {{kind: "wire" | "part" | "terminal" | "strip" | "bus" | "joint", name: string}} Thing */
/** @typedef {{things: Set<string>, terminals: Set<string>, hot?: Set<string>}} Lit names of parts, wires, buses, strips; keys */

const SVG = "http://www.w3.org/2000/svg";
const FAR_MM = 4000;
const NAMED = ["wire", "part", "terminal", "bus", "strip", "over", "star"];
const SELECTOR = [...NAMED, "label"].map((name) => `[data-${name}]`).join(",");

export class Lighting {
  /** @param {SVGSVGElement} drawing */
  constructor(drawing) {
    this.drawing = drawing;
    const { x, y, width, height } = drawing.viewBox.baseVal;
    this.box = { x, y, width, height };
    this.over = document.createElementNS(SVG, "svg");
    this.over.setAttribute("class", "over");
    this.over.setAttribute("aria-hidden", "true");
    this.over.setAttribute("viewBox", drawing.getAttribute("viewBox") ?? "");
    this.over.setAttribute("font-family", drawing.getAttribute("font-family") ?? "");
    /** @type {Map<string, {element: SVGGraphicsElement, order: number}[]>} */
    this.elements = new Map();
    [...drawing.querySelectorAll(SELECTOR)].forEach((element, order) => {
      const key = keyOf(/** @type {SVGElement} */ (element));
      const those = this.elements.get(key) ?? [];
      those.push({ element: /** @type {SVGGraphicsElement} */ (element), order });
      this.elements.set(key, those);
    });
  }

  /** Lights this and dims the rest; null: everything as drawn. @param {Lit | null} lit @param {number} [veil] */
  show(lit, veil = 0.78) {
    if (!lit) {
      this.over.replaceChildren();
      return;
    }
    const sheet = document.createElementNS(SVG, "rect");
    const all = { x: -FAR_MM, y: -FAR_MM, width: 2 * FAR_MM, height: 2 * FAR_MM, fill: "#fff", opacity: veil };
    for (const [name, value] of Object.entries(all)) sheet.setAttribute(name, String(value));
    this.over.replaceChildren(sheet, ...this.copies(lit), ...this.rings(lit));
  }

  /** @param {Lit} lit */
  found(lit) {
    const keys = [...[...lit.things].map((name) => `thing ${name}`), ...[...lit.terminals].map((key) => `terminal ${key}`)];
    return keys.flatMap((key) => this.elements.get(key) ?? []).sort((a, b) => a.order - b.order);
  }

  /** @param {Lit} lit */
  copies(lit) {
    const found = this.found(lit);
    const lying = new Set(found.map(({ element }) => element));
    /** A lead inside a lug that is copied whole. @param {Element} element */
    const inside = (element) => lying.has(/** @type {SVGGraphicsElement} */ (element.parentElement?.closest(SELECTOR)));
    return found.filter(({ element }) => !inside(element)).map(({ element }) => {
      const copy = /** @type {SVGElement} */ (element.cloneNode(true));
      copy.removeAttribute("id");
      return copy;
    });
  }

  /** @param {Lit} lit */
  rings(lit) {
    return [...(lit.hot ?? [])].flatMap((key) =>
      (this.elements.get(`terminal ${key}`) ?? []).map(({ element }) => {
        const box = element.getBBox();
        const ring = document.createElementNS(SVG, "circle");
        ring.setAttribute("cx", String(box.x + box.width / 2));
        ring.setAttribute("cy", String(box.y + box.height / 2));
        ring.setAttribute("r", String(Math.max(box.width, box.height) / 2 + 0.9));
        ring.setAttribute("class", "ring");
        return ring;
      }),
    );
  }

  /** The part of the drawing that what is lit takes. @param {Lit} lit @returns {import("./wiring_board.js").Box | null} */
  bounds(lit) {
    const boxes = this.found(lit).map(({ element }) => element.getBBox());
    if (!boxes.length) return null;
    const x = Math.min(...boxes.map((box) => box.x));
    const y = Math.min(...boxes.map((box) => box.y));
    const right = Math.max(...boxes.map((box) => box.x + box.width));
    const bottom = Math.max(...boxes.map((box) => box.y + box.height));
    return { x, y, width: right - x, height: bottom - y };
  }
}

/** What an element of a drawing shows. @param {SVGElement} element */
function keyOf(element) {
  const { wire, part, terminal, bus, strip, over, star, label } = element.dataset;
  if (terminal !== undefined) return `terminal ${terminal}`;
  if (label !== undefined) return `thing ${named(label)}`;
  return `thing ${wire ?? part ?? bus ?? strip ?? over ?? star ?? ""}`;
}

/** The thing that an element belongs to. @param {Element | null} from @returns {Thing | null} */
export function thingOf(from) {
  const element = /** @type {SVGElement | null} */ (from?.closest(SELECTOR) ?? null);
  if (!element) return null;
  const { wire, part, terminal, bus, strip, over, star, label } = element.dataset;
  if (terminal !== undefined) return { kind: "terminal", name: terminal };
  if (wire ?? over) return { kind: "wire", name: wire ?? over ?? "" };
  if (bus ?? star) return { kind: "bus", name: bus ?? star ?? "" };
  if (strip !== undefined) return { kind: "strip", name: strip };
  if (part !== undefined) return { kind: "part", name: part };
  const name = named(label ?? "");
  return { kind: /^W\d+$/.test(name) ? "wire" : "part", name };
}

/** The name that a label says: of "R3 value", "bus ground", "name V1". @param {string} label */
function named(label) {
  const [first = "", second = ""] = label.split(" ");
  return ["bus", "name", "star", "strip"].includes(first) ? second : first;
}

/** The thing at a point, or the nearest within the width of a finger. @param {number} x @param {number} y @param {number} reach in pixels */
export function thingAt(x, y, reach) {
  for (const radius of reach ? [0, reach / 2, reach] : [0]) {
    for (let turn = 0; turn < (radius ? 8 : 1); turn++) {
      const angle = (turn * Math.PI) / 4;
      const found = thingOf(document.elementFromPoint(x + radius * Math.cos(angle), y + radius * Math.sin(angle)));
      if (found) return found;
    }
  }
  return null;
}
