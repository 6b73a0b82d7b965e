// Two and three phones on one litter, with the network cut between them and the program.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { endBrowser, hasPlan, house, litter, person, SIZES, STARTS } from "./house.mjs";

const at = await house();
const cut = /ERR_(CONNECTION|EMPTY|ABORTED|NETWORK|INTERNET|TIMED)|Failed to load resource|net::ERR/;
after(async () => {
  await endBrowser();
  await at.end();
});

/** What went wrong beside the network that the test itself cut. */
const trouble = (who) => who.trouble.filter((t) => !cut.test(t));

/** Cuts the phone off: every request of its pages fails, as behind a wall. */
const cutOff = (who) => who.context.setOffline(true);
const joinAgain = (who) => who.context.setOffline(false);

const status = (who) => who.page.locator("[data-kept] p").first();
test("a weighing round without the program: kept on the phone, said so, and sent when it is back", async () => {
  const who = await person(at);
  const { at: place, names, ids } = await litter(who, 3);
  await who.page.goto(`${place}/weigh`);
  await hasPlan(who);
  assert.match(await status(who).innerText(), /^Saved on server \d\d:\d\d$/);
  await cutOff(who);
  for (const [i, name] of names.entries()) {
    await who.page.locator(".subject strong", { hasText: name }).waitFor();
    await who.keys(String(430 + i));
    await who.tap(/^Save 43/);
    await who.page.locator(".saved").getByText(`${name}: ${430 + i}`).waitFor();
    assert.match(await who.page.locator(".saved").innerText(), /Kept on this phone, not on the server yet/);
  }
  await who.page.getByText("All weighed").waitFor();
  assert.match(await status(who).innerText(), /^3 waiting on this phone\. Server not reached since \d\d:\d\d$/);
  // The tab cannot be closed by mistake while something waits.
  let asked = 0;
  who.page.once("dialog", async (dialog) => { asked += 1; assert.equal(dialog.type(), "beforeunload"); await dialog.dismiss(); });
  await who.page.evaluate(() => { setTimeout(() => location.reload(), 0); });
  await who.page.waitForTimeout(500);
  assert.equal(asked, 1);
  await joinAgain(who);
  await status(who).getByText(/^Saved on server/).waitFor({ timeout: 20000 });
  const other = await person(at);
  for (const [i, name] of names.entries()) {
    await other.page.goto(`${place}/pup/${ids[name]}`);
    await other.page.getByText(new RegExp(`${430 + i}.g`)).first().waitFor();
  }
  assert.deepEqual([...trouble(who), ...trouble(other)], []);
  await who.close();
  await other.close();
});

test("what waits outlives a reload of the page", async () => {
  const who = await person(at);
  const { at: place, ids } = await litter(who, 2);
  await who.page.goto(`${place}/weigh`);
  await hasPlan(who);
  // Only the ways on which entries are sent are closed: the page itself can be had.
  await who.context.route("**/api/v1/**", (route) => route.abort());
  await who.keys("431");
  await who.tap(/^Save 431/);
  await who.page.locator(".saved").getByText("Kept on this phone").waitFor();
  await who.keys("44");
  who.page.on("dialog", (dialog) => dialog.accept());
  await who.page.reload();
  await status(who).getByText(/1 waiting on this phone/).waitFor();
  await who.context.unroute("**/api/v1/**");
  await status(who).getByText(/^Saved on server/).waitFor({ timeout: 70000 });
  await who.page.goto(`${place}/pup/${ids.Ash}`);
  await who.page.getByText(/431.g/).first().waitFor();
  assert.equal(await who.page.getByText("time uncertain").count(), 0, "a reload alone makes no time uncertain");
  assert.deepEqual(trouble(who), []);
  await who.close();
});

