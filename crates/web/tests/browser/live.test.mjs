// Two phones on one litter: what one writes, the other shows by itself.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { endBrowser, house, litter, person } from "./house.mjs";

const at = await house();
after(async () => {
  await endBrowser();
  await at.end();
});

/** Waits for a text on a page that nobody touches; tells how long it took, and asserts no time. */
async function seen(what, who, text) {
  const began = performance.now();
  await who.page.locator("main").getByText(text).first().waitFor({ timeout: 20000 });
  console.log(`${what}: seen ${Math.round(performance.now() - began)} ms after it was saved`);
}

test("an entry on one phone is seen on the other, which keeps its place and says so", async () => {
  const [one, other] = [await person(at), await person(at)];
  const { at: place, ids } = await litter(one, 4);
  await other.page.goto(`${place}/now`);
  await other.page.evaluate(() => { window.isTheSamePage = true; });
  const link = other.page.getByRole("link", { name: "Check the dam" });
  await link.focus();
  const from = await other.page.evaluate(() => window.scrollY);
  await one.post(`${place}/weigh`, { pup: ids.Ash, weight: "433", unit: "g", taken: "before_feed" });
  await seen("a weight on now", other, /433.g/);
  assert.equal(await other.page.evaluate(() => window.isTheSamePage), true, "not loaded anew");
  assert.equal(await other.page.evaluate(() => document.activeElement.textContent), await link.innerText());
  assert.ok(Math.abs((await other.page.evaluate(() => window.scrollY)) - from) < 200);
  await other.page.getByRole("status").getByText("Renewed").waitFor();

  await other.page.goto(`${place}/litter`);
  await one.post(`${place}/weigh`, { pup: ids.Birch, weight: "441", unit: "g", taken: "before_feed" });
  await seen("a weight on the litter's page", other, /441.g/);
  assert.deepEqual([...one.trouble, ...other.trouble], []);
  await one.close();
  await other.close();
});

test("a page on which something is typed is left alone and says that it is old", async () => {
  const [one, other] = [await person(at), await person(at)];
  const { at: place, ids } = await litter(one, 2);
  await other.page.goto(`${place}/settings`);
  await other.page.locator("[name=name]").first().fill("Rob");
  await one.post(`${place}/weigh`, { pup: ids.Ash, weight: "433", unit: "g", taken: "before_feed" });
  await other.page.getByText("Changed by another phone.").waitFor({ timeout: 20000 });
  assert.equal(await other.page.locator("[name=name]").first().inputValue(), "Rob");
  await other.page.getByRole("link", { name: "Show", exact: true }).click();
  await other.page.getByText("Changed by another phone.").waitFor({ state: "hidden" });
  assert.deepEqual([...one.trouble, ...other.trouble], []);
  await one.close();
  await other.close();
});

test("a pup that another phone has weighed is ticked while this one types", async () => {
  const [one, other] = [await person(at), await person(at)];
  const { at: place, ids } = await litter(one, 3);
  await other.page.goto(`${place}/weigh`);
  await other.keys("43");
  await one.post(`${place}/weigh`, { pup: ids.Ash, weight: "433", unit: "g", taken: "before_feed" });
  await seen("the pup in hand", other, /Weighed in this round already: 433.g/);
  await other.page.locator(".order a", { hasText: "Ash" }).getByText("✓").waitFor();
  assert.equal(await other.page.locator("[data-number]").inputValue(), "43", "what was typed stays");
  assert.deepEqual([...one.trouble, ...other.trouble], []);
  await one.close();
  await other.close();
});
