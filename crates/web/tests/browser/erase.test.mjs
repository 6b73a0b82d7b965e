// The whole book as a file, then a litter and a name erased, on a phone in daylight and at night.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { after, test } from "node:test";
import { endBrowser, hasPlan, house, litter, person, SIZES, until } from "./house.mjs";

const at = await house();
after(async () => {
  await endBrowser();
  await at.end();
});

const shown = (page, what) => process.env.SCREENSHOTS_TO ? page.screenshot({ path: `${process.env.SCREENSHOTS_TO}/erase-${what}.png`, fullPage: true }) : undefined;

/** How many plans of a litter lie on the shelf of a phone. */
const plansOn = (page, litter) => page.evaluate((id) => new Promise((done) => {
  indexedDB.open("whelpward").onsuccess = (event) => {
    const asked = event.target.result.transaction("plans").objectStore("plans").count(id);
    asked.onsuccess = () => done(asked.result);
  };
}), litter);

/** Nothing that axe finds, nothing cut off, targets large enough. */
async function fit(who, what, theme) {
  assert.deepEqual(await who.axe(), [], `${what} ${theme}`);
  const { wide, small } = await who.page.evaluate((least) => ({
    wide: document.documentElement.scrollWidth > innerWidth,
    small: [...document.querySelectorAll("button, a.button")].filter((e) => e.getBoundingClientRect().height < least).map((e) => e.textContent),
  }), theme === "night" ? 60 : 48);
  assert.deepEqual([wide, small], [false, []], `${what} ${theme}`);
  await shown(who.page, `${what}-${theme}`);
}

for (const theme of ["day", "night"]) {
  test(`a litter and a name go for good, after the file, ${theme}`, async () => {
    const who = await person(at, SIZES.phone);
    const { at: place, ids } = await litter(who, 2);
    const name = `Robin ${theme}`;
    await who.post(`${place}/settings`, { what: "carer", name });
    await who.post("/device", { carer: name, theme, back: "/" });
    await who.post(`${place}/weigh`, { pup: ids.Ash, weight: "431", unit: "g", note: `${name} was quick` });
    await who.page.goto("/household/erase");
    await fit(who, "choose", theme);
    const called = await who.page.locator(".menu button").first().innerText();

    await who.tap(name);
    await who.page.getByText("Not all of it is in a ZIP yet").waitFor();
    await fit(who, "not-out", theme);
    const [file] = await Promise.all([who.page.waitForEvent("download"), who.tap("Save the ZIP on this device")]);
    assert.match(file.suggestedFilename(), /^everything-\d{8}T\d{6}Z\.zip$/);
    const bytes = readFileSync(await file.path());
    assert.equal(bytes.subarray(0, 2).toString(), "PK");
    await who.tap("Go on");
    await who.page.getByText("Type the name as it stands here").waitFor();
    await fit(who, "chosen", theme);

    await who.tap("Erase for good");
    await who.page.getByText("First say that you have the ZIP").waitFor();
    await who.page.getByLabel("I have the ZIP, and I know where it is").check();
    await who.page.getByLabel(/Type the name/).fill(name);
    await who.tap("Erase for good");
    await who.page.getByText(/"Person \d+" stands in the place of the name/).waitFor();
    await fit(who, "done", theme);
    await who.page.goto(`${place}/pup/${ids.Ash}`);
    assert.doesNotMatch(await who.page.locator("main").innerText(), new RegExp(name));

    await who.page.goto("/household/erase");
    // The erasing itself is no entry of a litter, so the file still holds all of this one.
    await who.tap(new RegExp(`^${called.split("\n")[0]}`));
    await who.page.getByLabel("I have the ZIP, and I know where it is").check();
    await who.page.getByLabel(/Type the name/).fill((await who.page.locator("h1").innerText()).replace("Erase ", ""));
    // Another phone has the litter open, and its plan on its shelf.
    const other = await person(at, SIZES.phone);
    await other.page.goto(`${place}/now`);
    await hasPlan(other);
    assert.equal(await plansOn(other.page, place.split("/").at(-1)), 1);
    await who.tap("Erase for good");
    await who.page.getByText("The litter is gone from the book").waitFor();
    await until(other.page, () => location.pathname === "/");
    assert.equal(await plansOn(other.page, place.split("/").at(-1)), 0);
    await other.close();
    assert.equal((await who.page.goto(`${place}/now`)).status(), 404);
    assert.deepEqual(who.trouble.filter((t) => !/status of 404/.test(t)), []);
    await who.close();
  });
}
