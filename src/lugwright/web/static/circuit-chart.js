// One curve over frequency, as it is and as tried: own lines, decades across, kept still while a slider moves.

/** @typedef {"gain_db" | "phase_deg" | "input_ohm" | "output_ohm"} Quantity */
/** @typedef {{hertz: number[], gain_db: number[], phase_deg: number[], input_ohm: number[], output_ohm: number[],
 *   words: [string, string][], idle: {name: string, was: string, now: string}[]}} Curve */

const NS = "http://www.w3.org/2000/svg";
const EDGE = { left: 3.4, right: 0.6, top: 0.8, bottom: 2.3 }; // in letters' heights
const ROUND = { gain_db: 10, phase_deg: 90 };
const NAMES = { gain_db: "gain, dB", phase_deg: "phase, degrees", input_ohm: "input impedance, Ω", output_ohm: "output impedance, Ω" };

/** @param {string} tag @param {Record<string, string | number>} attributes @param {string} [words] */
function drawn(tag, attributes, words) {
  const element = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  if (words !== undefined) element.textContent = words;
  return element;
}

/** A number with its prefix: 4.7 k. @param {number} value */
export function short(value) {
  const size = Math.abs(value);
  for (const [from, letter] of /** @type {const} */ ([[1e6, "M"], [1e3, "k"]])) {
    if (size >= from) return `${Number((value / from).toPrecision(3))} ${letter}`;
  }
  return String(Number(value.toPrecision(3)));
}

/** A chart in an svg element of the page. */
export class Chart {
  /** @param {SVGSVGElement} svg @param {(words: string) => void} at told what stands under the pointer */
  constructor(svg, at) {
    this.svg = svg;
    this.at = at;
    /** @type {Quantity} */
    this.quantity = "gain_db";
    /** @type {Curve | undefined} */
    this.asIs = undefined;
    /** @type {Curve | undefined} */
    this.tried = undefined;
    this.grid = drawn("g", { class: "grid" });
    this.lines = { asIs: drawn("polyline", { class: "line as-is" }), tried: drawn("polyline", { class: "line tried" }) };
    this.pointer = drawn("line", { class: "pointer", visibility: "hidden" });
    svg.append(this.grid, this.pointer, this.lines.asIs, this.lines.tried);
    this.low = this.high = 0;
    this.box = { x0: 0, x1: 1, y0: 1, y1: 0 };
    this.span = { from: 1, to: 5 };
    new ResizeObserver(() => this.lay(true)).observe(svg);
    svg.addEventListener("pointermove", (event) => this.point(event));
    svg.addEventListener("pointerleave", () => {
      this.pointer.setAttribute("visibility", "hidden");
      this.at("");
    });
  }

  /** @param {Curve | undefined} asIs @param {Curve | undefined} tried @param {boolean} still keep the scale */
  show(asIs, tried, still) {
    this.asIs = asIs;
    this.tried = tried;
    this.lay(!still);
  }

  /** @param {Quantity} quantity */
  of(quantity) {
    this.quantity = quantity;
    this.lay(true);
  }

  /** @param {Curve} curve @returns {number[]} values as they go up the chart */
  values(curve) {
    const found = curve[this.quantity];
    return this.ohms() ? found.map((each) => Math.log10(Math.max(each, 1e-3))) : found;
  }

  ohms() {
    return this.quantity === "input_ohm" || this.quantity === "output_ohm";
  }

  /** Sets the scale, afresh or only wider where a curve leaves it, and draws. @param {boolean} afresh */
  lay(afresh) {
    const curves = [this.asIs, this.tried].flatMap((each) => (each ? [each] : []));
    const first = curves[0];
    if (first) this.scale(first, curves, afresh);
    this.lines.asIs.setAttribute("points", this.asIs ? this.places(this.asIs) : "");
    this.lines.tried.setAttribute("points", this.tried ? this.places(this.tried) : "");
  }

  /** @param {Curve} first @param {Curve[]} curves @param {boolean} afresh */
  scale(first, curves, afresh) {
    const all = curves.flatMap((each) => this.values(each));
    const step = this.ohms() ? 1 : ROUND[/** @type {keyof typeof ROUND} */ (this.quantity)];
    const low = Math.floor(Math.min(...all) / step) * step;
    const high = Math.max(Math.ceil(Math.max(...all) / step) * step, low + step);
    if (afresh || low < this.low || high > this.high) {
      this.low = afresh ? low : Math.min(low, this.low);
      this.high = afresh ? high : Math.max(high, this.high);
      this.drawGrid(first, step);
    }
  }

