// The screens of an open page while the program cannot be reached: weigh, feed and check with the
// plan that the page has. Amounts come from the plan, or are made smaller; none is worked out.

import { litterNow, showClock } from "./clock.js";
import { atLitterTime, makeEntry } from "./facts.js";
import { announce } from "./glass.js";
import { forget, keep, line } from "./outbox.js";
import { pads } from "./pad.js";
import { feedNow, gramsTyped, besidePlan, inForce, lookAtWarmth, lookAtWeight, numberTyped } from "./rules.js";

/** The plan that this page has; none until it was fetched once. */
export const away = { plan: null, screen: null, since: 0 };

const main = () => document.querySelector("main[data-litter]");
const NB = "\u00a0";
const word = (key, values = {}) => Object.entries(values).reduce((text, [k, v]) => text.replaceAll(`{${k}}`, v), away.plan?.words[key] ?? key);
const clockAt = (at) => showClock(at, main().dataset.zone);
const mlText = (ml) => `${Math.round(ml * 10) / 10}${NB}mL`;
const nameOf = (id) => away.plan.pups.find((p) => p.id === id)?.name ?? "";
const planOf = (name) => away.plan.ahead.pups.find((p) => p.pup === name);

/** An element with its parts: texts, elements, and attributes in an object. */
function make(tag, attributes, ...parts) {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(attributes)) {
    if (k === "onclick") e.addEventListener("click", v);
    else if (v !== undefined && v !== false) e.setAttribute(k, v === true ? "" : v);
  }
  e.append(...parts.filter((p) => p !== null && p !== undefined && p !== false));
  return e;
}
const para = (text, cls) => make("p", { class: cls }, text);
const press = (text, onclick, cls = "second") => make("button", { type: "button", class: cls, onclick }, text);
function markup(tag, html, cls) {
  const e = make(tag, { class: cls });
  // Markup of our own server, as it stood in the plan.
  e.innerHTML = html;
  return e;
}

const isOfThisLitter = (entry) => entry.fact.litter === main().dataset.litter;

/** Facts that this phone wrote down and the plan does not know, in the litter's time. */
export function writtenHere() {
  return [...line.waiting, ...line.refused, ...line.settled].filter(isOfThisLitter).map(atLitterTime).sort((a, b) => (a.occurred_at < b.occurred_at ? -1 : 1));
}
const ofPup = (id, without = []) => besidePlan(writtenHere().filter((f) => !without.includes(f.id)), id);
const gramsOf = (fact) => gramsTyped(fact.body.weight, fact.body.unit, away.plan.g_per_unit);
const feedOf = (id, without) => feedNow(away.plan, nameOf(id), ofPup(id, without), ofPup(id).weighings.map(gramsOf).filter((g) => g !== null), litterNow());

/** Facts of this phone that the server has: a plan that is asked for now knows them. */
export const settledHere = () => line.settled.filter(isOfThisLitter).map((e) => e.id);

export function newPlan(plan, known = []) {
  away.plan = plan;
  line.settled = line.settled.filter((e) => !known.includes(e.id));
}

function show(screen, ...parts) {
  const body = main();
  const wiper = body.querySelector("[data-wipe-start]");
  body.replaceChildren(...parts.filter(Boolean));
  if (wiper) body.append(wiper);
  away.screen = screen;
  body.dataset.away = screen;
  pads();
  const heading = body.querySelector("h1");
  heading.tabIndex = -1;
  if (!body.querySelector("[data-number]")) heading.focus({ preventScroll: true });
  window.scrollTo({ top: 0, behavior: "instant" });
}

function saidBar(text) {
  return text && make("section", { class: "saved" }, para(text, "saved-text"));
}

