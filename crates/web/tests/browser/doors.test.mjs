// A phone is let in by a link; the pages of the doors by day, by night and on a narrow phone.

import assert from "node:assert/strict";
import { mkdirSync } from "node:fs";
import { after, test } from "node:test";
import { endBrowser, house, litter, luminance, person, SIZES } from "./house.mjs";

const PASSWORD = "four plain words here";
const at = await house(undefined, { password: PASSWORD });
after(async () => {
  await endBrowser();
  await at.end();
});

/** A browser in which the breeder signed in. */
async function breeder(size = SIZES.phone) {
  const who = await person(at, size);
  await who.page.goto("/sign-in");
  await who.page.getByLabel("password").fill(PASSWORD);
  await who.tap("Sign in as the breeder");
  await who.page.waitForURL(`${at.address}/`);
  who.forget();
  return who;
}

/** Targets smaller than they must be, and what runs out of the page. */
const mistakes = (least) => {
  const isShown = (e) => e.getClientRects().length > 0 && !e.closest(".skip") && getComputedStyle(e).visibility !== "hidden";
  const boxOf = (e) => (e.matches("input[type=radio], input[type=checkbox]") ? e.closest("label") : e).getBoundingClientRect();
  const inText = (e) => e.matches("p a:not(.button), li > a:not([class])") && getComputedStyle(e).display === "inline";
  const small = [...document.querySelectorAll("a, button, input:not([type=hidden]), select, summary")]
    .filter((e) => isShown(e) && !inText(e) && !e.matches(".skip"))
    .map((e) => [e.outerHTML.slice(0, 90), boxOf(e)])
    .filter(([, b]) => b.width < least - 0.5 || b.height < least - 0.5)
    .map(([html, b]) => `${Math.round(b.width)}x${Math.round(b.height)} ${html}`);
  const over = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  return over > 0 ? [...small, `${over} px too wide`] : small;
};

test("a second phone is let in by a link in at most five taps, and its entries carry its carer", async () => {
  const ann = await breeder();
  const { at: place, ids } = await litter(ann, 2);
  await ann.post(`${place}/settings`, { what: "carer", name: "Tom" });
  await ann.page.goto("/");
  ann.forget();
  await ann.link("Phones and people");
  await ann.tap(/Link for Tom/);
  const link = await ann.page.locator("code.address").innerText();
  assert.match(link, /^http:\/\/127\.0\.0\.1:\d+\/j\/[0-9a-f]{32}$/);
  const picture = await ann.page.locator("svg.qr").boundingBox();
  assert.ok(picture.width >= 240 && picture.height >= 240, `${picture.width} x ${picture.height}`);

  // A link preview spends nothing.
  const preview = await person(at);
  await preview.page.goto(link);
  await preview.close();

  const tom = await person(at);
  await tom.page.goto(link);
  await tom.tap("Join as Tom");
  await tom.page.waitForURL(`**${place}/now`);
  await tom.page.getByText("With: Tom").waitFor();
  const taps = ann.taps() + tom.taps();
  assert.ok(taps <= 5, `${taps} taps`);
  console.log(`a phone let in: ${taps} taps on both`);

  await tom.post(`${place}/weigh`, { pup: ids.Ash, weight: "433", unit: "g", taken: "before_feed" }, "/who");
  await ann.page.goto("/household/audit");
  await ann.page.getByText(/Ash, 433.g/).waitFor();
  await ann.page.locator("li", { hasText: /Ash, 433.g/ }).getByText(/Tom/).first().waitFor();

  // Lena takes the phone over: the name at the top, then hers.
  await ann.post("/household/person", { name: "Lena", role: "helper" });
  await tom.page.goto(`${place}/now`);
  tom.forget();
  await tom.page.getByRole("link", { name: /With:/ }).click();
  await tom.tap(/Lena/);
  await tom.page.getByText("With: Lena").waitFor();
  assert.ok(tom.taps() + 1 <= 2, "two taps");

  assert.deepEqual([...ann.trouble, ...tom.trouble], []);

  // Signed out on the breeder's page, the phone sees nothing more.
  await ann.page.goto("/household");
  await ann.page.locator("li.card", { hasText: "Tom" }).getByRole("button", { name: "Sign out" }).click();
  await tom.page.goto(`${place}/now`);
  await tom.page.getByRole("heading", { name: "Sign in" }).waitFor();
  // Its open page may have asked once more and been refused.
  assert.deepEqual([...ann.trouble, ...tom.trouble.filter((text) => !/status of 401/.test(text))], []);
  await ann.close();
  await tom.close();
});

test("the pages of the doors: nothing that axe finds, targets large enough, nothing cut off, dark at night", async () => {
  const sizes = [...Object.entries(SIZES), ["narrow", { width: 320, height: 640 }]];
  for (const theme of ["day", "night"]) {
    const who = await breeder();
    await who.post("/device", { theme, back: "/" });
    for (const [name, role] of [["Tom", "carer"], ["Lena", "helper"]]) await who.post("/household/person", { name, role });
    const least = theme === "night" ? 60 : 48;
    const look = async (what, name) => {
      await who.page.evaluate(() => { for (const d of document.querySelectorAll("details")) d.open = true; });
      if (process.env.DOORS) {
        mkdirSync(process.env.DOORS, { recursive: true });
        await who.page.screenshot({ path: `${process.env.DOORS}/${what}-${theme}-${name}.png`, fullPage: true });
      }
      assert.deepEqual(await who.axe(), [], `${what} ${theme} ${name}`);
      assert.deepEqual(await who.page.evaluate(mistakes, least), [], `${what} ${theme} ${name}`);
      // The picture for the camera is black on white also at night: only there.
      if (theme === "night" && what !== "link") {
        const seen = await luminance(who);
        assert.ok(seen.mean <= 0.03, `${what}: ${seen.mean}`);
      }
    };
    for (const [name, size] of sizes) {
      await who.page.setViewportSize(size);
      for (const path of ["/", "/household", "/household/audit", "/who"]) {
        await who.page.goto(path);
        await look(path === "/" ? "start" : path.split("/").at(-1), name);
      }
      await who.page.goto("/household");
      await who.page.getByRole("button", { name: /Link for Tom/ }).click();
      const link = await who.page.locator("code.address").innerText();
      await look("link", name);
      await who.page.goto(link);
      await look("join", name);
      await who.page.goto("/household");
      await who.page.locator("#vet button", { hasText: "Make the link" }).first().click();
      await who.page.goto(await who.page.locator("code.address").innerText());
      await look("vet-link", name);
    }
    await who.page.goto("/j/00000000000000000000000000000000");
    await look("join-refused", "narrow");
    await who.page.goto("/who");
    await who.tap("Sign this device out");
    await who.page.getByRole("heading", { name: "Sign in" }).waitFor();
    for (const [name, size] of sizes) {
      await who.page.setViewportSize(size);
      await look("sign-in", name);
    }
    // A link that opens nothing says so with its status.
    assert.deepEqual(who.trouble.filter((t) => !/status of 410/.test(t)), []);
    await who.close();
  }
});
