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
  const save = who.page.locator("button.save");
  assert.equal(await save.innerText(), "Save for Heath, then to the dam");
  await who.page.fill("input[name=weight]", "220");
  assert.equal(await save.innerText(), "Save 220 g for Heath, then to the dam");
  if (process.env.SHOT) await who.page.screenshot({ path: process.env.SHOT, fullPage: true });
  await save.click();
  await who.page.goto(pup);
  assert.match(await who.page.locator("main").innerText(), /Before: 220\sg/);
  assert.deepEqual(await who.axe(), []);
  const tick = await who.page.locator("label.tick").boundingBox();
  assert.ok(tick.height >= 60, `the tick is ${tick.height} px high`);
  await who.page.fill("input[name=weight]", "226");
  await who.page.check("input[name=soiled]");
  assert.equal(await save.innerText(), "Save 226 g for Heath");
  await save.click();
  assert.match(await who.page.locator("body").innerText(), /Heath: nursed, at least \+6\sg/);
  assert.deepEqual(who.trouble, []);
  await who.close();
});

test("the button names pounds and ounces once each", async () => {
  const who = await person(at, SIZES.phone);
  const now = await who.post("/new", { name: "Ounces", breed: "Maltese", scale_step_g: "1", time_zone: "UTC", weight_unit: "lb_oz" });
  const place = now.replace(/\/now$/, "");
  await who.post(`${place}/birth`, { name: "Ash", sex: "female", coat: "white", colour: "red", pattern: "plain", weight: "10", unit: "oz", at: "2026-11-25 19:10" });
  for (const [page, said] of [["weigh", "Save 1 lb 3 oz for Ash"], ["nurse", "Save 1 lb 3 oz for Ash, then to the dam"]]) {
    await who.page.goto(`${place}/${page}`);
    await who.page.fill("input[name=pounds]", "1");
    await who.page.fill("input[name=weight]", "3");
    assert.equal(await who.page.locator("button.save").innerText(), said);
  }
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
