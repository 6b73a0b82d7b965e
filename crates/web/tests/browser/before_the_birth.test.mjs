// The pages of a litter that is not born yet: by keyboard and form only, readable at night, on a
// narrow phone and on paper.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { endBrowser, house, litter, luminance, person, SIZES } from "./house.mjs";

const at = await house();
after(async () => {
  await endBrowser();
  await at.end();
});

/** A dam that is expecting, with a mating and two days of readings; the last one is low. */
async function expecting(who) {
  const place = await litter(who, 0).then((l) => l.at);
  await who.post(`${place}/expecting`, { mated_at: "2026-09-25", ovulated_at: "2026-09-27", expected_pups: "7", weight_kg: "28" });
  for (const [reading, time] of [["38.2", "2026-11-24 08:00"], ["38.0", "2026-11-24 20:00"], ["37.9", "2026-11-25 08:00"], ["37.1", "2026-11-25 20:00"]]) {
    await who.post(`${place}/check`, { pup: "", dam_temperature_c: reading, at: time, back: "expecting" });
  }
  return place;
}

test("window, strip and shopping list are readable by day and night, on a phone and on paper", async () => {
  for (const theme of ["day", "night"]) {
    const who = await person(at, { width: 320, height: 640 });
    const place = await expecting(who);
    await who.post("/device", { theme, back: "/" });
    for (const path of ["expecting", "supplies?packet=400&packet_price=19.5"]) {
      await who.page.goto(`${place}/${path}`);
      if (theme === "night") assert.ok((await luminance(who)).mean <= 0.03, `${path} is dark at night`);
      await who.page.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
      assert.deepEqual(await who.axe(), [], `${path} ${theme}`);
      const over = await who.page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      assert.ok(over <= 0, `${path} ${theme}: ${over} px too wide`);
    }
    await who.page.emulateMedia({ media: "print" });
    const printed = await who.page.innerText("main");
    assert.match(printed, /Buy now/);
    assert.doesNotMatch(printed, /Reckon again/, "the form stays off the paper");
    assert.deepEqual(who.trouble, []);
    await who.close();
  }
});

test("an assumption is changed by keyboard, and the answer says what was typed", async () => {
  const who = await person(at, SIZES.phone);
  const place = await expecting(who);
  await who.page.goto(`${place}/supplies`);
  const packets = who.page.locator("[name=packet]");
  await packets.focus();
  await who.page.keyboard.type("400");
  await who.page.keyboard.press("Enter");
  await who.page.waitForURL(/packet=400/);
  assert.match(await who.page.innerText("main"), /packets\)/);
  assert.equal(await who.page.inputValue("[name=packet]"), "400");
  await who.close();
});
