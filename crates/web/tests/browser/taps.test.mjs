// The budgets of taps: a change that raises one fails here. Counted are dispatched clicks.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { endBrowser, examples, house, litter, person, STARTS } from "./house.mjs";
import { madeUpScale } from "./scale.mjs";

const at = await house();
after(async () => {
  await endBrowser();
  await at.end();
});

async function someone(options) {
  return person(at, undefined, options);
}

test("eight pups are weighed in 36 taps, and each is read back", async () => {
  const who = await someone();
  const { at: place, names } = await litter(who, 8);
  await who.page.goto(`${place}/now`);
  who.forget();
  await who.link("Weigh");
  for (const [i, name] of names.entries()) {
    await who.page.getByText("Save for").waitFor();
    await who.keys(String(430 + 7 * i));
    await who.tap(`Save ${430 + 7 * i} g for ${name}`);
    await who.page.getByRole("status").getByText(`${name}: ${430 + 7 * i}`).waitFor();
  }
  await who.link("Finish");
  await who.page.waitForURL("**/now");
  console.log(`weighing round of 8 pups: ${who.taps()} taps`);
  assert.ok(who.taps() <= 36, `${who.taps()} taps`);
  assert.deepEqual(who.trouble, []);
  await who.close();
});

test("eight pups on the scale are ten taps: one opens, one saves each, one finishes", async (t) => {
  const device = madeUpScale();
  const there = await house(STARTS, { more: ["--scale", device.path] });
  t.after(async () => {
    await there.end();
    await device.end();
  });
  await device.begin();
  const who = await person(there);
  const { at: place, names } = await litter(who, 8);
  await who.page.goto(`${place}/now`);
  who.forget();
  await who.link("Weigh");
  for (const [i, name] of names.entries()) {
    await who.page.getByText("Ready: put the pup on").waitFor();
    const weight = 430 + 7 * i;
    device.moving(weight - 20);
    await who.page.locator("[data-scale=moving]").waitFor();
    assert.equal(await who.page.locator("[data-number]").inputValue(), "", "a moving weight is not in the field");
    device.still(weight);
    await who.tap(who.page.getByRole("button", { name: `Save ${weight} g for ${name}` }));
    await who.page.getByRole("status").getByText(`${name}: ${weight}`).waitFor();
    if (i === 0) assert.equal(await who.page.locator("[data-number]").inputValue(), "", "the pup that still lies there is not the next one");
    device.empty();
  }
  await who.link("Finish");
  await who.page.waitForURL("**/now");
  console.log(`weighing round of 8 pups with a scale: ${who.taps()} taps`);
  assert.ok(who.taps() <= 12, `${who.taps()} taps`);
  assert.equal(who.taps(), 10);

  // A person who types is not disturbed; a wriggling pup is offered, not filled in.
  await who.page.goto(`${place}/weigh?since=4102444800000`);
  await who.keys("44");
  device.still(430);
  await who.page.locator("[data-scale=settled]").waitFor();
  assert.equal(await who.page.locator("[data-number]").inputValue(), "44");
  device.empty();
  await who.page.getByText("lifted off").waitFor();
  device.moving(431);
  await who.page.getByRole("button", { name: /Take 431.g, it moved/ }).click();
  assert.equal(await who.page.locator("[data-number]").inputValue(), "431");
  assert.deepEqual(who.trouble, []);
  await who.close();
});

test("one feed as planned is two taps, a round of eight is ten, another amount is five", async () => {
  const who = await someone();
  const { at: place, names, ids } = await litter(who, 8, { fedByHand: true });
  await who.page.goto(`${place}/now`);
  who.forget();
  await who.link("Feed");
  const seen = new Set();
  for (let i = 0; i < names.length; i += 1) {
    const name = await who.page.locator(".subject strong").innerText();
    seen.add(name);
    await who.tap(/fed [\d.]+/i);
    if (i === 0) {
      console.log(`one feed as planned: ${who.taps()} taps`);
      assert.ok(who.taps() <= 2);
    }
    await who.page.getByRole("status").getByText(new RegExp(`${name}: [\\d.]+.mL`)).waitFor();
  }
  console.log(`feeding round of 8 pups: ${who.taps()} taps`);
  assert.equal(seen.size, 8, "each pup once");
  assert.ok(who.taps() <= 10, `${who.taps()} taps`);

  who.forget();
  await who.tap("Take back");
  await who.page.getByText("Taken back").waitFor();
  assert.equal(who.taps(), 1);

  await who.page.goto(`${place}/feed?pup=${ids[[...seen].at(-1)]}`);
  who.forget();
  await who.tap(who.page.locator("summary", { hasText: "Another amount" }));
  await who.keys("5.5");
  await who.tap("Save 5.5 mL");
  await who.page.getByRole("status").getByText(/5\.5/).waitFor();
  console.log(`another amount: ${who.taps()} taps`);
  assert.ok(who.taps() <= 5);
  assert.deepEqual(who.trouble, []);
  await who.close();
});

test("the last weight is given to the right pup in three taps", async () => {
  const who = await someone();
  const { at: place, names } = await litter(who, 3);
  await who.page.goto(`${place}/weigh`);
  await who.keys("430");
  await who.tap(/Save 430/);
  await who.page.getByRole("status").waitFor();
  who.forget();
  await who.link("Wrong pup");
  await who.tap(who.page.locator("#wrong-pup button", { hasText: names[1] }));
  await who.page.getByRole("status").getByText(/corrected/).waitFor();
  console.log(`wrong pup: ${who.taps()} taps`);
  assert.ok(who.taps() <= 3);
  await who.close();
});

