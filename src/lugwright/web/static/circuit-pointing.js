// Pointing at a drawing: with a mouse, a finger, or the arrow keys; everything of a part or joint lights up at once.

/** A part (of a tube or switch, the piece of it that is drawn there) or a joint.
 * @typedef {{kind: "part" | "joint", name: string, piece?: string}} Thing */

const STEPS = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };

/** @param {EventTarget | null} target @returns {SVGGElement | undefined} */
function areaOf(target) {
  const found = target instanceof Element ? target.closest(".area") : null;
  return found instanceof SVGGElement ? found : undefined;
}

/** What an area stands for. @param {SVGGElement} area @returns {Thing} */
function thingOf(area) {
  const part = area.dataset.part;
  return part ? { kind: "part", name: part, piece: area.dataset.piece ?? part } : { kind: "joint", name: area.dataset.joint ?? "" };
}

/** @param {Thing | undefined} thing @returns {SVGGElement[]} */
export function areasOf(thing) {
  if (!thing) return [];
  const selector = `.area[data-${thing.kind}="${CSS.escape(thing.name)}"]`;
  return /** @type {SVGGElement[]} */ ([...document.querySelectorAll(selector)]);
}

/** @param {Thing | undefined} thing @param {"near" | "chosen"} how */
export function light(thing, how) {
  for (const each of document.querySelectorAll(`.area.${how}`)) each.classList.remove(how);
  for (const each of areasOf(thing)) each.classList.add(how);
}

/** Calls back with what is pointed at (undefined: nothing more), and with what is chosen.
 * @param {HTMLElement} side @param {(thing: Thing | undefined, byMouse: boolean) => void} near @param {(thing: Thing) => void} chosen */
export function pointing(side, near, chosen) {
  for (const sheet of side.querySelectorAll(".drawn")) sheet.querySelector(".area")?.setAttribute("tabindex", "0");
  side.addEventListener("pointerover", (event) => {
    const area = areaOf(event.target);
    if (area && event.pointerType === "mouse") near(thingOf(area), true);
  });
  side.addEventListener("pointerout", (event) => {
    if (event.pointerType === "mouse" && areaOf(event.target) && !areaOf(event.relatedTarget)) near(undefined, true);
  });
  side.addEventListener("click", (event) => {
    const area = areaOf(event.target);
    if (!area) return;
    goTo(area);
    chosen(thingOf(area));
  });
  side.addEventListener("focusin", (event) => {
    const area = areaOf(event.target);
    if (area?.matches(":focus-visible")) near(thingOf(area), false);
  });
  side.addEventListener("keydown", (event) => {
    const area = areaOf(event.target);
    if (!area) return;
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      chosen(thingOf(area));
    } else if (event.key in STEPS) {
      event.preventDefault();
      step(area, STEPS[/** @type {keyof typeof STEPS} */ (event.key)]);
    }
  });
}

/** Moves to the next area of the same drawing. @param {SVGGElement} area @param {number} by */
function step(area, by) {
  const all = /** @type {SVGGElement[]} */ ([...(area.closest(".drawn")?.querySelectorAll(".area") ?? [])]);
  const next = all[(all.indexOf(area) + by + all.length) % all.length];
  if (next) goTo(next);
}

/** Puts the one tab stop of a drawing on an area, and the focus too. @param {SVGGElement} area */
function goTo(area) {
  const drawing = area.closest(".drawn");
  for (const each of drawing?.querySelectorAll('.area[tabindex="0"]') ?? []) each.setAttribute("tabindex", "-1");
  area.setAttribute("tabindex", "0");
  area.focus();
}

/** Brings what is chosen into view. @param {Thing} thing */
export function bring(thing) {
  const area = areasOf(thing)[0];
  if (!area) return false;
  area.scrollIntoView({ block: "center", inline: "center" });
  goTo(area);
  return true;
}
