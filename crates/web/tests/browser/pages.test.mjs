// Every page in every theme and width: no violation, targets large enough, nothing cut off, few
// bytes, little light at night.

import assert from "node:assert/strict";
import { mkdirSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { after, before, test } from "node:test";
import { endBrowser, everyPage, house, luminance, PAGES, person, SIZES } from "./house.mjs";

const at = await house();
after(async () => {
  await endBrowser();
  await at.end();
});

const THEMES = ["day", "night", "print"];
let places;
let every;

before(async () => {
  const who = await person(at);
  ({ places, every } = await everyPage(who));
  await who.close();
});

async function inTheme(theme, size, more = {}) {
  const who = await person(at, size, more);
  if (theme === "print") await who.page.emulateMedia({ media: "print" });
  await who.post("/device", { theme: theme === "print" ? "day" : theme, back: "/" });
  return who;
}

for (const theme of THEMES) {
  for (const [name, size] of Object.entries(SIZES)) {
    test(`axe finds nothing: ${theme}, ${name}`, async () => {
      const who = await inTheme(theme, size);
      let count = 0;
      for (const path of every) {
        await who.page.goto(path);
        assert.deepEqual(await who.axe(), [], `${path} ${theme} ${name}`);
        count += 1;
      }
      console.log(`axe: ${count} pages × ${theme} × ${size.width} px, 0 violations`);
      assert.deepEqual(who.trouble, []);
      await who.close();
    });
  }
}

test("targets are at least 60 px at night and 48 px by day, 8 px apart on the pad", async () => {
  for (const [theme, least] of [["night", 60], ["day", 48]]) {
    const who = await inTheme(theme, SIZES.phone);
    for (const path of every) {
      await who.page.goto(path);
      const small = await who.page.evaluate((least) => {
        const isShown = (e) => e.getClientRects().length > 0 && !e.closest(".skip") && getComputedStyle(e).visibility !== "hidden";
        const boxOf = (e) => (e.matches("input[type=radio], input[type=checkbox]") ? e.closest("label") : e).getBoundingClientRect();
        // Links inside running text are excepted (SC 2.5.8).
        const inText = (e) => e.matches("p a:not(.button), li > a:not([class])") && getComputedStyle(e).display === "inline";
        return [...document.querySelectorAll("a, button, input:not([type=hidden]), select, summary")]
          .filter((e) => isShown(e) && !inText(e) && !e.matches(".skip"))
          .map((e) => [e.outerHTML.slice(0, 90), boxOf(e)])
          .filter(([, b]) => b.width < least - 0.5 || b.height < least - 0.5)
          .map(([html, b]) => `${Math.round(b.width)}×${Math.round(b.height)} ${html}`);
      }, path === "/white" ? 44 : least);
      assert.deepEqual(small, [], `${path} ${theme}`);
    }
    await who.close();
  }
});

test("at 320 px and at twice the text size nothing runs out of the page", async () => {
  const who = await inTheme("night", { width: 320, height: 640 });
  for (const path of every) {
    await who.page.goto(path);
    for (const scale of ["100%", "200%"]) {
      await who.page.evaluate((s) => { document.documentElement.style.fontSize = s; }, scale);
      const over = await who.page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      const wide = over > 0 ? await who.page.evaluate(() => [...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1 && !e.closest(".scroll")).slice(0, 3).map((e) => e.outerHTML.slice(0, 100))) : [];
      assert.ok(over <= 0, `${path} at ${scale}: ${over} px too wide ${wide.join(" ")}`);
    }
  }
  await who.close();
});

test("a page is light: bytes and requests on the way", async () => {
  const who = await inTheme("night", SIZES.phone);
  const session = await who.context.newCDPSession(who.page);
  await session.send("Network.enable");
  await session.send("Network.setCacheDisabled", { cacheDisabled: true });
  let seen = new Map();
  // The stream of news never ends, so it is not waited for.
  const open = new Set();
  session.on("Network.requestWillBeSent", (e) => { if (e.type !== "EventSource") open.add(e.requestId); });
  session.on("Network.loadingFailed", (e) => open.delete(e.requestId));
  session.on("Network.loadingFinished", (e) => open.delete(e.requestId));
  session.on("Network.responseReceived", (e) => seen.set(e.requestId, { type: e.type, bytes: 0 }));
  session.on("Network.loadingFinished", (e) => { if (seen.has(e.requestId)) seen.get(e.requestId).bytes = e.encodedDataLength; });
  let most = { path: "", html: 0, all: 0, requests: 0 };
  for (const path of every) {
    seen = new Map();
    // What the page before was still asking for has gone with it, and is not always said to have failed.
    open.clear();
    await who.page.goto(path);
    // What a page asks for late, it asks for when it has nothing else to do.
    const until = Date.now() + 5000;
    do await who.page.evaluate(() => new Promise((done) => { requestIdleCallback(done); })); while (open.size > 0 && Date.now() < until);
    const of = (type) => [...seen.values()].filter((s) => s.type === type).reduce((sum, s) => sum + s.bytes, 0);
    const [html, css, js] = [of("Document"), of("Stylesheet"), of("Script")];
    // The page before may still try its stream again while this one is asked for.
    const kinds = [...seen.values()].map((s) => s.type);
    const requests = kinds.length - kinds.indexOf("Document");
    const all = [...seen.values()].reduce((sum, s) => sum + s.bytes, 0);
    assert.ok(html <= 30_000 && css <= 15_000 && js <= 60_000 && all <= 100_000 && requests <= 6, `${path}: html ${html}, css ${css}, js ${js}, all ${all}, ${requests} requests: ${kinds}`);
    if (all > most.all) most = { path: path.split("/").at(-1), html, css, js, all, requests };
  }
  console.log(`heaviest page: ${JSON.stringify(most)}`);
  await who.close();
});

test("nothing moves under a finger while a slow page loads", async () => {
  const who = await person(at);
  const session = await who.context.newCDPSession(who.page);
  await session.send("Network.enable");
  // The script comes after the page is seen.
  await session.send("Network.emulateNetworkConditions", { offline: false, latency: 150, downloadThroughput: 2e5, uploadThroughput: 1e5 });
  await who.page.addInitScript(() => {
    window.moved = 0;
    new PerformanceObserver((l) => { for (const e of l.getEntries()) window.moved += e.value; }).observe({ type: "layout-shift", buffered: true });
  });
  for (const path of every.filter((p) => /\/(weigh|feed|measure|check)/.test(p))) {
    await who.page.goto(path, { waitUntil: "load" });
    await who.page.evaluate(() => new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(done)); }));
    const moved = await who.page.evaluate(() => window.moved);
    assert.ok(moved <= 0.02, `${path}: things move by ${moved}`);
  }
  await who.close();
});