test("a clock that jumped before the page was loaded anew makes the time of what waits uncertain", async () => {
  const who = await person(at);
  const { at: place, ids } = await litter(who, 2);
  await who.page.goto(`${place}/weigh`);
  await hasPlan(who);
  await who.context.route("**/api/v1/**", (route) => route.abort());
  await who.keys("434");
  await who.tap(/^Save 434/);
  await who.page.locator(".saved").getByText("Kept on this phone").waitFor();
  await who.context.addInitScript(() => {
    const Before = Date;
    window.Date = class extends Before {
      constructor(...given) { super(...(given.length > 0 ? given : [Before.now() + 300e3])); }
      static now() { return Before.now() + 300e3; }
    };
  });
  who.page.on("dialog", (dialog) => dialog.accept());
  await who.page.reload();
  await status(who).getByText(/1 waiting on this phone/).waitFor();
  await who.context.unroute("**/api/v1/**");
  await status(who).getByText(/^Saved on server/).waitFor({ timeout: 70000 });
  await who.page.goto(`${place}/pup/${ids.Ash}`);
  await who.page.getByRole("link", { name: /434.g.* · time uncertain/ }).waitFor();
  assert.equal(await who.page.getByText("time uncertain").count(), 1, "and of nothing else");
  assert.deepEqual(trouble(who), []);
  await who.close();
});

test("an answer that was lost on the way saves nothing twice", async () => {
  const who = await person(at);
  const { at: place, ids } = await litter(who, 2);
  await who.page.goto(`${place}/weigh`);
  await hasPlan(who);
  // The program takes the entry, the answer is lost.
  let lost = 0;
  await who.context.route("**/api/v1/tap", async (route) => {
    lost += 1;
    await route.fetch();
    await route.abort();
  });
  await who.keys("432");
  await who.tap(/^Save 432/);
  await who.page.locator(".saved").getByText("Kept on this phone").waitFor();
  assert.equal(lost, 1);
  await status(who).getByText(/^Saved on server/).waitFor({ timeout: 20000 });
  await who.page.goto(`${place}/pup/${ids.Ash}`);
  assert.equal(await who.page.locator("a[href*='/entry/']", { hasText: /432/ }).count(), 1);
  assert.deepEqual(trouble(who), []);
  await who.close();
});

test("without the program a slip is asked about, a cold pup gets no milk, and no new amount appears", async () => {
  const who = await person(at);
  const { at: place, names } = await litter(who, 2, { fedByHand: true });
  await who.page.goto(`${place}/feed`);
  await hasPlan(who);
  const planned = (await who.page.locator(".number-large").innerText()).replace(/[^\d.]/g, "");
  await cutOff(who);
  await who.page.getByRole("link", { name: "Finish" }).click();
  await who.page.getByRole("heading", { name: "Without the server" }).waitFor();
  await who.tap("Weigh");
  await who.keys("43");
  await who.tap(/^Save 43 g/);
  await who.page.getByRole("alert").getByText(/is unusual/).waitFor();
  await who.tap("Weigh again");
  await who.keys("430");
  await who.tap(/^Save 430 g/);
  await who.page.locator(".saved").getByText(`${names[0]}: 430`).waitFor();
  await who.tap("Back");
  await who.tap("Feed");
  assert.equal((await who.page.locator(".number-large").innerText()).replace(/[^\d.]/g, ""), planned, "the amount of the plan, or less");
  await who.page.locator("[name=celsius]").fill("34.0");
  await who.tap(/Checked, and fed/);
  await who.page.getByText(/Too cold for milk at 34/).first().waitFor();
  await who.page.getByRole("heading", { name: "No milk now" }).waitFor();
  assert.equal(await who.page.locator(".number-large").count(), 0, "the gate shows no amount");
  await who.page.getByText("Ring the vet now.").first().waitFor();
  // The other pup may be fed; what was given is written down.
  await who.page.locator(".order button", { hasText: names[1] }).click();
  await who.page.locator("[name=celsius]").fill("36.5");
  await who.tap(/Checked, and fed/);
  await who.page.locator(".saved").getByText(new RegExp(`${names[1]}: [\\d.]+.mL`)).waitFor();
  await joinAgain(who);
  await status(who).getByText(/^Saved on server/).waitFor({ timeout: 20000 });
  await who.page.goto(`${place}/now`);
  await who.page.getByText(/too cold/i).first().waitFor();
  assert.deepEqual(trouble(who), []);
  await who.close();
});

