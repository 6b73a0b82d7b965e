// What script decides by itself, without a page: never more than the plan, ids in order, when to
// try again.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

const module = (name) => import(`data:text/javascript,${encodeURIComponent(readFileSync(new URL(`../../assets/script/${name}`, import.meta.url), "utf8"))}`);
const rules = await module("rules.js");
const { newId } = await module("ids.js");

const T0 = Date.parse("2026-11-25T20:00:00Z");
const iso = (ms) => new Date(ms).toISOString();
const hours = (h) => T0 + h * 3600e3;

/** A plan of three rounds for one pup of 400 g, 40 mL per kg. */
function plan({ amount = 7, weight = 400, exclusive = false } = {}) {
  const feed = (h) => ({ pup: "Ash", at: iso(hours(h)), amount_ml: amount, at_most_ml: 16, method: "bottle", tube_carers: [], only_after: [], weight_g: weight });
  return {
    pups: [{ id: "a", name: "Ash" }],
    claims: [],
    ahead: {
      at: iso(T0), until: iso(hours(12)), one_feed_h: 2, late_after_h: 0.5, vet_now_below_c: [34.4, 32.2], marks_ml: [5, 0.1, 0.5], milk: "m",
      overdue: [], signs: [
        { kind: "gums", value: "blue", level: "vet now", forbids: "all_milk" },
        { kind: "milk_at_nose", value: "yes", level: "needs help", forbids: "this_feed" },
        { kind: "suck", value: "none", level: "vet today", forbids: "bottle" },
      ],
      rounds: [0, 3, 6].map((h) => ({ at: iso(hours(h)), feeds: [feed(h)], withheld: [] })),
      pups: [{ pup: "Ash", last_weight_g: weight, band: [{ from: iso(T0), low_g: 370, high_g: 430 }], vet_now_at_g: 360, fed_at: null,
        limits: [{ from: iso(T0), no_milk_below_c: 35, hot_above_c: 37.2, stomach_ml_per_kg: 40, is_exclusive: exclusive }] }],
    },
  };
}
const nothing = { feeds: [], weighings: [], checks: [] };
const fed = (h, ml) => ({ kind: "feed", pup: "a", occurred_at: iso(hours(h)), body: { taken_ml: String(ml) } });
const seen = (h, kind, value) => ({ kind: "check", pup: "a", occurred_at: iso(hours(h)), body: { kind, value } });

test("the amount is that of the plan, or less, for any weights and feeds", () => {
  let state = 7;
  const dice = (n) => { state = (state * 48271) % 2147483647; return state % n; };
  let smaller = 0;
  for (let i = 0; i < 20000; i += 1) {
    const amount = (dice(200) + 1) / 10;
    const written = { ...nothing, feeds: Array.from({ length: dice(4) }, () => fed(dice(120) / 10, dice(200) / 10)).sort((a, b) => (a.occurred_at < b.occurred_at ? -1 : 1)) };
    const grams = Array.from({ length: dice(3) }, () => 100 + dice(700));
    const now = rules.feedNow(plan({ amount, exclusive: dice(2) === 1 }), "Ash", written, grams, hours(dice(130) / 10));
    if (!now.feed) continue;
    assert.ok(now.ml <= amount, `${now.ml} of ${amount}`);
    assert.ok(now.ml <= (40 * Math.min(400, ...grams)) / 1000 + 1e-9, "within the stomach of the lightest weight");
    assert.ok(Math.abs(now.ml / 0.1 - Math.round(now.ml / 0.1)) < 1e-6, "on a mark");
    if (now.ml < amount) smaller += 1;
  }
  assert.ok(smaller > 100, "some were made smaller");
});

