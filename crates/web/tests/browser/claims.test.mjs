// "I am feeding" on a phone without script; with script the page says it by itself.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { endBrowser, house, litter, person, SIZES } from "./house.mjs";

const at = await house();
after(async () => {
  await endBrowser();
  await at.end();
});

for (const theme of ["day", "night"]) {
  test(`without script one tap says who is feeding, ${theme}`, async () => {
    const [tom, jo] = [await person(at, SIZES.phone, { javaScriptEnabled: false }), await person(at)];
    const { at: place } = await litter(jo, 2, { fedByHand: true });
    await jo.post(`${place}/settings`, { what: "carer", name: "Tom" });
    await tom.post("/device", { carer: "Tom", theme, back: "/" });
    await tom.page.goto(`${place}/feed`);
    const button = tom.page.getByRole("button", { name: "I am feeding: tell the others" });
    const { width, height } = await button.boundingBox();
    const least = theme === "night" ? 60 : 48;
    assert.ok(width >= least && height >= least, `${width} x ${height}`);
    const before = tom.taps();
    await tom.tap(button);
    assert.equal(tom.taps() - before, 1);
    assert.match(await tom.page.locator("[data-claims]").innerText(), /You are feeding \(\d\d:\d\d\); the others see it\./);
    assert.equal(await button.count(), 0);
    await jo.page.goto(`${place}/now`);
    await jo.page.getByText(/Tom is feeding \(\d\d:\d\d\)/).waitFor();
    assert.deepEqual([...tom.trouble, ...jo.trouble], []);
    await tom.close();
    await jo.close();
  });
}

test("with script the open page says it, and the button goes", async () => {
  const who = await person(at);
  const { at: place } = await litter(who, 2, { fedByHand: true });
  await who.page.goto(`${place}/feed`);
  await who.page.getByText(/You are feeding \(\d\d:\d\d\)/).waitFor({ timeout: 20000 });
  assert.equal(await who.page.getByRole("button", { name: "I am feeding" }).count(), 0);
  assert.deepEqual(who.trouble, []);
  await who.close();
});
