// A drawing that is moved and enlarged: by a CSS transform while it moves, by its viewBox once it rests, sharp again.

/** @typedef {{x: number, y: number, width: number, height: number}} Box */
/** @typedef {{x: number, y: number, scale: number}} View the middle, in mm, and pixels for a mm */

const MOST_PX_A_MM = 60;
const STEP = 1.3;
const REST_MS = 240;

export class Board {
  /** @param {HTMLElement} frame @param {HTMLElement} sheet */
  constructor(frame, sheet) {
    this.frame = frame;
    this.sheet = sheet;
    /** @type {Box} */
    this.all = { x: 0, y: 0, width: 1, height: 1 };
    /** @type {View} */
    this.view = { x: 0, y: 0, scale: 1 };
    /** @type {View} */
    this.drawn = this.view;
    /** @type {Map<number, {x: number, y: number}>} */
    this.fingers = new Map();
    this.moved = 0;
    this.waiting = 0;
    this.resting = 0;
    /** Whether a press moves the drawing; where not, it is somebody else's. @type {(event: PointerEvent) => boolean} */
    this.mayPan = () => true;
    /** @type {(event: PointerEvent) => void} */
    this.tapped = () => {};
    this.onPaper = false;
    this.listen();
    new ResizeObserver(() => this.rest()).observe(frame);
  }

  /** The drawings on the sheet, all with one viewBox. */
  drawings() {
    return /** @type {SVGSVGElement[]} */ ([...this.sheet.querySelectorAll(":scope > svg")]);
  }

  /** Shows all of it as large as paper is wide, or what was seen before. @param {boolean} on */
  paper(on) {
    this.onPaper = on;
    this.rest();
  }

  /** Takes what is on the sheet now as the whole. @param {Box} box */
  takes(box) {
    this.all = box;
    this.whole();
  }

  size() {
    return { width: Math.max(this.frame.clientWidth, 1), height: Math.max(this.frame.clientHeight, 1) };
  }

  whole() {
    this.fit(this.all, 0);
  }

  /** @param {Box} box @param {number} [margin] in mm */
  fit(box, margin = 12) {
    const { width, height } = this.size();
    const scale = Math.min(width / (box.width + 2 * margin), height / (box.height + 2 * margin), MOST_PX_A_MM);
    this.view = { x: box.x + box.width / 2, y: box.y + box.height / 2, scale };
    this.rest();
  }

  /** @param {number} dx @param {number} dy in pixels */
  pan(dx, dy) {
    const { x, y, scale } = this.view;
    this.view = { x: x - dx / scale, y: y - dy / scale, scale };
    this.later();
  }

  /** @param {number} factor @param {{x: number, y: number}} [at] the point that stays, in pixels of the frame */
  zoom(factor, at) {
    const { width, height } = this.size();
    const point = at ?? { x: width / 2, y: height / 2 };
    const least = 0.5 * Math.min(width / this.all.width, height / this.all.height);
    const scale = Math.min(Math.max(this.view.scale * factor, least), MOST_PX_A_MM);
    const fixed = this.toMm(point);
    this.view = { x: fixed.x - (point.x - width / 2) / scale, y: fixed.y - (point.y - height / 2) / scale, scale };
    this.later();
  }

  /** @param {{x: number, y: number}} point in pixels of the frame */
  toMm(point) {
    const { width, height } = this.size();
    const { x, y, scale } = this.view;
    return { x: x + (point.x - width / 2) / scale, y: y + (point.y - height / 2) / scale };
  }

  /** @param {{clientX: number, clientY: number}} event */
  inFrame(event) {
    const { left, top } = this.frame.getBoundingClientRect();
    return { x: event.clientX - left - this.frame.clientLeft, y: event.clientY - top - this.frame.clientTop };
  }

  /** Moves what is drawn, at the next frame, and draws it sharp when it has come to rest. */
  later() {
    if (!this.waiting) this.waiting = requestAnimationFrame(() => this.transform());
    clearTimeout(this.resting);
    this.resting = window.setTimeout(() => this.fingers.size || this.rest(), REST_MS);
  }