/** The first screen: what is next, and the ways to it. */
export function awayNow(said) {
  if (!away.plan) return false;
  const { ahead, phones } = away.plan;
  const next = ahead.rounds.find((r) => r.feeds.some((f) => !ofPup(away.plan.pups.find((p) => p.name === f.pup)?.id).feeds.length));
  const feeds = (next?.feeds ?? []).map((f) => away.plan.pups.find((p) => p.name === f.pup)).filter(Boolean);
  show("now",
    saidBar(said),
    make("h1", {}, word("away-title")),
    // Over https the page opens again by itself; over plain http it does not.
    para(word(navigator.serviceWorker?.controller ? "away-text-opens-again" : "away-text"), "note"),
    para(word("away-as-known", { at: clockAt(Date.parse(ahead.at)) }), "note"),
    make("section", { class: "first" },
      make("h2", {}, next ? word("away-next-round", { at: clockAt(Date.parse(next.at)) }) : word("away-no-round", { at: clockAt(Date.parse(ahead.until)) })),
      make("ul", { class: "feeds" }, ...feeds.map((p) => make("li", {}, feedLine(p.id)))),
      make("div", { class: "ways" },
        press(word("away-feed"), () => awayFeed(null), "primary"),
        press(word("away-weigh"), () => awayWeigh(null)),
        press(word("away-check"), () => awayCheck(away.plan.pups[0]?.id)))),
    markup("section", phones));
  return true;
}

function feedLine(id) {
  const now = feedOf(id);
  const name = nameOf(id);
  if (!now.feed) return `${name}: ${noFeedWords(now)}`;
  const asked = now.feed.only_after;
  const line = [make("strong", {}, `${name}: ${mlText(now.ml)}`), ` ${word(`method-${now.feed.method}`)}`];
  if (asked.length > 0) line.push(make("br", {}), make("span", { class: "condition" }, word("away-only-after", { what: asked.join(", ") })));
  return make("span", {}, ...line);
}

function noFeedWords(now) {
  if (now.none === "old") return word("away-plan-old");
  if (now.none === "withheld") return now.because;
  if (now.stop?.gate) return gateWords(now.stop);
  if (now.stop) return `${now.stop.says}. ${now.stop.what_to_do}`;
  return word("away-not-planned");
}

function gateWords(seen) {
  const text = word(seen.gate === "cold" ? "away-too-cold" : "away-too-hot", { c: seen.celsius.toFixed(1), limit: seen.limit.toFixed(1) });
  const vet = seen.doNotWait ? word("away-vet-now-do-not-wait") : seen.vetNow ? word("away-vet-now") : "";
  return `${text} ${vet}`.trim();
}

/** The pups in their order, ticked where they are done. */
function orderOf(current, isDone, go) {
  return make("nav", { class: "order" }, ...away.plan.pups.map((p) =>
    make("button", { type: "button", "aria-current": p.id === current && "step", onclick: () => go(p.id) }, markup("span", p.band), make("span", {}, `${p.name}${isDone(p.id) ? " ✓" : ""}`))));
}

/** The next pup that is not done, after the given one and then from the start. */
function following(id, isDone) {
  const all = away.plan.pups;
  const at = all.findIndex((p) => p.id === id) + 1;
  return [...all.slice(at), ...all.slice(0, at)].find((p) => !isDone(p.id))?.id ?? null;
}

const head = (title) => make("div", { class: "row between" }, para(title, "step"), press(word("away-back"), () => awayNow(), "quiet"));
const isWeighed = (id) => ofPup(id).weighings.some((f) => Date.parse(f.occurred_at) >= away.since) || Date.parse(planOf(nameOf(id))?.weighed_at ?? 0) >= away.since;
const isFed = (id) => ofPup(id).feeds.some((f) => Date.parse(f.occurred_at) >= away.since) || Date.parse(planOf(nameOf(id))?.fed_at ?? 0) >= away.since;

function begin(since) {
  away.since = since || away.since || litterNow() - 30 * 60e3;
}

