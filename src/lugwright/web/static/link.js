// One socket for each tab: questions, deeds, and what changes. A deed stays in this tab until the server has stored it.

/** @typedef {{what: string, found: string, wanted: string, do: string}} FourLines */
/** @typedef {{t: string, [key: string]: any}} Message */
/** @typedef {{t: "deed", cid: string, what: string, build: string, copy: string, args: object}} Deed */

export const build = document.body.dataset.build ?? "";
export const copy = document.body.dataset.copy ?? "";
const WAIT_MS = [250, 500, 1000, 2000, 4000];
const KEPT = `deeds ${build}`;

/** An error as the server tells it. */
export class Told extends Error {
  /** @param {FourLines} lines */
  constructor(lines) {
    super(lines.what);
    this.lines = lines;
  }
}

/** @type {WebSocket | undefined} */
let socket;
let tries = 0;
let number = 0;
/** @type {Map<number, {message: Message, answered: (answer: any) => void, refused: (error: Told) => void}>} */
const questions = new Map();
/** Deeds that the server has not stored yet, over a reload of the tab too. @type {Map<string, Deed>} */
const deeds = new Map(JSON.parse(sessionStorage.getItem(KEPT) ?? "[]"));
/** @type {Map<string, {answered: (answer: any) => void, refused: (error: Told) => void}>} */
const doers = new Map();
/** @type {Map<string, Set<(message: Message) => void>>} */
const ears = new Map();

/** Calls a function with every message of a kind: "changed", "progress", "link" (how the socket stands).
 * @param {string} kind @param {(message: Message) => void} ear */
export function on(kind, ear) {
  const those = ears.get(kind) ?? new Set();
  ears.set(kind, those.add(ear));
}

/** Asks something; the promise fails with `Told` where there is no answer.
 * ``of``: another build than that of the page.
 * @param {string} what @param {object} [args] @param {string} [of] @returns {Promise<any>} */
export function ask(what, args = {}, of = build) {
  const id = ++number;
  const message = { t: "ask", id, what, build: of, copy: of === build ? copy : "", args };
  return new Promise((answered, refused) => {
    questions.set(id, { message, answered, refused });
    send(message);
  });
}

/** Has something written; it is kept and sent again until it is stored. The promise may outlive a lost connection.
 * @param {string} what @param {object} [args] @returns {Promise<any>} */
export function deed(what, args = {}) {
  const cid = Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
  /** @type {Deed} */
  const message = { t: "deed", cid, what, build, copy, args };
  deeds.set(cid, message);
  keep();
  return new Promise((answered, refused) => {
    doers.set(cid, { answered, refused });
    send(message);
  });
}

/** Ends what takes long on the server. */
export function cancel() {
  send({ t: "cancel" });
}

/** How many deeds are not stored yet. */
export function unsaved() {
  return deeds.size;
}

function keep() {
  sessionStorage.setItem(KEPT, JSON.stringify([...deeds]));
  tell({ t: "link", open: socket?.readyState === WebSocket.OPEN, unsaved: deeds.size });
}

/** @param {object} message */
function send(message) {
  if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message));
}

/** @param {Message} message */
function tell(message) {
  for (const ear of ears.get(message.t) ?? []) ear(message);
}

function connect() {
  socket = new WebSocket(`${location.origin.replace(/^http/, "ws")}/socket`);
  socket.onopen = () => {
    tries = 0;
    if (build) send({ t: "hello", build });
    for (const each of deeds.values()) send(each);
    for (const each of questions.values()) send(each.message);
    keep();
    tell({ t: "changed", build, kind: "link" });
  };
  socket.onclose = () => {
    tell({ t: "link", open: false, unsaved: deeds.size });
    setTimeout(connect, WAIT_MS[Math.min(tries++, WAIT_MS.length - 1)]);
  };
  socket.onmessage = (event) => hear(JSON.parse(event.data));
}

/** @param {Message} message */
function hear(message) {
  if (message.t === "answer") {
    const question = questions.get(message.id);
    questions.delete(message.id);
    if (message.error) question?.refused(new Told(message.error));
    else question?.answered(message.answer);
  } else if (message.t === "done") {
    if (message.error && message.keep) {
      setTimeout(() => send(deeds.get(message.cid) ?? {}), 2000);
      tell({ t: "trouble", error: message.error });
      return;
    }
    deeds.delete(message.cid);
    keep();
    const doer = doers.get(message.cid);
    doers.delete(message.cid);
    if (message.error && doer) doer.refused(new Told(message.error));
    else if (message.error) tell({ t: "trouble", error: message.error });
    else doer?.answered(message.answer);
  } else {
    tell(message);
  }
}

connect();
