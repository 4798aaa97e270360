// One socket for each tab: questions, deeds, errands, and what changes. A deed stays in this tab until the server has
// stored it, an errand until it is done.

import { Outbox, tabStorage } from "./outbox.js";

/** @typedef {{what: string, found: string, wanted: string, do: string}} FourLines */
/** @typedef {{t: string, [key: string]: any}} Message */
/** @typedef {import("./outbox.js").Deed} Deed */

export const build = document.body.dataset.build ?? "";
export const copy = document.body.dataset.copy ?? "";
const WAIT_MS = [250, 500, 1000, 2000, 4000];
const AGAIN_MS = 2000; // to try a deed again that could not be stored
const SILENT_MS = 5000; // a server that says nothing for so long when it is asked is gone
const LOOK_MS = 15000;

/** An error as the server tells it. */
export class Told extends Error {
  /** @param {FourLines} lines @param {boolean} [stopped] whether that was wished here */
  constructor(lines, stopped = false) {
    super(lines.what);
    this.lines = lines;
    this.stopped = stopped;
  }
}

/** @type {WebSocket | undefined} */
let socket;
let tries = 0;
let paired = true;
let number = 0;
/** @type {number | undefined} */
let silence;
/** The deed that has been sent and not been answered. */
let sent = "";
/** @type {Map<number, {message: Message, answered: (answer: any) => void, refused: (error: Told) => void}>} */
const questions = new Map();
const outbox = new Outbox(tabStorage());
const errands = new Outbox(tabStorage(), "errand");
/** What was cancelled while there was no connection. @type {object[]} */
const cancelled = [];
/** @type {Map<string, {answered: (answer: any) => void, refused: (error: Told) => void}>} */
const doers = new Map();
/** @type {Map<string, Set<(message: Message) => void>>} */
const ears = new Map();

/** Calls a function with every message of a kind: "changed", "progress", "waits" (for what a
 * question or an errand waits), "link" (how the socket stands), "stored" (a
 * deed of this tab), "trouble" (an error nobody waits for).
 * @param {string} kind @param {(message: Message) => void} ear */
export function on(kind, ear) {
  const those = ears.get(kind) ?? new Set();
  ears.set(kind, those.add(ear));
}

/** Calls a function now, and again whenever something has changed or the lost connection is back.
 * A module may be loaded after the socket was opened: waiting for its first word could be waiting for ever.
 * @param {() => void} ear */
export function whenever(ear) {
  let lost = false;
  on("link", (message) => {
    if (!message.open) lost = true;
  });
  on("changed", (message) => {
    if (message.kind === "link" && !lost) return;
    lost = false;
    ear();
  });
  ear();
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
  const answer = answerOf(outbox.add(what, build, copy, args).cid);
  sendFirst();
  tellLink();
  return answer;
}

/** Has something done that takes long. No deed waits behind it, and it goes on without this page.
 * @param {string} what @param {object} [args] @returns {Promise<any>} */
export function errand(what, args = {}) {
  const sent = errands.add(what, build, copy, args);
  send(sent);
  return answerOf(sent.cid);
}

/** The errand of this kind that this tab has sent from a page before this one, and that is not done yet.
 * @param {string} what @returns {{args: any, answer: Promise<any>} | undefined} */
export function underWay(what) {
  const found = [...errands.deeds.values()].find((each) => each.what === what && each.build === build && each.copy === copy);
  return found && { args: found.args, answer: answerOf(found.cid) };
}

/** @param {string} cid @returns {Promise<any>} */
function answerOf(cid) {
  return new Promise((answered, refused) => doers.set(cid, { answered, refused }));
}

/** Ends what takes long and was asked for here. @param {string} what */
export function cancel(what) {
  const message = { t: "cancel", what, build, copy };
  if (socket?.readyState === WebSocket.OPEN) send(message);
  else cancelled.push(message);
}

/** How many deeds are not stored yet. */
export function unsaved() {
  return outbox.size;
}

/** The deeds of this tab that are not stored yet. @returns {Deed[]} */
export function pending() {
  return [...outbox.deeds.values()];
}

/** Forgets a deed that cannot be stored, because its doer says so. @param {string} cid */
export function giveUp(cid) {
  finish(cid)?.refused(new Told(GIVEN_UP));
  sendFirst();
}