test("dam all normal in three taps, box in five, the vet's page in two, another carer in two", async () => {
  const who = await someone();
  const all = await examples(who);
  const place = all.Heather;
  await who.page.goto(`${place}/now`);
  who.forget();
  await who.link("Check");
  await who.tap(/The dam is well/);
  await who.page.getByRole("status").waitFor();
  console.log(`dam all normal: ${who.taps()} taps`);
  assert.ok(who.taps() <= 3);

  await who.page.goto(`${place}/now`);
  who.forget();
  await who.link("Box temperature");
  await who.keys("30");
  await who.keys([".5"]);
  await who.tap(/Save 30\.5/);
  await who.page.getByRole("status").getByText(/30\.5/).waitFor();
  console.log(`box temperature: ${who.taps()} taps`);
  assert.ok(who.taps() <= 5);

  await who.page.goto(`${place}/now`);
  who.forget();
  await who.link("More");
  await who.link("For the vet");
  await who.page.locator("a[href^='tel:']").first().waitFor();
  console.log(`page for the vet: ${who.taps()} taps`);
  assert.ok(who.taps() <= 2);

  await who.page.goto(`${place}/now`);
  who.forget();
  await who.link("Who is here?");
  await who.tap("Jo");
  await who.page.getByText("With: Jo").waitFor();
  console.log(`another carer: ${who.taps()} taps`);
  assert.ok(who.taps() <= 2);
  await who.close();
});

test("a wet finger's double touch types one digit, a sliding one types none", async () => {
  const who = await someone();
  const { at: place } = await litter(who, 2);
  await who.page.goto(`${place}/weigh`);
  const field = who.page.locator("[data-number]");
  await who.page.locator('[data-key="4"]').evaluate((key) => { key.click(); key.click(); });
  assert.equal(await field.inputValue(), "4");
  const key = await who.page.locator('[data-key="5"]').boundingBox();
  await who.page.mouse.move(key.x + 5, key.y + 5);
  await who.page.mouse.down();
  await who.page.mouse.move(key.x + 5, key.y - 300);
  await who.page.mouse.up();
  assert.equal(await field.inputValue(), "4");
  await who.keys("3");
  await who.page.locator('[data-key="⌫"]').click();
  assert.equal(await field.inputValue(), "4");
  // The draft outlives a reload.
  await who.page.reload();
  assert.equal(await field.inputValue(), "4");
  // A keyboard types and sends.
  await who.page.keyboard.type("31");
  await who.page.keyboard.press("Enter");
  await who.page.getByRole("status").getByText(/431/).waitFor();
  await who.close();
});

test("a second finger on the glass types nothing while the first is down", async () => {
  const who = await someone();
  const { at: place } = await litter(who, 2);
  await who.page.goto(`${place}/weigh`);
  const send = (key, type, pointerId) => who.page.locator(`[data-key="${key}"]`).evaluate((e, [type, pointerId]) => {
    e.dispatchEvent(new PointerEvent(type, { pointerId, isPrimary: pointerId === 1, bubbles: true, cancelable: true }));
  }, [type, pointerId]);
  await send("4", "pointerdown", 1);
  await send("9", "pointerdown", 2);
  await send("9", "pointerup", 2);
  await send("9", "click", 2);
  await send("4", "pointerup", 1);
  await send("4", "click", 1);
  assert.equal(await who.page.locator("[data-number]").inputValue(), "4");
  // The second finger alone is a finger like any other.
  await send("9", "pointerdown", 2);
  await send("9", "pointerup", 2);
  await send("9", "click", 2);
  assert.equal(await who.page.locator("[data-number]").inputValue(), "49");
  await who.close();
});

test("the glass can be wiped: touches are locked for five seconds, counted down, and nothing is lost", async () => {
  const who = await someone();
  const { at: place } = await litter(who, 2);
  await who.page.clock.install();
  await who.page.goto(`${place}/weigh`);
  await who.page.locator('[data-key="4"]').click();
  await who.page.getByRole("button", { name: "Wipe the screen" }).click();
  const lock = who.page.getByRole("alert");
  assert.match(await lock.innerText(), /5 s/);
  const box = await lock.boundingBox();
  assert.ok(box.width >= 360 && box.height >= 740, "it lies over everything");
  const under = await who.page.locator('[data-key="7"]').boundingBox();
  await who.page.mouse.click(under.x + 10, under.y + 10);
  await who.page.keyboard.press("7");
  await who.page.clock.runFor(4000);
  assert.match(await lock.innerText(), /1 s/);
  await who.page.clock.runFor(1000);
  assert.equal(await lock.count(), 0);
  assert.equal(await who.page.locator("[data-number]").inputValue(), "4");
  await who.page.locator('[data-key="7"]').click();
  assert.equal(await who.page.locator("[data-number]").inputValue(), "47");
  await who.close();
  // Without script there is nothing to press.
  const still = await someone({ javaScriptEnabled: false });
  await still.page.goto(`${place}/weigh`);
  assert.equal(await still.page.getByText("Wipe the screen").count(), 0);
  await still.close();
});