  /** @param {Curve} curve */
  places(curve) {
    const up = this.values(curve);
    return curve.hertz.map((hertz, k) => `${this.x(hertz).toFixed(1)},${this.y(up[k] ?? 0).toFixed(1)}`).join(" ");
  }

  /** @param {number} hertz */
  x(hertz) {
    const { x0, x1 } = this.box;
    const { from, to } = this.span;
    return x0 + ((Math.log10(hertz) - from) / (to - from)) * (x1 - x0);
  }

  /** @param {number} value */
  y(value) {
    const { y0, y1 } = this.box;
    return y0 + ((value - this.low) / (this.high - this.low)) * (y1 - y0);
  }

  /** @param {Curve} first @param {number} step */
  drawGrid(first, step) {
    const { width, height } = this.svg.getBoundingClientRect();
    const letter = parseFloat(getComputedStyle(this.svg).fontSize);
    this.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    this.box = { x0: EDGE.left * letter, x1: width - EDGE.right * letter, y0: height - EDGE.bottom * letter, y1: EDGE.top * letter };
    this.span = { from: Math.log10(first.hertz[0] ?? 10), to: Math.log10(first.hertz[first.hertz.length - 1] ?? 1e5) };
    const { x0, x1, y0, y1 } = this.box;
    const grid = [];
    for (let decade = Math.ceil(this.span.from - 1e-9); decade <= this.span.to + 1e-9; decade++) {
      for (let k = 1; k < 10; k++) {
        const hertz = k * 10 ** decade;
        if (Math.log10(hertz) > this.span.to + 1e-9) break;
        grid.push(drawn("line", { x1: this.x(hertz), x2: this.x(hertz), y1: y0, y2: y1, class: k === 1 ? "main" : "fine" }));
      }
      const last = decade > this.span.to - 0.1;
      const place = { x: this.x(10 ** decade), y: y0 + 1.1 * letter, "text-anchor": last ? "end" : "middle" };
      grid.push(drawn("text", place, short(10 ** decade)));
    }
    const every = step * Math.max(1, Math.ceil(((this.high - this.low) / step) * ((1.5 * letter) / (y0 - y1))));
    for (let value = this.low; value <= this.high + 1e-9; value += every) {
      grid.push(drawn("line", { x1: x0, x2: x1, y1: this.y(value), y2: this.y(value), class: "main" }));
      const words = this.ohms() ? short(10 ** value) : String(value).replace("-", "−");
      grid.push(drawn("text", { x: x0 - 0.3 * letter, y: this.y(value) + 0.35 * letter, "text-anchor": "end" }, words));
    }
    grid.push(drawn("text", { x: x1, y: y0 + 1.95 * letter, "text-anchor": "end" }, "Hz"));
    grid.push(drawn("text", { x: 0, y: y0 + 1.95 * letter, "text-anchor": "start" }, NAMES[this.quantity]));
    this.grid.replaceChildren(...grid);
  }

  /** Says what the curves are at the pointer's frequency. @param {PointerEvent} event */
  point(event) {
    const curve = this.asIs;
    if (!curve) return;
    const x = event.clientX - this.svg.getBoundingClientRect().left;
    let near = 0;
    curve.hertz.forEach((hertz, k) => {
      if (Math.abs(this.x(hertz) - x) < Math.abs(this.x(curve.hertz[near] ?? 1) - x)) near = k;
    });
    const at = this.x(curve.hertz[near] ?? 1);
    for (const [name, value] of Object.entries({ x1: at, x2: at, y1: this.box.y0, y2: this.box.y1 })) {
      this.pointer.setAttribute(name, String(value));
    }
    this.pointer.setAttribute("visibility", "visible");
    const unit = { gain_db: "dB", phase_deg: "°", input_ohm: "Ω", output_ohm: "Ω" }[this.quantity];
    const words = [curve, this.tried].flatMap((each) => (each ? [`${this.words(each[this.quantity][near] ?? 0)} ${unit}`] : []));
    this.at(`${short(curve.hertz[near] ?? 0)}Hz: ${words.join(", tried ")}`);
  }

  /** @param {number} value */
  words(value) {
    return this.ohms() ? short(value) : value.toFixed(1).replace("-", "−");
  }
}