  transform() {
    this.waiting = 0;
    const { width, height } = this.size();
    const k = this.view.scale / this.drawn.scale;
    if (k !== 1) this.sheet.classList.add("zooming");
    const x = (width / 2) * (1 - k) + this.view.scale * (this.drawn.x - this.view.x);
    const y = (height / 2) * (1 - k) + this.view.scale * (this.drawn.y - this.view.y);
    this.sheet.style.transform = `translate(${x}px, ${y}px) scale(${k})`;
  }

  rest() {
    const { width, height } = this.size();
    const { x, y, scale } = this.view;
    this.drawn = this.view;
    const seen = [x - width / 2 / scale, y - height / 2 / scale, width / scale, height / scale];
    const whole = [this.all.x, this.all.y, this.all.width, this.all.height];
    const box = (this.onPaper ? whole : seen).map((n) => n.toFixed(3));
    for (const drawing of this.drawings()) drawing.setAttribute("viewBox", box.join(" "));
    if (this.waiting) cancelAnimationFrame(this.waiting);
    this.waiting = 0;
    this.sheet.style.transform = "";
    this.sheet.classList.remove("zooming");
  }

  listen() {
    const { frame } = this;
    frame.addEventListener("wheel", (event) => this.wheeled(event), { passive: false });
    frame.addEventListener("pointerdown", (event) => this.pressed(event));
    frame.addEventListener("pointermove", (event) => this.dragged(event));
    for (const name of /** @type {const} */ (["pointerup", "pointercancel"])) {
      frame.addEventListener(name, (event) => this.released(event, name === "pointerup"));
    }
    frame.addEventListener("keydown", (event) => this.keyed(event));
  }

  /** @param {WheelEvent} event */
  wheeled(event) {
    event.preventDefault();
    const speed = event.ctrlKey ? 0.01 : event.deltaMode ? 0.05 : 0.0015;
    this.zoom(Math.exp(-event.deltaY * speed), this.inFrame(event));
  }

  /** @param {PointerEvent} event */
  pressed(event) {
    if (event.button !== 0 || /** @type {Element} */ (event.target).closest("button")) return;
    if (this.fingers.size === 0 && !this.mayPan(event)) return;
    if (this.fingers.size === 0) this.moved = 0;
    this.fingers.set(event.pointerId, this.inFrame(event));
    this.frame.setPointerCapture(event.pointerId);
  }

  /** @param {PointerEvent} event */
  dragged(event) {
    const before = this.fingers.get(event.pointerId);
    if (!before) return;
    const now = this.inFrame(event);
    const other = [...this.fingers].find(([id]) => id !== event.pointerId)?.[1];
    this.moved += Math.hypot(now.x - before.x, now.y - before.y);
    if (!other && this.moved < 6) return;
    this.fingers.set(event.pointerId, now);
    this.frame.classList.add("moving");
    if (!other) {
      this.pan(now.x - before.x, now.y - before.y);
      return;
    }
    const apart = Math.hypot(now.x - other.x, now.y - other.y);
    const was = Math.max(Math.hypot(before.x - other.x, before.y - other.y), 1);
    this.pan((now.x - before.x) / 2, (now.y - before.y) / 2);
    this.zoom(apart / was, { x: (now.x + other.x) / 2, y: (now.y + other.y) / 2 });
  }

  /** @param {PointerEvent} event @param {boolean} lifted */
  released(event, lifted) {
    if (!this.fingers.delete(event.pointerId)) return;
    if (this.fingers.size) return;
    this.frame.classList.remove("moving");
    if (lifted && this.moved < 6) this.tapped(event);
    else this.rest();
  }

  /** @param {KeyboardEvent} event */
  keyed(event) {
    if (event.target !== this.frame || event.ctrlKey || event.metaKey || event.altKey) return;
    const { width, height } = this.size();
    /** @type {Record<string, () => void>} */
    const does = {
      ArrowLeft: () => this.pan(width * 0.15, 0),
      ArrowRight: () => this.pan(-width * 0.15, 0),
      ArrowUp: () => this.pan(0, height * 0.15),
      ArrowDown: () => this.pan(0, -height * 0.15),
      "+": () => this.zoom(STEP),
      "=": () => this.zoom(STEP),
      "-": () => this.zoom(1 / STEP),
      0: () => this.whole(),
    };
    const act = does[event.key];
    if (!act) return;
    event.preventDefault();
    act();
  }
}