test("three phones: one cut off, two at once; each sees all in the end", async () => {
  const [one, two, three] = [await person(at), await person(at), await person(at)];
  const { at: place, names, ids } = await litter(one, 3);
  for (const who of [one, two, three]) {
    await who.page.goto(`${place}/weigh?pup=${ids[names[[one, two, three].indexOf(who)]]}`);
    await hasPlan(who);
  }
  await cutOff(three);
  await Promise.all([one, two, three].map(async (who, i) => {
    await who.keys(String(440 + i));
    await who.tap(new RegExp(`^Save ${440 + i}`));
    await who.page.locator(".saved").getByText(`${names[i]}: ${440 + i}`).waitFor();
  }));
  await one.page.goto(`${place}/now`);
  await joinAgain(three);
  await one.page.locator("main").getByText(/442.g/).first().waitFor({ timeout: 20000 });
  await one.page.locator("main").getByText(/441.g/).first().waitFor();
  assert.deepEqual([...trouble(one), ...trouble(two), ...trouble(three)], []);
  for (const who of [one, two, three]) await who.close();
});

test("who opens a round that is due is seen on the other phone; one feed written twice is asked about on both", async () => {
  const [tom, jo] = [await person(at), await person(at)];
  const { at: place, ids, names } = await litter(tom, 2, { fedByHand: true });
  for (const name of ["Tom", "Jo"]) await tom.post(`${place}/settings`, { what: "carer", name });
  await tom.post("/device", { carer: "Tom", back: "/" });
  await jo.post("/device", { carer: "Jo", back: "/" });
  await jo.page.goto(`${place}/now`);
  await tom.page.goto(`${place}/feed`);
  await jo.page.getByText(/Tom is feeding \(\d\d:\d\d\)/).waitFor({ timeout: 20000 });
  await tom.post(`${place}/feed`, { pup: ids[names[0]], what: "other", taken_ml: "5", method: "bottle" });
  await jo.post(`${place}/feed`, { pup: ids[names[0]], what: "other", taken_ml: "5", method: "bottle", kept: "yes" });
  await tom.page.goto(`${place}/feed?pup=${ids[names[1]]}`);
  await jo.page.goto(`${place}/now`);
  for (const who of [tom, jo]) await who.page.getByText("Same feed written twice, or two feeds?").waitFor();
  await jo.tap("One feed");
  await tom.page.getByText("Same feed written twice, or two feeds?").waitFor({ state: "hidden", timeout: 20000 });
  assert.deepEqual([...trouble(tom), ...trouble(jo)], []);
  await tom.close();
  await jo.close();
});

test("a clock that is wrong is said to be, and times are corrected", async () => {
  const fast = await person(at, SIZES.phone, { clockAhead: 7 * 60e3 });
  const { at: place, ids } = await litter(fast, 2);
  await fast.page.goto(`${place}/now`);
  await fast.page.getByText("This phone's clock is 7 min fast; times are corrected.").waitFor();
  await fast.page.goto(`${place}/weigh`);
  await fast.keys("433");
  const before = Date.now() + at.ahead;
  await fast.tap(/^Save 433/);
  await fast.page.getByRole("status").getByText("Ash: 433").waitFor();
  const page = await fast.page.evaluate(async (path) => (await fetch(path)).text(), `${place}/pup/${ids.Ash}`);
  const shown = /433.g[^]*?(\d\d:\d\d)/.exec(page.slice(page.indexOf("433")))?.[1] ?? "";
  const clock = (ms) => new Intl.DateTimeFormat("en-GB", { timeZone: "Europe/Berlin", hour: "2-digit", minute: "2-digit" }).format(ms);
  assert.ok([clock(before - 60e3), clock(before), clock(before + 60e3)].includes(shown), `${shown} and not ${clock(before + 7 * 60e3)}`);
  assert.deepEqual(trouble(fast), []);
  await fast.close();
});