const GIVEN_UP = {
  what: "it was not stored",
  found: "given up in this tab",
  wanted: "an entry in the log",
  do: "do it again when the log can be written",
};

function tellLink() {
  const open = socket?.readyState === WebSocket.OPEN;
  tell({ t: "link", open, unsaved: outbox.size, kept: outbox.kept, paired: open || paired });
}

/** @param {object} message */
function send(message) {
  if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(message));
}

/** Sends the oldest deed, unless one is on its way: they are stored in the order in which they were done. */
function sendFirst() {
  const first = outbox.first;
  if (!first || sent || socket?.readyState !== WebSocket.OPEN) return;
  sent = first.cid;
  send(first);
}

/** @param {Message} message */
function tell(message) {
  for (const ear of ears.get(message.t) ?? []) ear(message);
}

function connect() {
  const mine = new WebSocket(`${location.origin.replace(/^http/, "ws")}/socket`);
  socket = mine;
  mine.onopen = () => {
    tries = 0;
    if (build) send({ t: "hello", build });
    for (const each of questions.values()) send(each.message);
    for (const each of errands.deeds.values()) send(each);
    for (const each of cancelled.splice(0)) send(each);
    sendFirst();
    tellLink();
    tell({ t: "changed", build, kind: "link" });
  };
  setTimeout(() => {
    if (mine === socket && mine.readyState === WebSocket.CONNECTING) drop();
  }, SILENT_MS);
  mine.onclose = lost;
  mine.onmessage = (event) => {
    clearTimeout(silence);
    silence = undefined;
    hear(JSON.parse(event.data));
  };
}

function lost() {
  clearTimeout(silence);
  silence = undefined;
  sent = "";
  if (socket) socket.onclose = socket.onmessage = socket.onopen = null;
  tellLink();
  if (tries > 0) void seeWhetherPaired();
  setTimeout(connect, WAIT_MS[Math.min(tries++, WAIT_MS.length - 1)]);
}

/** Finds out whether the bench is there and does not let this device in. */
async function seeWhetherPaired() {
  try {
    paired = (await fetch("/static/link.js", { method: "HEAD", cache: "no-store" })).status !== 401;
  } catch {
    return; // nobody is there
  }
  tellLink();
}

/** Asks whether the server is still there: after sleep a socket may look open that nobody holds the other end of. */
function look() {
  if (document.visibilityState !== "visible" || socket?.readyState !== WebSocket.OPEN || silence !== undefined) return;
  send({ t: "there?" });
  silence = setTimeout(drop, SILENT_MS);
}

function drop() {
  socket?.close();
  lost();
}

/** @param {Message} message */
function hear(message) {
  if (message.t === "answer") {
    const question = questions.get(message.id);
    questions.delete(message.id);
    if (message.error) question?.refused(new Told(message.error, message.stopped));
    else question?.answered(message.answer);
  } else if (message.t === "done") {
    done(message);
  } else if (!TOLD_OF_WORK.has(message.t) || (message.build === build && message.copy === copy)) {
    tell(message);
  }
}

const TOLD_OF_WORK = new Set(["progress", "waits"]); // of an errand that another page of this tab has sent, too

/** @param {Message} message */
function done(message) {
  if (sent === message.cid) sent = "";
  if (message.error && message.keep && outbox.deeds.has(message.cid)) {
    tell({ t: "trouble", error: message.error, cid: message.cid });
    setTimeout(sendFirst, AGAIN_MS);
    return;
  }
  const doer = finish(message.cid);
  if (message.error && doer) doer.refused(new Told(message.error, message.stopped));
  else if (message.error && !message.stopped) tell({ t: "trouble", error: message.error });
  else doer?.answered(message.answer);
  if (!message.error) tell({ t: "stored", cid: message.cid, what: message.what });
  sendFirst();
}

/** @param {string} cid */
function finish(cid) {
  outbox.drop(cid);
  errands.drop(cid);
  tellLink();
  const doer = doers.get(cid);
  doers.delete(cid);
  return doer;
}

addEventListener("beforeunload", (event) => {
  // A page of ours that this tab goes to next sends what is kept; a closed tab does not.
  if (outbox.size > 0 && (!outbox.kept || socket?.readyState !== WebSocket.OPEN)) event.preventDefault();
});
document.addEventListener("visibilitychange", look);
addEventListener("online", look);
addEventListener("pageshow", look);
setInterval(look, LOOK_MS);
connect();
