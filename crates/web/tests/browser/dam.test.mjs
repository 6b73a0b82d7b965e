// Weigh, nurse, weigh with one hand at night, and the dam's page with turns at the teat.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { endBrowser, examples, house, person, SIZES } from "./house.mjs";

const at = await house();
after(async () => {
  await endBrowser();
  await at.end();
});

test("a pup is weighed before and after nursing, at night, and the page stays usable between", async () => {
  const who = await person(at, SIZES.phone);
  await who.post("/device", { theme: "night", back: "/" });
  const place = (await examples(who)).Heather;
  await who.page.goto(`${place}/nurse`);
  const pup = (await who.page.locator("nav.order a", { hasText: "Heath" }).getAttribute("href"));
  await who.page.goto(pup);
  await who.page.fill("input[name=weight]", "220");
  await who.page.click("button.save");
  await who.page.goto(pup);
  assert.match(await who.page.locator("main").innerText(), /Before: 220\sg/);
  assert.deepEqual(await who.axe(), []);
  const tick = await who.page.locator("label.tick").boundingBox();
  assert.ok(tick.height >= 60, `the tick is ${tick.height} px high`);
  await who.page.fill("input[name=weight]", "226");
  await who.page.check("input[name=soiled]");
  await who.page.click("button.save");
  assert.match(await who.page.locator("body").innerText(), /Heath: nursed, at least \+6\sg/);
  assert.deepEqual(who.trouble, []);
  await who.close();
});

test("turns at the teat stand on the dam's page in every theme and fit a phone", async () => {
  for (const theme of ["day", "night"]) {
    const who = await person(at, SIZES.phone);
    await who.post("/device", { theme, back: "/" });
    const place = (await examples(who)).Heather;
    await who.page.goto(`${place}/dam`);
    await who.page.fill("input[name=working_teats]", "3");
    await who.page.click("#teats button");
    assert.equal(await who.page.locator("#teats ol li").count(), 2, "four pups at three teats: two turns");
    assert.deepEqual(await who.axe(), []);
    const width = await who.page.evaluate(() => document.documentElement.scrollWidth);
    assert.ok(width <= SIZES.phone.width, `${width} px wide`);
    await who.close();
  }
});