/** One pup to weigh. */
export function awayWeigh(id, said, since) {
  if (!away.plan) return false;
  begin(since);
  const pup = id ?? following(null, isWeighed);
  if (!pup) {
    show("weigh", saidBar(said), make("h1", {}, word("away-all-weighed")), make("div", { class: "ways" }, press(word("away-back"), () => awayNow(), "primary")), orderOf(null, isWeighed, (p) => awayWeigh(p)));
    return true;
  }
  const { unit, unit_sign: sign, pups } = away.plan;
  const known = planOf(nameOf(pup));
  const mine = ofPup(pup).weighings.at(-1);
  const last = mine ? word("away-last", { weight: `${mine.body.weight}${NB}${sign}`, at: clockAt(Date.parse(mine.occurred_at)) })
    : known?.last_weight ? word("away-last", { weight: known.last_weight, at: clockAt(Date.parse(known.weighed_at)) }) : word("away-never-weighed");
  const pounds = unit === "lb_oz" ? numberBox("pounds", "lb", false) : null;
  const lastSign = pounds ? "oz" : sign;
  const form = make("form", { "data-away": "weighing" },
    make("input", { type: "hidden", name: "pup", value: pup }),
    make("div", { class: "row" }, pounds, numberBox("weight", lastSign, true)),
    make("div", { class: "pad", "data-pad": unit === "g" ? "whole" : "decimal" }),
    make("button", { class: "primary save", type: "submit", "data-save": word("away-save-weight", { value: "{}", unit: lastSign, pup: nameOf(pup) }) }, word("away-save")));
  show("weigh", saidBar(said), make("div", { class: "entry" }, head(word("away-weigh")), markup("h1", pups.find((p) => p.id === pup).cue, "subject"), para(last, "last"), form, orderOf(pup, isWeighed, (p) => awayWeigh(p))));
  return true;
}

function numberBox(name, sign, isMain) {
  return make("label", { class: "number" }, make("span", {}, word(name === "taken_ml" ? "away-taken" : "weigh-weight")),
    make("input", { type: "text", name, inputmode: "decimal", autocomplete: "off", maxlength: "12", "data-number": isMain }), make("span", { class: "unit" }, sign));
}

/** One pup to feed. */
export function awayFeed(id, said, since) {
  if (!away.plan) return false;
  begin(since);
  const isOver = (p) => isFed(p) || !feedOf(p).feed;
  const pup = id ?? following(null, isOver);
  if (!pup) {
    show("feed", saidBar(said), make("h1", {}, word("away-all-fed")), make("div", { class: "ways" }, press(word("away-back"), () => awayNow(), "primary")), orderOf(null, isFed, (p) => awayFeed(p)));
    return true;
  }
  const now = feedOf(pup);
  const asked = now.feed?.only_after ?? [];
  const parts = [head(word("away-feed")), markup("h1", away.plan.pups.find((p) => p.id === pup).cue, "subject")];
  if (now.feed) {
    const text = word(asked.length > 0 ? "away-checked-and-fed" : "away-fed-as-shown", { ml: Math.round(now.ml * 10) / 10, pup: nameOf(pup) });
    parts.push(make("section", { class: "dose" },
      now.at > litterNow() && para(word("away-early", { pup: nameOf(pup), at: clockAt(now.at) }), "note"),
      para(mlText(now.ml), "number-large"),
      para(`${word(`method-${now.feed.method}`)}, ${word("away-most", { ml: Math.round(now.most * 10) / 10 })}`),
      now.feed.tube_carers.length > 0 && para(now.feed.tube_carers.join(", ")),
      now.smaller && para(word("away-smaller"), "note"),
      asked.length > 0 && para(word("away-only-after", { what: asked.join(", ") }), "condition")));
    parts.push(make("form", { "data-away": "planned" },
      make("input", { type: "hidden", name: "pup", value: pup }),
      make("input", { type: "hidden", name: "ml", value: String(Math.round(now.ml * 10) / 10) }),
      make("input", { type: "hidden", name: "method", value: now.feed.method }),
      asked.length > 0 && make("label", { class: "number small" }, make("span", {}, word("away-temperature")), make("input", { type: "text", name: "celsius", inputmode: "decimal", autocomplete: "off", maxlength: "6" }), make("span", { class: "unit" }, "°C")),
      make("button", { class: "primary save", type: "submit" }, text)));
  } else {
    parts.push(make("section", { class: "gate" }, make("h2", {}, word("away-no-milk")), para(noFeedWords(now))), now.stop && markup("section", away.plan.phones));
  }
  parts.push(make("details", { class: "fold" }, make("summary", {}, word("away-other")),
    make("form", { "data-away": "other" },
      make("input", { type: "hidden", name: "pup", value: pup }),
      numberBox("taken_ml", "mL", true),
      make("div", { class: "pad", "data-pad": "decimal" }),
      make("button", { class: "primary", type: "submit", "data-save": word("away-save-ml", { value: "{}" }) }, word("away-save")))));
  parts.push(make("p", { class: "row" }, press(word("away-check"), () => awayCheck(pup), "button")), para(word("away-stop"), "stops"));
  show("feed", saidBar(said), make("div", { class: "entry" }, ...parts, orderOf(pup, isFed, (p) => awayFeed(p))));
  return true;
}

