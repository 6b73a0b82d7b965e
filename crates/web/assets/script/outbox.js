// Entries that wait on this phone until the server has them: written down before anything says
// "saved", sent again and again, never dropped. What the server does not take is shown.

import { heardTime } from "./clock.js";
import { pause } from "./rules.js";
import { allEntries, dropEntries, keepEntries, settledEntries, settleEntries } from "./shelf.js";

const ANSWER_WITHIN_MS = 8000;
const AT_ONCE = 50; // entries in one request: far below the hundred that are taken
const AGAIN = new Set([401, 408, 409, 425, 429]); // of the refusals, those that are tried again or kept by the server

const listeners = new Set();
/** What the page shows of the outbox. */
export const line = { waiting: [], refused: [], settled: [], reachedAt: Date.now(), savedAt: null, isReached: true, token: "" };

export function onLine(listener) {
  listeners.add(listener);
}
export function tellLine() {
  for (const listener of listeners) listener(line);
}

export async function readOutbox() {
  const all = (await allEntries()).sort((a, b) => (a.id < b.id ? -1 : 1));
  line.waiting = all.filter((e) => !e.refused);
  line.refused = all.filter((e) => e.refused);
  line.settled = await settledEntries();
  tellLine();
  return all;
}

/** A request that is given up after a while; notes whether the server answers, and its time. */
export async function ask(path, options = {}, within = ANSWER_WITHIN_MS) {
  const sent = Date.now();
  try {
    const answer = await fetch(path, { ...options, signal: AbortSignal.timeout(within), cache: "no-store" });
    const text = await answer.text();
    reached();
    const said = answer.headers.get("content-type")?.includes("json") ? JSON.parse(text) : { text };
    if (said.server_now_ms) heardTime(sent, Date.now(), said.server_now_ms);
    return { status: answer.status, said };
  } catch {
    notReached();
    return null;
  }
}

export const asJson = (method, body) => ({
  method,
  headers: { "content-type": "application/json", "whelpward-token": line.token },
  body: JSON.stringify(body),
});

/** The server has answered, or its stream has. */
export function reached() {
  const wasGone = !line.isReached;
  line.isReached = true;
  line.reachedAt = Date.now();
  if (wasGone) {
    tries = 0;
    tellLine();
    send();
  }
}

export function notReached() {
  if (line.isReached) line.isReached = false;
  tellLine();
}

/** Writes entries down on this phone; when this is done they may be called kept. */
export async function keep(entries) {
  await keepEntries(entries);
  await readOutbox();
  if (entries.some((e) => !e.asking) && !timer) later();
}

/** The server has them; until a plan knows them they count on this phone. */
export async function settled(ids) {
  await settleEntries(ids);
  line.savedAt = Date.now();
  await readOutbox();
}

/** Somebody decided against them before they counted as saved, or the server's own page takes them. */
export async function forget(ids) {
  await dropEntries(ids);
  await readOutbox();
}

function clocksOf(entry) {
  // The program compares this with its own time: a clock that jumped since, perhaps before a reload, is found out.
  const clocks = { ahead_ms: entry.ahead, sent_wall_ms: Math.round(Date.now()) };
  // The steady clock counts from the start of this page only.
  if (entry.origin === performance.timeOrigin) {
    clocks.age_wall_ms = Math.round(Date.now() - entry.wall);
    clocks.age_steady_ms = Math.round(performance.now() - entry.steady);
  }
  return clocks;
}

export const asEvent = (entry) => ({ fact: entry.fact, clocks: clocksOf(entry) });

let tries = 0;
let timer = 0;
let isSending = false;

function later() {
  clearTimeout(timer);
  timer = setTimeout(send, pause(tries) * 1000);
  tries += 1;
}

/** Sends what waits, oldest first; goes on until nothing waits. */
export async function send() {
  clearTimeout(timer);
  timer = 0;
  if (isSending) return;
  isSending = true;
  try {
    const waiting = (await readOutbox()).filter((e) => !e.refused && !(e.asking > Date.now()));
    if (waiting.length === 0) return;
    const part = waiting.slice(0, AT_ONCE);
    const isDone = part.length === 1 ? await sendOne(part[0]) : await sendMany(part);
    if (!isDone) return later();
    tries = 0;
    timer = setTimeout(send, 0);
  } finally {
    isSending = false;
  }
}

async function sendOne(entry) {
  const answer = await ask(`/api/v1/events/${entry.id}?${new URLSearchParams(clocksOf(entry))}`, asJson("PUT", entry.fact));
  return answer !== null && settle([entry], answer.status, [answer.said]);
}

async function sendMany(entries) {
  const answer = await ask("/api/v1/events", asJson("POST", { events: entries.map(asEvent) }));
  if (answer === null) return false;
  return settle(entries, answer.status, answer.said.results ?? entries.map(() => answer.said));
}

/** Each entry by what was said of it. A refusal sets it aside on the phone, with the reason. */
async function settle(entries, status, said) {
  if (status >= 500 || (AGAIN.has(status) && status !== 409)) return false;
  const done = [];
  const refused = [];
  entries.forEach((entry, i) => {
    const result = said[i]?.result;
    // What the server keeps aside is in its hands: a person there is asked.
    if (["saved", "already_there", "kept_aside"].includes(result)) done.push(entry.id);
    else refused.push({ ...entry, refused: said[i]?.why ?? `HTTP ${status}` });
  });
  if (refused.length > 0) await keepEntries(refused);
  if (done.length > 0) {
    await settleEntries(done);
    line.savedAt = Date.now();
  }
  await readOutbox();
  return true;
}

/** A person asks to send again what was refused. */
export async function sendAgain() {
  await keepEntries(line.refused.map(({ refused, ...entry }) => entry));
  await send();
}

export function startOutbox(token) {
  line.token = token;
  addEventListener("online", () => { tries = 0; send(); });
  addEventListener("offline", notReached);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) { tries = 0; send(); } });
  send();
}
