// Hears what another phone writes, and what the scale says, while the page is seen; keeps the plan
// fresh; says when a feed is late.

import { away, newPlan, redraw, settledHere, writtenHere } from "./away.js";
import { keptClock, litterNow, showClock } from "./clock.js";
import { makeEntry } from "./facts.js";
import { announce, back, clocks } from "./glass.js";
import { ask, keep, line, onLine, reached, readOutbox, send } from "./outbox.js";
import { keepFrame } from "./padlock.js";
import { label } from "./pad.js";
import { dueFeeds, lateFeeds } from "./rules.js";
import { go } from "./save.js";
import { forgetPlan, keepPlan, keptPlan } from "./shelf.js";

const RETRY_MS = 20000; // the server has no place for this page now, or no stream comes through
const SILENT_MS = 40000; // a beat comes every 15 s: the way is gone
const TICK_MS = 10000;
const PLAN_OLD_MS = 30 * 60e3;

/** The scale's settled weight stands in the field, unless a person has typed. */
function scale() {
  const box = document.querySelector("[data-scale]");
  const form = box?.parentElement.querySelector("form");
  const field = form?.querySelector("[data-number]");
  if (!field) return () => {};
  const { offer, moved, pounds } = form.elements;
  const text = box.querySelector(".scale-text");
  const moving = box.querySelector(".scale-moving");
  const median = box.querySelector("[data-median]");
  // What the scale put there; anything else was typed by a person and stays.
  let filled = offer.value === "" ? "" : field.value;
  const fill = (given, isMoving) => {
    field.value = filled = given.weight;
    if (pounds) pounds.value = given.pounds;
    moved.value = isMoving ? "yes" : "";
    label(form, field);
  };
  return (said) => {
    box.hidden = said.state === "none";
    box.dataset.scale = said.state;
    // Only what changed is read out.
    if (text.textContent !== (said.text ?? "")) text.textContent = said.text ?? "";
    moving.textContent = said.moving ?? "";
    const given = said.offer;
    median.hidden = !given?.is_moving;
    if (!given) return;
    if (given.is_moving) {
      median.textContent = given.use;
      median.onclick = () => { offer.value = given.number; fill(given, true); };
    } else if (offer.value !== String(given.number)) {
      // Seen on this page: whatever is saved now, it does not come up for the next pup.
      offer.value = given.number;
      if (field.value === "" || field.value === filled) fill(given, false);
    }
  };
}

export function live() {
  const main = document.querySelector("main[data-live]");
  if (!main) return;
  const hearScale = scale();
  const wantsScale = document.querySelector("[data-scale]") ? "&scale=yes" : "";
  let source;
  let again;
  let silence;
  const heard = () => {
    clearTimeout(silence);
    silence = setTimeout(() => { if (!document.hidden) poll(); }, SILENT_MS);
    reached();
  };
  const changed = (place) => {
    if (String(place) === main.dataset.place) return;
    main.dataset.place = place;
    freshPlan(main);
    renew(main);
  };
  const close = () => {
    clearTimeout(again);
    clearTimeout(silence);
    source?.close();
    source = undefined;
  };
  // Where no stream comes through, the place of the book is asked for.
  const poll = async () => {
    clearTimeout(again);
    const answer = await ask(`${main.dataset.live}?poll=yes`);
    if (answer?.said.place !== undefined) changed(answer.said.place);
    if (document.hidden) return;
    if (source?.readyState === window.EventSource?.OPEN && answer !== null) return heard();
    again = setTimeout(() => (window.EventSource && answer !== null && !source ? open() : poll()), RETRY_MS);
  };
  const open = () => {
    close();
    if (!window.EventSource) return poll();
    source = new EventSource(`${main.dataset.live}?since=${main.dataset.place}${wantsScale}`);
    for (const kind of ["open", "beat"]) source.addEventListener(kind, () => { clearTimeout(again); heard(); });
    source.addEventListener("changed", (event) => { heard(); changed(event.data); });
    source.addEventListener("scale", (event) => { heard(); hearScale(JSON.parse(event.data)); });
    source.addEventListener("error", () => {
      clearTimeout(silence);
      if (source?.readyState === EventSource.CLOSED) source = undefined;
      poll();
    });
  };
  document.addEventListener("visibilitychange", () => (document.hidden ? close() : open()));
  addEventListener("pagehide", close);
  addEventListener("pageshow", (event) => event.persisted && open());
  if (!document.hidden) open();
  plans(main);
}

/** Something was written into this litter: shows it, unless that would disturb a person who writes. */
async function renew(main) {
  if (main.dataset.away) return;
  const isRound = main.querySelector("[data-entry]");
  if (!isRound && (!main.querySelector("[data-renews]") || isWriting(main))) {
    document.querySelector("[data-changed]").hidden = false;
    return;
  }
  // A round without a pup in its address would give the next one.
  const answer = await ask(isRound?.dataset.entry || location.href);
  if (answer?.status !== 200 || main.dataset.away) return; // the next change, or the next page, brings it
  const page = new DOMParser().parseFromString(answer.said.text, "text/html").querySelector("main");
  if (!page) return;
  if (isRound) {
    // Only the ticks of the order and what was done already; the pup in hand stays.
    for (const part of [".order", ".step", "[data-already]", "[data-claims]", "[data-asked]"]) {
      const [old, fresh] = [main.querySelector(part), page.querySelector(part)];
      if (old && fresh) old.replaceWith(fresh);
    }
    return;
  }
  if (isWriting(main)) return renew(main); // typed while the page was fetched
  const [held, from] = [document.activeElement, window.scrollY];
  const isHeld = main.contains(held);
  const opened = [...main.querySelectorAll("details[open] > summary")].map((s) => s.textContent);
  const wiper = main.querySelector("[data-wipe-start]");
  main.replaceChildren(...page.childNodes);
  if (wiper) main.append(wiper);
  for (const summary of main.querySelectorAll("details > summary")) {
    if (opened.includes(summary.textContent)) summary.parentElement.open = true;
  }
  clocks();
  back();
  if (isHeld) same(main, held)?.focus({ preventScroll: true });
  window.scrollTo({ top: from, behavior: "instant" });
  announce(document.querySelector("[data-changed]").dataset.done);
}

