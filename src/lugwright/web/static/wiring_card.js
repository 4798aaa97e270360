// The card beside the drawing: what is lit, in words, with a button for everything that it names.
import { build, copy } from "./link.js";
import { ofLead } from "./wiring_things.js";

/** @typedef {import("./wiring_things.js").Things} Things */
/** @typedef {import("./wiring_lit.js").Thing} Thing */
/** @typedef {{ohms: Record<string, {at: string, reads: string, note: string}[]>, meter: string}} Readings */

const MOST = 8; // rows of a list under the pointer
const SVG = "http://www.w3.org/2000/svg";

/** Makes an element. @param {string} tag @param {Record<string, string>} attributes @param {...(Node | string)} children */
export function h(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...children);
  return element;
}

export class SideCard {
  /** @param {HTMLElement} place @param {{pick: (thing: Thing) => void, enlarge: (name: string) => void, move: (things: Things, thing: Thing) => Node[], more: (things: Things, thing: Thing) => Node[]}} acts */
  constructor(place, { pick, enlarge, move, more }) {
    this.place = place;
    this.pick = pick;
    this.enlarge = enlarge;
    this.move = move;
    this.more = more;
    this.most = MOST;
    /** What the card was made from. @type {object | undefined} */
    this.tables = undefined;
    /** @type {Readings | null} */
    this.readings = null;
  }

  /** @param {Things} things @param {string} left what a filter leaves, in words */
  nothing(things, left) {
    const { state } = things;
    const next = things.tables.cards.find((card) => card.number === state.next);
    this.put(
      h("h2", {}, left || "Nothing lit"),
      h("p", {}, "Point at or tap a wire, a part or a lug: everything on its joint lights up. Tap beside it, or press Escape, to put it out."),
      h("p", {}, `${state.in} of ${state.of} leads are in.`),
      next ? h("p", {}, "Next: ", this.cardLink(things, next.number)) : h("p", {}, "Every card is done."),
    );
  }

  /** @param {Things} things @param {Thing} thing @param {boolean} kept */
  show(things, thing, kept) {
    const same = this.tables === things.tables;
    this.tables = things.tables;
    if (same && this.place.querySelector(`form.move[data-of="${CSS.escape(thing.name)}"]:focus-within`)) return; // being filled in
    this.most = kept ? Infinity : MOST;
    const { wires, parts } = things.tables;
    const wire = wires[thing.name];
    const part = parts[thing.name];
    const rows = [];
    if (thing.kind === "wire" && wire) rows.push(...this.wire(things, thing.name));
    else if (thing.kind === "part" && part) rows.push(...this.part(things, thing.name));
    else if (thing.kind === "terminal") rows.push(...this.terminal(things, thing.name));
    else if (thing.kind === "strip") rows.push(...this.strip(things, thing.name));
    const joints = things.joints(thing);
    const many = joints.length > 3;
    for (const joint of many ? [] : joints) rows.push(...this.joint(things, joint, thing.kind === "joint" || thing.kind === "bus"));
    const form = same ? this.filledIn(thing) : null;
    if (kept) rows.push(...this.more(things, thing), ...(form ? [form] : this.move(things, thing)));
    if (kept) rows.push(h("p", { class: "faint" }, "Kept lit; tap beside it or press Escape to put it out."));
    this.put(...rows);
  }

  /** The form of this thing that stands open on the card: what was chosen in it stays chosen. @param {Thing} thing */
  filledIn(thing) {
    const form = this.place.querySelector(`details[open] > form.move[data-of="${CSS.escape(thing.name)}"]`);
    return form?.parentElement ?? null;
  }

  /** @param {Things} things @param {import("./wiring_things.js").Card} card */
  job(things, card) {
    const state = things.state.cards[card.number - 1] ?? "open";
    this.put(
      h("h2", {}, `Card ${card.number}: ${card.title}`),
      h("p", { class: "faint" }, `${card.phase}; ${state}`),
      ...card.cautions.map((words) => h("p", { class: "caution" }, words)),
      h("ol", {}, ...card.text.map((words) => h("li", {}, words))),
      ...card.solder.length ? [h("p", {}, `Solder at the end: ${card.solder.join(", ")}.`)] : [],
      ...card.waits.length ? [h("p", {}, `Leave open: ${card.waits.join("; ")}.`)] : [],
      h("p", {}, this.link(card.number, "Tick it off on the Work page")),
    );
  }