test("a gate that was found closed on the phone stays closed but for a reading in range", () => {
  const at = hours(0.1);
  const now = (...checks) => rules.feedNow(plan(), "Ash", { ...nothing, checks }, [], at);
  assert.equal(now().ml, 7);
  assert.equal(now(seen(0, "rectal_temperature_c", "34.9")).none, "gate");
  assert.equal(now(seen(0, "rectal_temperature_c", "35.0")).ml, 7);
  assert.equal(now(seen(0, "rectal_temperature_c", "37.3")).none, "gate");
  assert.equal(now(seen(0, "rectal_temperature_c", "34.0"), seen(0.05, "rectal_temperature_c", "35.5")).ml, 7);
  assert.equal(now(seen(0, "gums", "blue")).none, "sign");
  assert.equal(now(seen(0, "gums", "blue"), seen(0.05, "rectal_temperature_c", "36.0")).none, "sign");
  assert.equal(now(seen(0, "suck", "none")).none, "sign");
  assert.equal(now(seen(0, "milk_at_nose", "yes")).none, "sign");
  assert.equal(rules.feedNow(plan(), "Ash", nothing, [], hours(12.01)).none, "old", "no amount from a plan of yesterday");
});

test("a pup that this phone has fed waits for its next round", () => {
  const after = rules.feedNow(plan(), "Ash", { ...nothing, feeds: [fed(0, 7)] }, [], hours(0.5));
  assert.equal(after.at, hours(3));
  assert.equal(rules.feedNow(plan(), "Ash", nothing, [], hours(0.5)).at, hours(0), "a feed that is late is still the next one");
  assert.equal(rules.feedNow(plan(), "Ash", nothing, [], hours(5)).at, hours(3), "of two that were missed, the last: nothing is made up");
});

test("a weight is asked about outside its band, and a tenth lost is said at its edge", () => {
  const [pup] = plan().ahead.pups;
  const look = (grams) => rules.lookAtWeight(grams, pup, [10, 60000], T0);
  assert.deepEqual(look(430), { isUnusual: false, isTenthLost: false });
  assert.deepEqual(look(430.1), { isUnusual: true, isTenthLost: false });
  assert.equal(look(370).isUnusual, false);
  assert.equal(look(360).isTenthLost, true);
  assert.equal(look(360.1).isTenthLost, false);
  assert.equal(look(9).refused, "range");
  assert.equal(look(null).refused, "range");
  // 1 oz = 28.349523125 g and 1 lb = 453.59237 g, by definition.
  assert.equal(rules.gramsTyped("1 2", "lb_oz", [453.59237, 28.349523125]), 453.59237 + 2 * 28.349523125);
  assert.equal(rules.gramsTyped("1 16", "lb_oz", [453.59237, 28.349523125]), null);
  for (const text of ["", "1.2.3", "5e2", "-5", "1,234,5", "12a"]) assert.equal(rules.numberTyped(text), null, text);
  assert.equal(rules.numberTyped("4,5"), 4.5);
});

test("a feed is late half an hour after it was due, unless it was given or somebody is feeding", () => {
  const p = plan();
  assert.deepEqual(rules.lateFeeds(p, [], [], hours(0.5)), []);
  assert.equal(rules.lateFeeds(p, [], [], hours(0.51)).length, 1);
  assert.deepEqual(rules.lateFeeds(p, [fed(0.4, 7)], [], hours(0.51)), []);
  assert.deepEqual(rules.lateFeeds(p, [], [{ at: iso(hours(0.4)) }], hours(0.51)), []);
  assert.equal(rules.lateFeeds(p, [], [{ at: iso(hours(0.1)) }], hours(0.51)).length, 1, "a claim is over after twenty minutes");
});

test("tries come after 1, 2, 4 … 60 s, give or take a fifth", () => {
  const plain = [0, 1, 2, 3, 4, 5, 6, 20].map((n) => rules.pause(n, 0.5));
  assert.deepEqual(plain, [1, 2, 4, 8, 16, 32, 60, 60]);
  assert.deepEqual([rules.pause(3, 0), rules.pause(3, 1)].map((s) => Math.round(s * 10) / 10), [6.4, 9.6]);
});

test("ids are of version 7 and begin with their time", () => {
  // RFC 9562, 5.7: 48 bits of milliseconds, version 0111, variant 10.
  const id = newId(0x017f22e279b0);
  assert.match(id, /^017f22e2-79b0-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.notEqual(newId(T0), newId(T0));
  assert.ok(newId(T0) < newId(T0 + 1));
});