/** A person is in a form, or has typed something that is not saved. */
function isWriting(main) {
  if (main.contains(document.activeElement?.closest("form"))) return true;
  return [...main.querySelectorAll("input, select, textarea")].some((e) => {
    if (e.type === "checkbox" || e.type === "radio") return e.checked !== e.defaultChecked;
    if (e.tagName === "SELECT") return [...e.options].some((o) => o.selected !== o.defaultSelected) && e.selectedIndex > 0;
    return e.type !== "hidden" && e.value !== e.defaultValue;
  });
}

/** The element of a new page that is what this one was. */
function same(main, old) {
  const all = [...main.querySelectorAll(old.tagName)];
  return all.find((e) => e.getAttribute("href") === old.getAttribute("href") && e.textContent === old.textContent);
}

/** The plan on this phone: the one of the page before until the server gives a newer one. */
async function plans(main) {
  try {
    const kept = await keptPlan(main.dataset.litter);
    if (kept && !away.plan) newPlan(kept.plan);
    await readOutbox();
  } catch {
    // A phone without a shelf has the plan of this page only.
  }
  await freshPlan(main);
  keepFrame(main);
  claim(main);
  const heard = () => {
    if (line.isReached && line.waiting.length === 0) fromAway(main);
    late(main);
  };
  onLine(heard);
  // It may have been reached before anything listened.
  heard();
  setInterval(() => {
    if (document.hidden) return;
    if (line.isReached && (!away.plan || litterNow() - Date.parse(away.plan.ahead.at) > PLAN_OLD_MS)) freshPlan(main);
    late(main);
  }, TICK_MS);
}

/** The program is there again: back to its own pages, where that takes nothing from under a finger. */
function fromAway(main) {
  const isFrame = main.dataset.kept !== undefined;
  if (isWriting(main) || main.querySelector("[data-question]")) return;
  if (isFrame && !location.pathname.endsWith("/away")) go(location.href);
  else if (isFrame || main.dataset.away === "now") go(`${main.dataset.here}now`);
}

async function freshPlan(main) {
  const known = settledHere();
  const answer = await ask(`${main.dataset.here}ahead`);
  if (answer?.status === 404) return gone(main);
  if (answer?.status !== 200 || !answer.said.ahead) return;
  newPlan(answer.said, known);
  if (main.dataset.away && !isWriting(main)) redraw();
  late(main);
  await keepPlan({ litter: main.dataset.litter, plan: answer.said, clock: keptClock() }, known).catch(() => {});
}

/** The litter was erased: nothing of it stays on this phone but what nobody has yet. */
async function gone(main) {
  away.plan = null;
  await forgetPlan(main.dataset.litter).catch(() => {});
  if (!isWriting(main)) go("/");
}

let shownDue = "";

/** A feed that nobody acknowledged stands at the top of every open page; a page whose time has come is renewed. */
function late(main) {
  if (!away.plan) return;
  const at = litterNow();
  const open = away.plan.claims.filter((c) => at - Date.parse(c.at) >= 0);
  const feeds = lateFeeds(away.plan, writtenHere(), open, at);
  let bar = document.querySelector("[data-late]");
  if (feeds.length === 0) bar?.remove();
  else {
    const text = `${away.plan.words["late-feed"]} ${feeds.map((f) => `${f.pup} ${showClock(f.since, main.dataset.zone)}`).join(", ")}`;
    if (!bar) {
      bar = document.createElement("section");
      bar.className = "late";
      bar.dataset.late = "";
      bar.setAttribute("role", "alert");
      const way = Object.assign(document.createElement("a"), { className: "button second", href: `${main.dataset.here}feed`, textContent: away.plan.words["late-to-feed"] });
      bar.append(document.createElement("p"), way);
      if (location.pathname.endsWith("/feed")) way.remove();
      main.before(bar);
    }
    if (bar.firstChild.textContent !== text) bar.firstChild.textContent = text;
  }
  const due = [...dueFeeds(away.plan, writtenHere(), at).map((d) => d.pup), "late", ...feeds.map((f) => f.pup)].join();
  const isNew = shownDue !== "" && due !== shownDue;
  shownDue = due;
  if (isNew && line.isReached) renew(main);
}

/** "Tom is feeding": said once for a round that is due, when its page is opened. */
async function claim(main) {
  // An example is for looking round: nobody feeds there.
  if (!away.plan || !line.isReached || !/^\/litter\/.*\/feed$/.test(location.pathname) || !document.querySelector(".dose")) return;
  const at = litterNow();
  const round = away.plan.ahead.rounds.find((r) => r.feeds.length > 0);
  const roundAt = Math.min(round ? Date.parse(round.at) : Infinity, ...away.plan.ahead.overdue.map((o) => Date.parse(o.since)));
  const isMine = away.plan.claims.some((c) => c.device === main.dataset.device);
  if (!(roundAt - at < 15 * 60e3) || isMine) return;
  const entry = makeEntry("claim", "claimed_at", undefined, { round_at: new Date(roundAt).toISOString() });
  await keep([entry]);
  send();
}