  /** Puts these on the card; who reads it by keyboard stays where they were. @param {Node[]} rows */
  put(...rows) {
    const reached = "a, button";
    const at = [...this.place.querySelectorAll(reached)].findIndex((element) => element === document.activeElement);
    this.place.replaceChildren(...rows);
    if (at < 0) return;
    const now = this.place.querySelectorAll(reached);
    /** @type {HTMLElement | undefined} */ (now[Math.min(at, now.length - 1)])?.focus();
  }

  /** @param {Things} things @param {string} name */
  wire(things, name) {
    const wire = things.tables.wires[name];
    if (!wire) return [];
    const state = things.done({ kind: "wire", name }) ? "in at both ends" : (things.state.wires[name] ?? []).length ? "in at one end" : "to do";
    return [
      h("h2", {}, swatch(wire.ink, wire.stripe), ` ${name}, ${wire.color}`),
      this.list([
        ["Work", state],
        ["Type", wire.type],
        ["Cut", wire.cut || `${wire.route} along its way`],
        ["Strip", wire.strip],
        ["Jacket off", wire.jacket],
        ["Twist", wire.twist],
        ["Braid to", wire.shield && (things.tables.terminals[wire.shield]?.label ?? "")],
        ["Passes over", wire.over.join(", ")],
      ]),
      this.rows(wire.ends, (key) => this.terminalButton(things, key)),
      ...this.cards(things, wire.cards),
    ];
  }

  /** @param {Things} things @param {string} name */
  part(things, name) {
    const part = things.tables.parts[name];
    if (!part) return [];
    const state = part.seated ? (things.done({ kind: "part", name }) ? "in" : "to do") : "";
    const socket = !part.seated && part.ends.every((key) => things.tables.terminals[key]?.kind === "pin");
    return [
      h("h2", {}, name),
      this.list([["Is", part.words], ["Work", state], ["Layer", part.layer > 1 ? String(part.layer) : ""]]),
      ...(socket ? [this.larger(`socket ${name}`)] : []),
      this.rows(part.ends, (key) => this.terminalButton(things, key)),
      h("p", {}, this.inCircuit("part", name)),
      ...this.cards(things, part.cards),
    ];
  }

  /** @param {"part" | "joint"} kind @param {string} name */
  inCircuit(kind, name) {
    const which = new URLSearchParams(location.search).has("copy") ? `?copy=${encodeURIComponent(copy)}` : "";
    return h("a", { href: `/build/${build}/circuit${which}#${kind}=${encodeURIComponent(name)}` }, "In the circuit");
  }

  /** @param {Things} things @param {string} key */
  terminal(things, key) {
    const terminal = things.tables.terminals[key];
    if (!terminal) return [];
    return [
      h("h2", {}, terminal.label),
      h("p", {}, terminal.joint ? things.terminalState(key) : "spare: nothing goes here"),
      this.rows(terminal.leads, (lead) => this.leadButton(things, lead, key)),
      ...(things.tables.strips[terminal.owner] ? [this.larger(`strip ${terminal.owner}`)] : []),
      ...(terminal.kind === "pin" ? [this.larger(`socket ${terminal.owner}`)] : []),
    ];
  }

  /** @param {Things} things @param {string} name */
  strip(things, name) {
    const { terminals } = things.tables;
    const keys = Object.keys(terminals).filter((key) => terminals[key]?.owner === name);
    return [h("h2", {}, `Strip ${name}`), this.larger(`strip ${name}`), this.rows(keys, (key) => this.terminalButton(things, key))];
  }

  /** @param {Things} things @param {string} joint @param {boolean} whole */
  joint(things, joint, whole) {
    const row = things.tables.joints[joint];
    if (!row) return [];
    const hot = row.worst > things.tables.touch_v;
    const ohms = this.readings?.ohms[joint] ?? [];
    const on = things.at(joint);
    const found = [
      h(whole ? "h2" : "h3", {}, `Joint ${joint}`),
      ...(hot ? [h("p", { class: "hot" }, `Gets as far as ${row.worst.toFixed(0)} V from ground. Measure below ${things.tables.touch_v} V before a hand goes in.`)] : []),
      this.list([
        ["Idle", row.volts],
        ["Ohms to ground", ohms.length ? ohms[0]?.reads ?? "" : this.readings ? "not on the chart" : "being worked out"],
        ["Beware", ohms[0]?.note ?? ""],
        ["At", counted(row.terminals.length, "lug or pin", "lugs and pins")],
      ]),
    ];
    if (!whole) return [...found, this.rows([joint], () => this.button(things, { kind: "joint", name: joint }, `All of ${joint}`, ""))];
    const cards = [...on.wires, ...on.parts].flatMap((name) => (things.tables.wires[name] ?? things.tables.parts[name])?.cards ?? []);
    return [
      ...found,
      this.rows(row.terminals, (key) => this.terminalButton(things, key)),
      this.rows([...on.wires, ...on.parts], (name) => this.thingButton(things, name)),
      ...this.cards(things, [...new Set(cards)].sort((a, b) => a - b)),
    ];
  }

