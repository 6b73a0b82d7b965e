// The sheet for the fridge where phones reach the pages: its code, one page of paper, and by night on a phone.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { endBrowser, house, litter, person, SIZES } from "./house.mjs";

const PASSWORD = "four plain words here";
const MM = 96 / 25.4;
const at = await house(undefined, { password: PASSWORD });
after(async () => {
  await endBrowser();
  await at.end();
});

test("the sheet of eight orphans is one page with a code of 24 mm, and its address is the page now", async () => {
  const who = await person(at, SIZES.phone);
  const { page } = who;
  await page.goto("/sign-in");
  await page.getByLabel("password").fill(PASSWORD);
  await who.tap("Sign in as the breeder");
  await page.waitForURL(`${at.address}/`);
  const { at: place, names } = await litter(who, 8, { fedByHand: true });
  // The scene was set in a hurry: until a hand's pace is answered again.
  await page.waitForTimeout(2500);
  who.trouble.length = 0;
  for (const theme of ["day", "night"]) {
    await who.post("/device", { theme, back: "/" });
    await page.goto(`${place}/sheet`);
    assert.deepEqual(await who.axe(), [], theme);
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    assert.equal(over, 0, theme);
    const broken = await page.$$eval(".paper-grid .far", (all) => all.filter((e) => e.getClientRects().length !== 1).map((e) => e.textContent));
    assert.deepEqual(broken, [], `${theme}: an amount apart from its unit`);
    const times = await page.$$eval(".paper-grid thead th", (all) => all.slice(2).map((e) => e.textContent));
    assert.equal(new Set(times).size, times.length, `a time stands there twice: ${times}`);
  }
  const code = page.locator("svg.qr");
  assert.equal(await code.getAttribute("aria-label"), `A code for the camera of a phone: ${at.address}${place}/now`);
  for (const format of ["A4", "Letter"]) {
    const pdf = (await page.pdf({ format, preferCSSPageSize: false })).toString("latin1");
    assert.equal(pdf.match(/\/Type\s*\/Page\b/g).length, 1, format);
  }
  await page.emulateMedia({ media: "print" });
  const box = await code.boundingBox();
  assert.ok(Math.abs(box.width - 24 * MM) < 1 && Math.abs(box.height - 24 * MM) < 1, `${box.width} x ${box.height} px`);
  const rows = await page.locator(".paper-grid tbody tr").count();
  assert.equal(rows, names.length);
  assert.deepEqual(who.trouble, []);
  await who.close();
});
