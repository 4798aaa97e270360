// What a tab keeps until it is stored: in order, over a reload, also where the browser keeps nothing.
import assert from "node:assert/strict";
import test from "node:test";
import { Outbox } from "../../../src/lugwright/web/static/outbox.js";

/** A storage of a tab. @param {Record<string, string>} held */
function storage(held = {}) {
  return {
    held,
    /** @param {string} key */
    getItem: (key) => held[key] ?? null,
    /** @param {string} key @param {string} value */
    setItem: (key, value) => void (held[key] = value),
  };
}

test("deeds leave in the order in which they were done", () => {
  const outbox = new Outbox(storage());
  const [first, second] = ["R1.1", "R1.2"].map((lead) => outbox.add("tick", "amp", "1", { leads: [lead] }));
  assert.equal(outbox.first, first);
  outbox.drop(first.cid);
  assert.equal(outbox.first, second);
  assert.equal(outbox.drop(second.cid), second);
  assert.equal(outbox.drop(second.cid), undefined);
  assert.equal(outbox.size, 0);
});

test("every deed has a name of its own, of 32 hexadecimal digits", () => {
  const outbox = new Outbox(undefined);
  const names = Array.from({ length: 100 }, () => outbox.add("tick", "amp", "1", {}).cid);
  assert.equal(new Set(names).size, 100);
  assert.ok(names.every((name) => /^[0-9a-f]{32}$/.test(name)));
});

test("what is kept is found again in the same order, and sent under the same names", () => {
  const held = storage();
  const before = new Outbox(held);
  const deeds = [1, 2, 3].map((number) => before.add("tick", "amp", "7", { cards: [number] }));
  before.drop(deeds[0].cid);
  const after = new Outbox(held);
  assert.deepEqual([...after.deeds.values()], deeds.slice(1));
  assert.equal(after.kept, true);
});

test("a storage that is full, forbidden or not there loses nothing while the page lives", () => {
  const full = { getItem: () => null, setItem: () => { throw new Error("full"); } };
  const forbidden = { getItem: () => { throw new Error("no"); }, setItem: () => { throw new Error("no"); } };
  for (const each of [full, forbidden, undefined]) {
    const outbox = new Outbox(each);
    const deed = outbox.add("note", "amp", "1", { text: "loose" });
    assert.equal(outbox.first, deed);
    assert.equal(outbox.kept, false);
  }
});

test("what is no deed of ours in the storage is left out", () => {
  const good = { t: "deed", cid: "ab".repeat(16), what: "tick", build: "amp", copy: "", args: {} };
  for (const text of ["{", "null", "7", '"x"', "[null, 7, {}]", JSON.stringify([{ ...good, cid: "AB" }])]) {
    assert.equal(new Outbox(storage({ deeds: text })).size, 0, text);
  }
  assert.equal(new Outbox(storage({ deeds: JSON.stringify([null, good]) })).size, 1);
});

test("errands are kept apart from deeds, so that none waits behind one", () => {
  const held = storage();
  const [deeds, errands] = [new Outbox(held), new Outbox(held, "errand")];
  const plan = errands.add("plan", "amp", "1", {});
  const tick = deeds.add("tick", "amp", "1", {});
  assert.equal(plan.t, "errand");
  assert.equal(deeds.first, tick);
  assert.deepEqual([...new Outbox(held, "errand").deeds.values()], [plan]);
  assert.deepEqual([...new Outbox(held).deeds.values()], [tick]);
});