  /** @param {[string, string][]} rows */
  list(rows) {
    return h("dl", {}, ...rows.filter(([, words]) => words).flatMap(([name, words]) => [h("dt", {}, name), h("dd", {}, words)]));
  }

  /** A list; of a long one under the pointer only the beginning. @param {string[]} names @param {(name: string) => Node} make */
  rows(names, make) {
    const shown = names.slice(0, this.most);
    const rest = names.length - shown.length;
    return h("ul", {}, ...shown.map((name) => h("li", {}, make(name))), ...(rest ? [h("li", { class: "faint" }, `and ${rest} more: tap to list them`)] : []));
  }

  /** @param {Things} things @param {Thing} thing @param {string} words @param {string} mark @param {Node[]} before */
  button(things, thing, words, mark, ...before) {
    const button = h("button", { type: "button", class: "to" }, ...before, h("span", {}, words), h("span", { class: "mark" }, mark));
    button.addEventListener("click", () => {
      this.pick(thing);
      const head = this.place.querySelector("h2");
      head?.setAttribute("tabindex", "-1");
      head?.focus();
    });
    return button;
  }

  /** @param {Things} things @param {string} key */
  terminalButton(things, key) {
    return this.button(things, { kind: "terminal", name: key }, things.tables.terminals[key]?.label ?? key, things.terminalState(key));
  }

  /** @param {Things} things @param {string} name */
  thingButton(things, name) {
    const wire = things.tables.wires[name];
    const done = things.done({ kind: wire ? "wire" : "part", name }) ? "in" : "to do";
    if (wire) return this.button(things, { kind: "wire", name }, `${name} ${wire.color}, ${wire.cut || wire.route}`, done, swatch(wire.ink, wire.stripe));
    return this.button(things, { kind: "part", name }, `${name} ${things.tables.parts[name]?.words ?? ""}`, done);
  }

  /** @param {Things} things @param {string} lead @param {string} key */
  leadButton(things, lead, key) {
    const name = ofLead(lead);
    const wire = things.tables.wires[name];
    const mark = things.leadIn(lead, key) ? "in" : "to do";
    if (wire) return this.button(things, { kind: "wire", name }, `${lead} ${wire.color}`, mark, swatch(wire.ink, wire.stripe));
    return this.button(things, { kind: "part", name }, lead, mark);
  }

  /** @param {Things} things @param {number[]} numbers */
  cards(things, numbers) {
    if (!numbers.length) return [];
    return [h("h3", {}, "Job cards"), this.rows(numbers.map(String), (number) => this.cardLink(things, Number(number)))];
  }

  /** @param {Things} things @param {number} number */
  cardLink(things, number) {
    const card = things.tables.cards[number - 1];
    return this.link(number, `Card ${number}: ${card?.title ?? ""} (${things.state.cards[number - 1] ?? "open"})`);
  }

  /** @param {number} number @param {string} words */
  link(number, words) {
    const which = new URLSearchParams(location.search).has("copy") ? `?copy=${encodeURIComponent(copy)}` : "";
    return h("a", { href: `/build/${build}/work${which}#card-${number}` }, words);
  }

  /** @param {string} name */
  larger(name) {
    const button = h("button", { type: "button" }, `Enlarge ${name}`);
    button.addEventListener("click", () => this.enlarge(name));
    return h("p", {}, button);
  }
}

/** A number with its noun. @param {number} count @param {string} one @param {string} many */
export function counted(count, one, many) {
  return `${count} ${count === 1 ? one : many}`;
}

/** A piece of wire. @param {string} ink @param {string} stripe */
function swatch(ink, stripe) {
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("class", "swatch");
  svg.setAttribute("viewBox", "0 0 24 9");
  svg.setAttribute("aria-hidden", "true");
  for (const [color, width, dash] of [["#111", "8", ""], [ink, "5.6", ""], [stripe, "3", "4 3"]]) {
    if (!color) continue;
    const line = document.createElementNS(SVG, "path");
    line.setAttribute("d", "M0 4.5H24");
    line.setAttribute("stroke", color);
    line.setAttribute("stroke-width", width ?? "1");
    if (dash) line.setAttribute("stroke-dasharray", dash);
    svg.append(line);
  }
  return svg;
}
