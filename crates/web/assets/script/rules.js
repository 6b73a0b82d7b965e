// Compares what is typed with the plan, limits and gates that the page has as data. It refuses and
// makes smaller; it never works out a new amount.

const CLOCK_STEP_MS = 120e3;

/** The last entry whose time has come, of a list that is sorted by time. */
export function inForce(list, at) {
  return list.filter((one) => Date.parse(one.from) <= at).at(-1) ?? list[0];
}

/** A number as it may be typed: digits with one decimal mark; null when it does not read. */
export function numberTyped(text) {
  const plain = text.trim().replace(",", ".");
  return /^(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}

/** Grams of a weight as typed: g, oz, or pounds and ounces. */
export function gramsTyped(text, unit, [perPound, perOunce]) {
  if (unit === "lb_oz") {
    const [pounds, ounces] = text.trim().split(/\s+/).map(numberTyped);
    if (pounds == null || ounces == null || ounces >= 16) return null;
    return pounds * perPound + ounces * perOunce;
  }
  const value = numberTyped(text);
  return value === null ? null : value * (unit === "oz" ? perOunce : 1);
}

/** What is odd about a weight: a range that physics sets, a band, a tenth lost. */
export function lookAtWeight(grams, pup, [least, most], at) {
  if (grams === null || grams < least || grams > most) return { refused: "range" };
  const band = pup.band.length > 0 ? inForce(pup.band, at) : null;
  const isTenthLost = pup.vet_now_at_g !== null && Math.round(grams * 1000) <= Math.round(pup.vet_now_at_g * 1000);
  const isUnusual = band !== null && (grams < band.low_g || grams > band.high_g);
  return { isUnusual, isTenthLost };
}

/** The temperature against the gate of the pup's age. */
export function lookAtWarmth(celsius, pup, ahead, at) {
  const limits = inForce(pup.limits, at);
  if (celsius < limits.no_milk_below_c) {
    const [now, doNotWait] = ahead.vet_now_below_c;
    return { gate: "cold", limit: limits.no_milk_below_c, vetNow: celsius < now, doNotWait: celsius < doNotWait };
  }
  if (celsius > limits.hot_above_c) return { gate: "hot", limit: limits.hot_above_c, vetNow: false, doNotWait: false };
  return { gate: null };
}

/** Down to a mark of the syringe. */
export function downToMark(ml, [coarseFrom, fine, coarse]) {
  const step = ml < coarseFrom ? fine : coarse;
  return Math.round(Math.floor(ml / step + 1e-9) * step * 10) / 10;
}

/** The largest mark of the stomach at a weight. */
export function stomachMark(grams, limits, marks) {
  const limit = (limits.stomach_ml_per_kg * grams) / 1000;
  const mark = downToMark(limit, marks);
  return limits.is_exclusive && mark >= limit ? downToMark(mark - 0.05, marks) : mark;
}

/** What was written down on this phone about a pup and is not in the plan. */
export function besidePlan(written, pup) {
  const mine = written.filter((fact) => fact.pup === pup);
  return {
    feeds: mine.filter((f) => f.kind === "feed"),
    weighings: mine.filter((f) => f.kind === "weighing"),
    checks: mine.filter((f) => f.kind === "check"),
  };
}

const mlOf = (feed) => numberTyped(String(feed.body.taken_ml ?? feed.body.offered_ml ?? "")) ?? 0;

/**
 * The feed of a pup that may be given at a time: the planned one, or less, or none with its reason.
 * `grams` of each weighing on the phone come with it, newest last.
 */
export function feedNow(plan, name, written, grams, at) {
  const ahead = plan.ahead;
  // Before its own time no plan was made: then the clock of this phone has been set back.
  if (at > Date.parse(ahead.until) || at < Date.parse(ahead.at) - CLOCK_STEP_MS) return { none: "old" };
  const pup = ahead.pups.find((p) => p.pup === name);
  if (!pup) return { none: "unknown" };
  // A word that forbids milk stands until the server has looked: an open page lifts no gate.
  let smaller = false;
  let blocked = [];
  for (const check of written.checks) {
    const sign = ahead.signs.find((s) => s.kind === check.body.kind && s.value === check.body.value);
    if (sign?.forbids) blocked.push(sign);
    if (check.body.kind === "rectal_temperature_c") {
      const celsius = numberTyped(String(check.body.value));
      const seen = celsius === null ? { gate: null } : lookAtWarmth(celsius, pup, ahead, Date.parse(check.occurred_at));
      blocked = blocked.filter((b) => !b.gate);
      if (seen.gate) blocked.push({ ...seen, celsius });
    }
  }
  const lastFeed = written.feeds.at(-1);
  const span = ahead.one_feed_h * 3600e3;
  const stop = blocked.find((b) => b.gate || b.forbids === "all_milk");
  if (stop) return { none: stop.gate ? "gate" : "sign", stop };
  const nose = blocked.find((b) => b.forbids === "this_feed");
  if (nose && at - Date.parse(written.checks.find((c) => c.body.kind === nose.kind).occurred_at) < span) return { none: "sign", stop: nose };
  // Rounds that this phone has fed already are behind us. Of several that are due the last counts:
  // its limits are those of now, and nothing that was missed is made up.
  const fedUntil = lastFeed ? Date.parse(lastFeed.occurred_at) + span : -Infinity;
  const names = (r) => r.feeds.some((f) => f.pup === name) || r.withheld.some((w) => w.pup === name);
  const rounds = ahead.rounds.filter((r) => Date.parse(r.at) >= fedUntil && names(r));
  const round = rounds.filter((r) => Date.parse(r.at) <= at).at(-1) ?? rounds[0];
  if (round) {
    const withheld = round.withheld.find((w) => w.pup === name);
    if (withheld) return { none: "withheld", because: withheld.because };
    const feed = round.feeds.find((f) => f.pup === name);
    if (blocked.some((b) => b.forbids === feed.method)) return { none: "sign", stop: blocked.find((b) => b.forbids === feed.method) };
    const limits = inForce(pup.limits, Math.max(at, Date.parse(feed.at)));
    const lightest = Math.min(feed.weight_g, ...grams);
    const given = written.feeds.filter((f) => at - Date.parse(f.occurred_at) < span).reduce((sum, f) => sum + mlOf(f), 0);
    const room = downToMark(Math.max(0, stomachMark(lightest, limits, ahead.marks_ml) - given), ahead.marks_ml);
    const ml = Math.min(feed.amount_ml, room);
    smaller = ml < feed.amount_ml;
    if (ml < 0.1) return { none: "full" };
    return { feed, ml, most: Math.min(feed.at_most_ml, stomachMark(lightest, limits, ahead.marks_ml)), smaller, at: Date.parse(feed.at) };
  }
  return { none: "unplanned" };
}

/** Feeds that are due, with since when: from the plan, without those that were given since. */
export function dueFeeds(plan, written, at) {
  const ahead = plan.ahead;
  const due = new Map(ahead.overdue.map((o) => [o.pup, Date.parse(o.since)]));
  for (const round of ahead.rounds) {
    const roundAt = Date.parse(round.at);
    if (roundAt > at) break;
    for (const feed of round.feeds) if (!due.has(feed.pup)) due.set(feed.pup, roundAt);
  }
  const idOf = new Map(plan.pups.map((p) => [p.name, p.id]));
  const isGiven = (name, since) => written.some((f) => f.kind === "feed" && f.pup === idOf.get(name) && Date.parse(f.occurred_at) >= since - 30 * 60e3);
  return [...due].filter(([name, since]) => !isGiven(name, since)).map(([pup, since]) => ({ pup, since }));
}

/** Feeds that nobody acknowledged for longer than half an hour, unless somebody is feeding. */
export function lateFeeds(plan, written, claims, at) {
  if (claims.some((c) => at - Date.parse(c.at) < 20 * 60e3)) return [];
  return dueFeeds(plan, written, at).filter((d) => at - d.since > plan.ahead.late_after_h * 3600e3);
}

/** Seconds until the next try: 1, 2, 4 … 60, give or take a fifth. */
export function pause(tries, chance = Math.random()) {
  return Math.min(60, 2 ** Math.min(tries, 6)) * (0.8 + 0.4 * chance);
}