/** The signs that can be written down, with the words of the server's table. */
export function awayCheck(id, said) {
  if (!away.plan || !id) return false;
  const kinds = [...new Set(away.plan.ahead.signs.map((s) => s.kind))];
  const form = make("form", { "data-away": "check" },
    make("input", { type: "hidden", name: "pup", value: id }),
    make("label", { class: "number small" }, make("span", {}, word("away-temperature")), make("input", { type: "text", name: "rectal_temperature_c", inputmode: "decimal", autocomplete: "off", maxlength: "6" }), make("span", { class: "unit" }, "°C")),
    ...kinds.map((kind) => make("fieldset", { class: "choices" }, ...away.plan.ahead.signs.filter((s) => s.kind === kind).map((s) =>
      make("label", {}, make("input", { type: "radio", name: kind, value: s.value }), make("span", {}, s.says))))),
    para(word("check-white"), "note"),
    make("button", { class: "primary save", type: "submit" }, word("away-save")));
  show("check", saidBar(said), head(word("away-check")), markup("h1", away.plan.pups.find((p) => p.id === id).cue, "subject"), form, orderOf(id, () => false, (p) => awayCheck(p)));
  return true;
}

/** A question in the place of the form: the safe way stands where Save stood. */
function question(text, safe, onSafe, other, onOther) {
  const box = make("div", { class: "entry", "data-question": true },
    make("section", { class: "question", role: "alert" }, make("h1", {}, text)),
    make("div", { class: "ways" }, other && press(other, onOther), make("button", { type: "button", class: "primary save", onclick: onSafe }, safe)));
  show(away.screen ?? "question", box);
}

function problem(form, text) {
  form.parentElement.querySelector(".wrong")?.remove();
  form.before(make("p", { class: "wrong", role: "alert" }, text));
}

/** What a form of these screens says. */
export function awaySubmit(form) {
  const fields = Object.fromEntries([...new FormData(form)].map(([k, v]) => [k, String(v).trim()]));
  const pup = fields.pup;
  const wrongNumber = () => problem(form, word("away-number"));
  switch (form.dataset.away) {
    case "weighing": {
      const weight = fields.pounds ? `${fields.pounds} ${fields.weight || "0"}` : fields.weight;
      return takeEntries([makeEntry("weighing", "weighed_at", pup, { weight, unit: away.plan.unit })], { problem: (text) => problem(form, text) });
    }
    case "planned": {
      const feed = makeEntry("feed", "fed_at", pup, { method: fields.method, offered_ml: fields.ml, taken_ml: fields.ml, milk: away.plan.ahead.milk ?? "" });
      const entries = [feed];
      if (fields.celsius) {
        if (numberTyped(fields.celsius) === null) return wrongNumber();
        entries.push(makeEntry("check", "checked_at", pup, { kind: "rectal_temperature_c", value: fields.celsius }, feed.tap));
      }
      return takeEntries(entries, { isPlanned: true });
    }
    case "other":
      if (!numberTyped(fields.taken_ml)) return wrongNumber();
      return takeEntries([makeEntry("feed", "fed_at", pup, { method: "bottle", offered_ml: fields.taken_ml, taken_ml: fields.taken_ml, milk: away.plan.ahead.milk ?? "" })], { problem: (text) => problem(form, text) });
    default: {
      const seen = Object.entries(fields).filter(([name, value]) => value && name !== "pup");
      if (fields.rectal_temperature_c && numberTyped(fields.rectal_temperature_c) === null) return wrongNumber();
      if (seen.length === 0) return wrongNumber();
      return takeEntries(seen.map(([kind, value]) => makeEntry("check", "checked_at", pup, { kind, value })), {});
    }
  }
}