test("night pages are dark", async () => {
  const who = await inTheme("night", SIZES.phone);
  let most = { mean: 0, lit: 0, path: "" };
  for (const path of every.filter((p) => p !== "/white")) {
    await who.page.goto(path);
    const seen = await luminance(who);
    if (seen.mean > most.mean) most = { ...seen, path: path.split("/").at(-1) };
    assert.ok(seen.mean <= 0.03, `${path}: ${seen.mean}`);
  }
  console.log(`brightest night page: ${most.path}, mean relative luminance ${most.mean.toFixed(4)}`);
  for (const path of ["weigh", "feed"]) {
    await who.page.goto(`${places.Heather}/${path}`);
    const seen = await luminance(who);
    console.log(`${path} at night: mean ${seen.mean.toFixed(4)}, lit ${(100 * seen.lit).toFixed(1)} %`);
    assert.ok(seen.lit <= 0.1, `${path}: ${seen.lit} lit`);
  }
  await who.close();
});

test("the weighing page keeps pad and Save in the lower part of a phone", async () => {
  const who = await inTheme("night", SIZES.phone);
  await who.page.goto(`${places.Heather}/weigh`);
  const save = await who.page.locator(".save").boundingBox();
  assert.ok(save.y + save.height <= SIZES.phone.height, `Save ends at ${save.y + save.height}`);
  assert.ok(save.y >= SIZES.phone.height * 0.45, `Save begins at ${save.y}`);
  const keys = await who.page.locator(".pad button").evaluateAll((all) => all.map((k) => k.getBoundingClientRect()).map((b) => [b.width, b.height]));
  for (const [width, height] of keys) assert.ok(width >= 100 && height >= 64, `${width}×${height}`);
  await who.close();
});

