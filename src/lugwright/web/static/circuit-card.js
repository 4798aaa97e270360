// The card: what a part or a joint carries at idle, how near its limits that is, and where it goes from here.
import { build, copy } from "./link.js";

/** @typedef {import("./circuit-pointing.js").Thing} Thing */
/** @typedef {[string, string][]} Rows */
/** @typedef {{set: string, label: string, how: "turn" | "steps" | "choice" | "text", at: any, steps?: string[],
 *   choices?: string[], taper?: string}} Trial */
/** @typedef {{words: string, stage: string, note: string, ends: [string, string][], idle: {name: string, rows: Rows}[],
 *   ratings: {part: string, what: string, words: string, over: boolean}[], tries: Trial[]}} PartFacts */
/** @typedef {{rows: Rows, meets: string[], danger: string}} JointFacts */
/** @typedef {{parts: Record<string, PartFacts>, joints: Record<string, JointFacts>}} Facts */

/** An element with text or children in it.
 * @template {keyof HTMLElementTagNameMap} K @param {K} tag @param {string} name @param {...(string | Node)} content
 * @returns {HTMLElementTagNameMap[K]} */
export function made(tag, name, ...content) {
  const element = document.createElement(tag);
  if (name) element.className = name;
  element.append(...content);
  return element;
}

/** @param {Rows} rows */
function list(rows) {
  const found = made("dl", "");
  for (const [what, value] of rows) found.append(made("div", "", made("dt", "", what), made("dd", "", value)));
  return found;
}

/** @param {string} words @param {() => void} deed */
export function button(words, deed) {
  const found = made("button", "", words);
  found.type = "button";
  found.addEventListener("click", deed);
  return found;
}

/** @param {Thing} thing */
function onTheMetal(thing) {
  const link = made("a", "", "On the wiring side");
  const asked = copy ? `?copy=${encodeURIComponent(copy)}` : "";
  link.href = `/build/${build}/wiring${asked}#${thing.kind}=${encodeURIComponent(thing.name)}`;
  return link;
}

/** What fills the card.
 * @param {Thing} thing @param {Facts} facts
 * @param {{show: (thing: Thing) => void, away: () => void, attempt: (part: string) => void}} deeds @returns {Node[]} */
export function cardOf(thing, facts, deeds) {
  const name = made("h3", "", title(thing, facts));
  name.tabIndex = -1;
  const head = made("header", "", name, button("Put away", deeds.away));
  const part = thing.kind === "part" ? facts.parts[thing.name] : undefined;
  const joint = thing.kind === "joint" ? facts.joints[thing.name] : undefined;
  const body = part ? partRows(part, thing.piece ?? "", deeds) : joint ? jointRows(joint, deeds) : [];
  const links = made("div", "deeds", onTheMetal(thing));
  if (part && part.tries.length) links.append(button("Try other values", () => deeds.attempt(thing.name)));
  return [head, ...body, links];
}

/** @param {Thing} thing @param {Facts} facts */
function title(thing, facts) {
  const part = thing.kind === "part" ? facts.parts[thing.name] : undefined;
  return part ? `${thing.name} ${part.words}` : thing.kind === "joint" ? `Joint ${thing.name}` : thing.name;
}

/** @param {PartFacts} part @param {string} pointedAt the piece of it @param {{show: (thing: Thing) => void}} deeds */
function partRows(part, pointedAt, deeds) {
  const found = [];
  if (part.note) found.push(made("p", "", part.note));
  const those = part.idle.filter((piece) => piece.name.startsWith(pointedAt));
  for (const piece of those.length ? those : part.idle) {
    if (part.idle.length > 1) found.push(made("h4", "", piece.name));
    found.push(list(piece.rows));
  }
  if (part.ratings.length) {
    const limits = made("ul", "");
    for (const each of part.ratings) {
      const words = `${each.part}, ${each.what}: ${each.words}`;
      limits.append(made("li", each.over ? "over" : "", each.over ? `over its limit: ${words}` : words));
    }
    found.push(made("h4", "", "Against its limits"), limits);
  }
  const ends = made("ul", "chips");
  for (const [end, joint] of part.ends) {
    ends.append(made("li", "", button(end === joint ? joint : `${end}: ${joint}`, () => deeds.show({ kind: "joint", name: joint }))));
  }
  found.push(made("h4", "", "Its ends"), ends);
  return found;
}

/** @param {JointFacts} joint @param {{show: (thing: Thing) => void}} deeds */
function jointRows(joint, deeds) {
  const found = [];
  if (joint.danger) found.push(made("p", "caution", joint.danger));
  if (joint.rows.length) found.push(list(joint.rows));
  const meets = made("ul", "chips");
  for (const terminal of joint.meets) {
    const part = terminal.split(".")[0] ?? terminal;
    meets.append(made("li", "", button(terminal, () => deeds.show({ kind: "part", name: part }))));
  }
  found.push(made("h4", "", "Meets here"), meets);
  return found;
}