/**
 * Looks at entries with what the page knows, keeps them, and shows the next pup.
 * `isKept` says that they are on the shelf already, because the server may have them.
 */
export async function takeEntries(entries, { isPlanned = false, isLooked = false, isKept = false, since = 0, problem: say = () => {} }) {
  if (!away.plan) return false;
  begin(since);
  const [first] = entries;
  const fact = atLitterTime(first);
  const pup = fact.pup;
  const name = nameOf(pup);
  const known = planOf(name);
  const at = Date.parse(fact.occurred_at);
  const drop = () => isKept && forget(entries.map((e) => e.id));
  const again = (options) => takeEntries(entries, { isPlanned, isKept, since, ...options });
  let said = "";
  let alarm = "";
  if (fact.kind === "weighing" && known) {
    const grams = gramsOf(fact);
    const looked = lookAtWeight(grams, known, away.plan.weight_g, at);
    const shown = `${fact.body.weight}${NB}${away.plan.unit_sign}`;
    if (looked.refused) {
      await drop();
      if (away.screen !== "weigh") awayWeigh(pup);
      say(word("away-range", { min: away.plan.weight_g[0], max: away.plan.weight_g[1], unit: "g" }));
      const form = main().querySelector("form[data-away]");
      if (form) problem(form, word("away-range", { min: away.plan.weight_g[0], max: away.plan.weight_g[1], unit: "g" }));
      return true;
    }
    if (looked.isUnusual && !isLooked) {
      question(word("away-unusual", { pup: name, weight: shown, last: known.last_weight ?? "" }), word("away-again"), async () => { await drop(); awayWeigh(pup); }, word("away-keep"), () => again({ isLooked: true }));
      return true;
    }
    if (looked.isTenthLost) alarm = word("away-tenth-lost");
    said = `${name}: ${shown}.`;
  }
  if (fact.kind === "feed" && known) {
    const check = entries.find((e) => e.fact.body.kind === "rectal_temperature_c");
    const celsius = check ? numberTyped(check.fact.body.value) : null;
    const gate = celsius === null ? { gate: null } : lookAtWarmth(celsius, known, away.plan.ahead, at);
    if (gate.gate && isPlanned) {
      // The reading is written down; the feed is not as planned.
      if (isKept) await forget(entries.filter((e) => e !== check).map((e) => e.id));
      await keep([clear(check)]);
      writtenHere();
      announce(gateWords({ ...gate, celsius }));
      awayFeed(pup, gateWords({ ...gate, celsius }));
      return true;
    }
    const ml = numberTyped(String(fact.body.taken_ml ?? ""));
    const lightest = Math.min(known.last_weight_g ?? Infinity, ...ofPup(pup).weighings.map(gramsOf).filter((g) => g !== null));
    if (ml !== null && ml > lightest) {
      await drop();
      const text = word("away-more-than-it-weighs", { ml, pup: name });
      if (away.screen !== "feed") awayFeed(pup);
      const form = main().querySelector("form[data-away=other]");
      if (form) problem(form, text);
      announce(text);
      return true;
    }
    const lastFed = [...ofPup(pup).feeds.filter((f) => f.id !== fact.id).map((f) => Date.parse(f.occurred_at)), Date.parse(known.fed_at ?? "") || 0].reduce((a, b) => Math.max(a, b), 0);
    if (at - lastFed < 3600e3 && fact.body.method !== "nursing" && !isLooked) {
      question(word("away-fed-lately", { pup: name, min: Math.round((at - lastFed) / 60e3) }), word("away-same-feed"), async () => { await drop(); awayFeed(null); }, word("away-another-feed"), () => again({ isLooked: true }));
      return true;
    }
    const planned = feedOf(pup, entries.map((e) => e.id));
    if (isPlanned && (planned.none === "gate" || planned.none === "sign")) {
      // What this phone wrote down since forbids it; what was given all the same is another amount.
      await drop();
      awayFeed(pup, noFeedWords(planned));
      return true;
    }
    if (isPlanned && planned.feed && ml > planned.ml && !isLooked) {
      question(word("away-changed", { pup: name, ml, now: planned.ml }), word("away-show-new"), async () => { await drop(); awayFeed(pup); }, word("away-given"), () => again({ isLooked: true }));
      return true;
    }
    if (isPlanned && planned.at - at > 45 * 60e3 && !isLooked) {
      question(word("away-early", { pup: name, at: clockAt(planned.at) }), word("away-not-fed"), async () => { await drop(); awayFeed(pup); }, word("away-another-feed"), () => again({ isLooked: true }));
      return true;
    }
    const limits = inForce(known.limits, at);
    const most = Math.floor(limits.stomach_ml_per_kg * lightest / 100) / 10;
    if (ml !== null && Number.isFinite(most) && ml > most) alarm = word("away-above-most", { ml, most });
    said = fact.body.method === "nursing" ? `${name}.` : `${name}: ${mlText(ml ?? 0)}.`;
  }
  if (fact.kind === "check") {
    const signs = entries.map((e) => away.plan.ahead.signs.find((s) => s.kind === e.fact.body.kind && s.value === e.fact.body.value)).filter(Boolean);
    const warmth = entries.find((e) => e.fact.body.kind === "rectal_temperature_c");
    const celsius = warmth && numberTyped(warmth.fact.body.value);
    const gate = warmth && known && celsius !== null ? lookAtWarmth(celsius, known, away.plan.ahead, at) : { gate: null };
    alarm = [gate.gate && gateWords({ ...gate, celsius }), ...signs.map((s) => `${name} ${s.says}. ${s.what_to_do}`)].filter(Boolean).join(" ") || word("away-looked-at-later");
    said = name ? `${name}.` : "";
  }
  await keep(entries.map(clear));
  writtenHere();
  const bar = word("away-kept", { what: said }) + (alarm ? ` ${alarm}` : "");
  announce(bar);
  if (fact.kind === "weighing") awayWeigh(following(pup, isWeighed), bar);
  else if (fact.kind === "feed") awayFeed(following(pup, (p) => isFed(p) || !feedOf(p).feed), bar);
  else if (pup) awayFeed(pup, bar);
  else awayNow(bar);
  return true;
}

const clear = ({ asking, ...entry }) => entry;

/** The screen for an address that cannot be fetched now. */
export function awayFor(address) {
  const to = new URL(address, location.href);
  const page = to.pathname.split("/").at(-1);
  const pup = to.searchParams.get("pup");
  const since = Number(to.searchParams.get("since"));
  if (!away.plan || !to.pathname.includes(main()?.dataset.litter)) return false;
  // A pup that the plan does not know, such as one born since.
  if (pup && !away.plan.pups.some((p) => p.id === pup)) return awayNow();
  if (page === "now") return awayNow();
  if (page === "weigh") return awayWeigh(pup, "", since);
  if (page === "feed") return awayFeed(pup, "", since);
  if (page === "check" || page === "measure") return pup ? awayCheck(pup) : awayNow();
  return false;
}

/** A newer plan has come while one of these screens is open: no amount of the older one stays in view. */
export function redraw() {
  const body = main();
  if (body.querySelector("[data-question], .wrong")) return;
  const said = body.querySelector(".saved-text")?.textContent;
  if (away.screen === "now") awayNow(said);
  else if (away.screen === "feed") awayFeed(body.querySelector("[name=pup]")?.value ?? null, said);
}
