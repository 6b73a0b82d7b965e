// Dates and stages: several pups at once in one form, with and without script; nothing cut off.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { endBrowser, house, litter, person, SIZES } from "./house.mjs";

const at = await house();
let place;
after(async () => {
  await endBrowser();
  await at.end();
});

before(async () => {
  const who = await person(at);
  place = await litter(who, 3);
  await who.close();
});

for (const javaScriptEnabled of [true, false]) {
  test(`nails of three pups are one form, ${javaScriptEnabled ? "with" : "without"} script`, async () => {
    const who = await person(at, SIZES.phone, { javaScriptEnabled });
    await who.page.goto(`${place.at}/stages/write`);
    await who.link("Nails");
    for (const name of place.names) {
      await who.tap(who.page.locator(`input[name=pup][value="${place.ids[name]}"]`));
    }
    await who.tap("Save");
    assert.match(await who.page.locator(".saved-text").innerText(), /Ash, Birch, Cedar: nails\./);
    await who.tap("Take back");
    assert.ok(who.taps() <= 6, `${who.taps()} taps`);
    assert.deepEqual(who.trouble, []);
    await who.close();
  });
}

for (const theme of ["day", "night"]) {
  test(`no page of dates runs out of a phone, ${theme}`, async () => {
    const who = await person(at);
    await who.post("/device", { theme, back: "/" });
    await who.post(`${place.at}/stages/write`, { kind: "chip", pup: place.ids.Ash, value: "999 000000000001" });
    await who.post(`${place.at}/stages/write`, { kind: "new_owner", pup: place.ids.Ash, value: "A very long made-up name that does not end before the phone does ".repeat(2) });
    for (const path of ["stages", "stages/write", "stages/write?kind=worming", "stages/write?kind=vet_check", "stages/write?kind=home_day"]) {
      await who.page.goto(`${place.at}/${path}`);
      for (const fold of await who.page.locator("details").all()) await fold.evaluate((d) => { d.open = true; });
      const wide = await who.page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      assert.ok(wide <= 0, `${path}: ${wide} px too wide`);
      assert.deepEqual(await who.axe(), [], path);
    }
    assert.deepEqual(who.trouble, []);
    await who.close();
  });
}