/** Goes on with Tab until such an element has the focus; each stop on the way is seen. */
async function tabTo(page, isIt) {
  for (let step = 0; step < 60; step += 1) {
    await page.keyboard.press("Tab");
    const stop = await page.evaluate(() => {
      const e = document.activeElement;
      const style = getComputedStyle(e);
      return { name: e.textContent.trim().replace(/\s+/g, " "), href: e.getAttribute("href") ?? "", outline: style.outlineStyle, width: parseFloat(style.outlineWidth) };
    });
    assert.ok(stop.outline !== "none" && stop.width >= 2, `the focus is not seen on "${stop.name}"`);
    if (isIt(stop)) return;
  }
  assert.fail("no such stop within 60 steps");
}

test("by keyboard alone from the first page to a saved weight, focus always seen", async () => {
  const who = await person(at, SIZES.desk);
  await who.page.goto("/");
  await tabTo(who.page, (stop) => stop.href.startsWith(places.Heather));
  await who.page.keyboard.press("Enter");
  await who.page.waitForURL(/\/now$/);
  await tabTo(who.page, (stop) => stop.href.endsWith("/weigh") || /\/weigh\?/.test(stop.href));
  await who.page.keyboard.press("Enter");
  await who.page.waitForURL(/\/weigh/);
  assert.equal(await who.page.evaluate(() => document.activeElement.name), "weight");
  const name = await who.page.locator(".subject").innerText();
  await who.page.keyboard.type("203");
  await who.page.keyboard.press("Enter");
  const saved = who.page.getByRole("status").getByText(/203/);
  await saved.or(who.page.getByRole("alert")).first().waitFor();
  assert.ok(await saved.count(), `203 g for ${name} is saved without a question`);
  await who.close();
});

test("a screen reader hears the pup, then the weight with its unit, then what is saved", async () => {
  const who = await person(at);
  await who.page.goto(`${places.Heather}/weigh`);
  await who.keys("204");
  const name = await who.page.locator(".subject strong").innerText();
  const heard = await who.page.locator("main").ariaSnapshot();
  const order = [`heading "${name} `, 'textbox "Weight g": "204"', 'button "1"', `button "Save 204 g for ${name}`].map((what) => heard.indexOf(what));
  assert.ok(order.every((at, i) => at >= 0 && (i === 0 || at > order[i - 1])), `${order}: ${heard}`);
  await who.close();
});

test("pictures for the documents", { skip: !process.env.SCREENSHOTS }, async () => {
  const folder = process.env.SCREENSHOTS === "1" ? fileURLToPath(new URL("../../../../docs/screenshots/", import.meta.url)) : process.env.SCREENSHOTS;
  mkdirSync(folder, { recursive: true });
  const all = process.env.SCREENSHOTS !== "1";
  for (const [theme, size, names] of [
    ["night", SIZES.phone, ["now", "weigh", "feed"]],
    ["day", SIZES.desk, ["now", "litter"]],
    ["day", SIZES.phone, ["sheet", "birth", "help", "box", PAGES.find((p) => p.startsWith("milk/blend"))]],
  ]) {
    const who = await inTheme(theme, size);
    for (const name of all ? [...PAGES, "pup"] : names) {
      const path = name === "pup" ? every.find((p) => p.includes("/pup/")) : `${places.Heather}/${name}`;
      await who.page.goto(path);
      await who.page.screenshot({ path: `${folder}/${name.split("?")[0].replace("/", "-")}-${theme}-${size.width}.png`, fullPage: all });
    }
    await who.close();
  }
});
