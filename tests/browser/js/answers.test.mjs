// Curves kept and fetched ahead: asked once, nearest first, never while somebody waits, forgotten with the build.
import assert from "node:assert/strict";
import test from "node:test";
import { Answers } from "../../../src/lugwright/web/static/circuit-answers.js";

/** @param {string} change */
const asked = (change) => ({ changes: [change], moved: change, source: "", output: "" });

/** A server that writes down what it is asked. @param {{busy?: () => boolean, pause?: () => void}} [given] */
function served({ busy = () => false, pause = () => {} } = {}) {
  /** @type {string[]} */
  const heard = [];
  const answers = new Answers(
    async ({ changes }) => {
      heard.push(changes.join());
      if (changes.includes("R1=red")) throw new Error("no resistance");
      return /** @type {any} */ ({ of: changes.join() });
    },
    busy,
    async () => pause(),
  );
  return { heard, answers };
}

test("the same is asked once, whichever slider it was come to with", async () => {
  const { heard, answers } = served();
  const first = await answers.of(asked("R1=1k"));
  assert.equal(await answers.of({ ...asked("R1=1k"), moved: null }), first);
  await answers.of({ ...asked("R1=1k"), source: "V1a.grid" });
  assert.deepEqual(heard, ["R1=1k", "R1=1k"]);
});

test("what is fetched ahead comes in the order wished, and a refusal stops nothing and is asked again by a hand", async () => {
  const { heard, answers } = served();
  await answers.ahead(() => ["R1=1k", "R1=red", "R1=2k"].map(asked));
  assert.deepEqual(heard, ["R1=1k", "R1=red", "R1=2k"]);
  await assert.rejects(answers.of(asked("R1=red")));
  assert.equal(heard.length, 4);
});

test("a newer wish takes the place of the older, one question at a time", async () => {
  const { heard, answers } = served();
  const older = answers.ahead(() => ["R1=1k", "R1=2k", "R1=3k"].map(asked));
  await answers.ahead(() => ["R2=1k"].map(asked));
  await older;
  assert.deepEqual(heard, ["R1=1k", "R2=1k"]);
});

test("nothing is fetched while somebody waits", async () => {
  let pauses = 0;
  const { heard, answers } = served({ busy: () => pauses < 3, pause: () => void pauses++ });
  await answers.ahead(() => ["R1=1k"].map(asked));
  assert.equal(pauses, 3);
  assert.deepEqual(heard, ["R1=1k"]);
});

test("a build that has changed is asked anew, and an answer of before is not kept for it", async () => {
  const { heard, answers } = served();
  const late = answers.of(asked("R1=1k"));
  answers.forget();
  await late;
  await answers.of(asked("R1=1k"));
  assert.deepEqual(heard, ["R1=1k", "R1=1k"]);
});

test("what was asked longest ago is forgotten first", async () => {
  const { heard, answers } = served();
  for (let k = 0; k <= 600; k++) await answers.of(asked(`R1=${k}`));
  await answers.of(asked("R1=600"));
  assert.equal(heard.length, 601);
  await answers.of(asked("R1=0"));
  assert.equal(heard.length, 602);
});
