// What hangs together: from a wire, part, lug or joint to everything on its joint; what a filter leaves; what is done.

/** @typedef {import("./wiring_lit.js").Thing} Thing */
/** @typedef {import("./wiring_lit.js").Lit} Lit */
/** @typedef {{terminals: string[], volts: string, worst: number}} Joint */
/** @typedef {{label: string, owner: string, kind: string, joint: string, leads: string[]}} Terminal */
/** @typedef {{joint: string, ends: [string, string], kind: string, color: string, type: string, ink: string, stripe: string, cut: string, route: string, strip: string, jacket: string, twist: string, bond: string, shield: string, over: string[], cards: number[]}} Wire */
/** @typedef {{words: string, ends: string[], seated: boolean, leads: string[], layer: number, cards: number[]}} Part */
/** @typedef {{number: number, phase: string, title: string, text: string[], things: string[], terminals: string[], cautions: string[], solder: string[], waits: string[]}} Card */
/** @typedef {{plan: string, fingerprint: string, mark?: string, joints: Record<string, Joint>, terminals: Record<string, Terminal>, wires: Record<string, Wire>, parts: Record<string, Part>, buses: Record<string, string>, strips: Record<string, {at: [number, number], turn: number}>, cards: Card[], phases: string[], layers: Record<string, string>, touch_v: number}} Tables */
/** @typedef {{plan: string, fingerprint: string, next: number, cards: string[], leads: string[], wires: Record<string, string[]>, soldered: string[], in: number, of: number}} State */
/** @typedef {{step: string, layer: string, volts: number, work: string}} Filter */

const REFERENCES = new Set(["ground", "chassis", "earth"]);

export class Things {
  /** @param {Tables} tables @param {State} state */
  constructor(tables, state) {
    this.tables = tables;
    this.state = state;
    this.leads = new Set(state.leads);
    this.soldered = new Set(state.soldered);
    /** @type {Map<string, {wires: string[], parts: string[], buses: string[]}>} */
    this.on = new Map();
    for (const [name, wire] of Object.entries(tables.wires)) {
      for (const joint of this.jointsOfEnds([...wire.ends, wire.shield], wire.joint)) this.at(joint).wires.push(name);
    }
    for (const [name, part] of Object.entries(tables.parts)) {
      if (part.seated) for (const joint of this.jointsOfEnds(part.ends)) this.at(joint).parts.push(name);
    }
    for (const [name, joint] of Object.entries(tables.buses)) this.at(joint).buses.push(name);
  }

  /** @param {string} joint */
  at(joint) {
    const found = this.on.get(joint) ?? { wires: [], parts: [], buses: [] };
    this.on.set(joint, found);
    return found;
  }

  /** @param {readonly string[]} ends @param {string} [first] */
  jointsOfEnds(ends, first = "") {
    const joints = [first, ...ends.map((key) => this.tables.terminals[key]?.joint ?? "")];
    return [...new Set(joints.filter((joint) => joint))];
  }

  /** What a name stands for, as it is typed. @param {string} typed @returns {Thing | null} */
  called(typed) {
    const { wires, parts, buses, strips, joints, terminals } = this.tables;
    const name = typed.trim();
    if (wires[name]) return { kind: "wire", name };
    if (parts[name]) return { kind: "part", name };
    if (name in buses) return { kind: "bus", name };
    if (terminals[name]) return { kind: "terminal", name };
    if (joints[name]) return { kind: "joint", name };
    if (strips[name]) return { kind: "strip", name };
    const labelled = Object.entries(terminals).find(([, terminal]) => terminal.label === name);
    if (labelled) return { kind: "terminal", name: labelled[0] };
    const upper = name.toUpperCase();
    return upper === name || !name ? null : this.called(upper);
  }

  /** A thing as the drawing names it: a word beside a strip or a bus is no part. @param {Thing | null} thing */
  resolved(thing) {
    if (!thing || (thing.kind === "part" && !this.tables.parts[thing.name])) return thing && this.called(thing.name);
    return thing;
  }

  /** @param {Thing} thing */
  joints(thing) {
    const { wires, parts, buses, terminals } = this.tables;
    if (thing.kind === "joint") return [thing.name];
    if (thing.kind === "bus") return [buses[thing.name] ?? ""].filter((joint) => joint);
    if (thing.kind === "terminal") return this.jointsOfEnds([thing.name]);
    const wire = wires[thing.name];
    if (thing.kind === "wire" && wire) return this.jointsOfEnds(wire.ends, wire.joint);
    const part = parts[thing.name];
    if (thing.kind === "part" && part) return this.jointsOfEnds(part.ends);
    return this.jointsOfEnds(Object.keys(terminals).filter((key) => terminals[key]?.owner === thing.name));
  }

  /** Everything on the joints of a thing. Of ground, chassis and earth a part shows only what is on its own lug.
   * @param {Thing} thing @returns {Lit} */
  lit(thing) {
    /** @type {Lit} */
    const lit = { things: new Set(), terminals: new Set() };
    const part = this.tables.parts[thing.name];
    if (thing.kind === "strip" || (thing.kind === "part" && part && !part.seated)) return this.litOwner(thing.name);
    const several = thing.kind === "part";
    if (thing.kind !== "joint" && thing.kind !== "terminal") lit.things.add(thing.name);
    if (thing.kind === "terminal") lit.terminals.add(thing.name);
    for (const joint of this.joints(thing)) {
      if (several && REFERENCES.has(joint)) this.addLugs(lit, (part?.ends ?? []).filter((key) => this.tables.terminals[key]?.joint === joint));
      else this.addJoint(lit, joint);
    }
    return lit;
  }