test("the program ends and starts again: a page that was open carries on and sends what it kept", async () => {
  const there = await house(STARTS);
  const who = await person(there);
  const { at: place, ids } = await litter(who, 2);
  await who.page.goto(`${place}/weigh`);
  await hasPlan(who);
  await there.stop();
  await who.keys("435");
  await who.tap(/^Save 435/);
  await who.page.locator(".saved").getByText("Kept on this phone").waitFor();
  await who.page.getByText(/1 waiting on this phone\. Server not reached since/).waitFor();
  await there.start(Number(new URL(there.address).port));
  await status(who).getByText(/^Saved on server/).waitFor({ timeout: 70000 });
  await who.page.goto(`${place}/pup/${ids.Ash}`);
  await who.page.getByText(/435.g/).first().waitFor();
  assert.deepEqual(trouble(who), []);
  await who.close();
  await there.end();
});

test("a feed that nobody acknowledged for half an hour comes to the top of every open page, as time passes", async () => {
  const who = await person(at);
  const { at: place, ids, names } = await litter(who, 1, { fedByHand: true });
  await who.post(`${place}/feed`, { pup: ids[names[0]], what: "other", taken_ml: "5", method: "bottle", at: "2026-11-25 20:30", kept: "yes" });
  await who.page.clock.install();
  await who.page.goto(`${place}/litter`);
  await hasPlan(who);
  await who.page.clock.runFor(11000);
  assert.equal(await who.page.locator("[data-late]").count(), 0, "not before its time");
  // The program is not reached: its clock would set the phone right, which is not four hours ahead.
  await cutOff(who);
  await who.page.clock.fastForward("04:00:00");
  await who.page.clock.runFor(11000);
  const late = who.page.locator("[data-late]");
  await late.getByText(new RegExp(`Late feed: ${names[0]} \\d\\d:\\d\\d`)).waitFor();
  const [bar, main] = [await late.boundingBox(), await who.page.locator("main").boundingBox()];
  assert.ok(bar.y < main.y, "above everything of the page");
  await who.close();
});

test("what the program refuses stays on the phone, in view, until it is taken", async () => {
  const who = await person(at);
  const { at: place, ids } = await litter(who, 2);
  await who.page.goto(`${place}/weigh`);
  await hasPlan(who);
  const refuse = (route) => route.fulfill({ status: 403, contentType: "application/json", body: JSON.stringify({ why: "without the token of this browser" }) });
  await who.context.route("**/api/v1/tap", refuse);
  await who.context.route("**/api/v1/events**", refuse);
  await who.keys("436");
  await who.tap(/^Save 436/);
  const card = who.page.locator("[data-refused]");
  await card.getByText(/Kept on this phone: the server did not take it/).waitFor();
  assert.match(await card.innerText(), /Ash 436 g .* without the token of this browser/);
  who.page.on("dialog", (dialog) => dialog.accept());
  await who.page.reload();
  await card.waitFor();
  assert.deepEqual(await who.axe(), []);
  await who.context.unroute("**/api/v1/tap");
  await who.context.unroute("**/api/v1/events**");
  await card.getByRole("button", { name: "Send it again" }).click();
  await card.waitFor({ state: "detached" });
  await who.page.goto(`${place}/pup/${ids.Ash}`);
  await who.page.getByText(/436.g/).first().waitFor();
  await who.close();
});

test("where no stream comes through the page asks every twenty seconds; a page that is not seen asks nothing", async () => {
  const [one, other] = [await person(at), await person(at)];
  const { at: place, ids } = await litter(one, 2);
  await other.context.route(/\/live\?since=/, (route) => route.abort());
  await other.page.goto(`${place}/litter`);
  await hasPlan(other);
  await one.post(`${place}/weigh`, { pup: ids.Ash, weight: "437", unit: "g", taken: "before_feed" });
  await other.page.locator("main").getByText(/437.g/).first().waitFor({ timeout: 45000 });
  // Put away: the page is told so as a browser tells it.
  await other.page.evaluate(() => {
    Object.defineProperty(document, "hidden", { value: true, configurable: true });
    document.dispatchEvent(new Event("visibilitychange"));
  });
  await other.page.waitForTimeout(1000);
  let asked = 0;
  other.page.on("request", () => { asked += 1; });
  await other.page.waitForTimeout(25000);
  assert.equal(asked, 0);
  await one.close();
  await other.close();
});