  /** @param {Lit} lit @param {string} joint */
  addJoint(lit, joint) {
    for (const key of this.tables.joints[joint]?.terminals ?? []) lit.terminals.add(key);
    const on = this.at(joint);
    for (const name of [...on.wires, ...on.parts, ...on.buses]) lit.things.add(name);
  }

  /** @param {Lit} lit @param {string[]} keys */
  addLugs(lit, keys) {
    for (const key of keys) {
      lit.terminals.add(key);
      for (const lead of this.tables.terminals[key]?.leads ?? []) lit.things.add(ofLead(lead));
    }
  }

  /** @param {string} owner @returns {Lit} */
  litOwner(owner) {
    /** @type {Lit} */
    const lit = { things: new Set([owner]), terminals: new Set() };
    const { terminals } = this.tables;
    this.addLugs(lit, Object.keys(terminals).filter((key) => terminals[key]?.owner === owner));
    return lit;
  }

  /** The same with the owners of the lugs and pins: a drawing of the other side shows them alone. @param {Lit} lit @returns {Lit} */
  withOwners(lit) {
    const owners = [...lit.terminals].map((key) => this.tables.terminals[key]?.owner ?? "");
    return { ...lit, things: new Set([...lit.things, ...owners]) };
  }

  /** What one card needs, and nothing else. @param {Card} card @returns {Lit} */
  litCard(card) {
    return { things: new Set(card.things), terminals: new Set(card.terminals) };
  }

  /** What is left by a filter; null where nothing is filtered. @param {Filter} filter @returns {Lit | null} */
  filtered(filter) {
    if (!filter.step && !filter.layer && !filter.volts && !filter.work) return null;
    const { wires, parts, buses, terminals, cards, joints, touch_v } = this.tables;
    const inStep = cards.filter((card) => card.phase === filter.step);
    const named = new Set(inStep.flatMap((card) => card.things));
    const keyed = new Set(inStep.flatMap((card) => card.terminals));
    /** @param {string[]} names */
    const high = (names) => !filter.volts || names.some((joint) => (joints[joint]?.worst ?? 0) >= filter.volts);
    /** @param {Thing} thing @param {Set<string>} step */
    const wanted = (thing, step) =>
      (!filter.step || step.has(thing.name)) && (!filter.layer || this.isIn(thing, filter.layer)) && high(this.joints(thing)) && (!filter.work || this.done(thing) === (filter.work === "done"));
    const seated = Object.keys(parts).filter((name) => parts[name]?.seated);
    const things = [
      ...Object.keys(wires).filter((name) => wanted({ kind: "wire", name }, named)),
      ...seated.filter((name) => wanted({ kind: "part", name }, named)),
      ...Object.keys(buses).filter((name) => filter.layer && !filter.work && wanted({ kind: "bus", name }, named)),
    ];
    const lugs = Object.keys(terminals).filter((key) => terminals[key]?.leads.length && wanted({ kind: "terminal", name: key }, keyed));
    const hot = filter.volts ? lugs.filter((key) => (joints[terminals[key]?.joint ?? ""]?.worst ?? 0) > touch_v) : [];
    return { things: new Set(things), terminals: new Set(lugs), hot: new Set(hot) };
  }

  /** Whether a thing is of a layer; a terminal is of those of its leads. @param {Thing} thing @param {string} layer */
  isIn(thing, layer) {
    const { layers, terminals } = this.tables;
    if (thing.kind !== "terminal") return layers[thing.name] === layer;
    return (terminals[thing.name]?.leads ?? []).some((lead) => layers[ofLead(lead)] === layer);
  }

  /** Whether the log says that a thing is in, or a terminal soldered. @param {Thing} thing */
  done(thing) {
    if (thing.kind === "terminal") return this.soldered.has(thing.name);
    const wire = this.tables.wires[thing.name];
    if (wire) return wire.ends.every((key) => this.leadIn(thing.name, key));
    const part = this.tables.parts[thing.name];
    return !!part?.seated && part.leads.every((lead) => this.leads.has(`${thing.name}.${lead}`));
  }

  /** Whether a lead, as the plan names it, is in its terminal. @param {string} lead @param {string} key */
  leadIn(lead, key) {
    const [first] = lead.split(" ");
    return /^W\d+$/.test(first ?? "") ? (this.state.wires[first ?? ""] ?? []).includes(key) : this.leads.has(lead);
  }

  /** How far a terminal is, in words. @param {string} key */
  terminalState(key) {
    const leads = this.tables.terminals[key]?.leads ?? [];
    if (!leads.length) return "spare";
    const count = leads.filter((lead) => this.leadIn(lead, key)).length;
    if (this.soldered.has(key)) return count === leads.length ? "soldered" : `soldered, ${count} of ${leads.length} in`;
    return count ? `${count} of ${leads.length} in` : "to do";
  }

  /** Names to be found by, parts first. */
  names() {
    const { parts, wires, joints, terminals, strips, buses } = this.tables;
    return [...new Set([...Object.keys(parts), ...Object.keys(strips), ...Object.keys(buses), ...Object.keys(wires), ...Object.keys(joints), ...Object.keys(terminals)])];
  }
}

/** The part or wire that a lead belongs to. @param {string} lead */
export function ofLead(lead) {
  const [first = ""] = lead.split(" ");
  return /^W\d+$/.test(first) ? first : first.slice(0, first.lastIndexOf("."));
}
