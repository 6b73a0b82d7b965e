// Every print as Chromium prints it, on both papers: nothing beside the paper, as many pages as expected.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { endBrowser, examples, house, person, SIZES } from "./house.mjs";

/** Most pages of each print of the example. */
const PRINTS = { fridge: 2, "weigh-sheet": 1, "feed-sheet": 2, mix: 1, vet: 3, owner: 4, "red-flags": 3, review: 2 };
// Width of what is printed: paper without two margins of 14 mm, in CSS px.
const PAPERS = { A4: (210 - 28) * 96 / 25.4, Letter: 8.5 * 96 - 28 * 96 / 25.4 };

let at;
before(async () => { at = await house(); });
after(async () => { await at.end(); await endBrowser(); });

async function example(page) {
  await page.goto("/");
  await page.getByRole("button", { name: /Look round with an example/ }).click();
  return new URL(page.url()).pathname.replace(/\/now$/, "");
}

test("each print fits both papers, with its foot on every page", async () => {
  const who = await person(at, SIZES.desk);
  const { page } = who;
  const place = await example(page);
  for (const [print, most] of Object.entries(PRINTS)) {
    for (const [format, width] of Object.entries(PAPERS)) {
      await page.goto(`${place}/print/${print}`);
      const pdf = (await page.pdf({ format, preferCSSPageSize: false })).toString("latin1");
      const pages = pdf.match(/\/Type\s*\/Page\b/g)?.length ?? 0;
      assert.ok(pages >= 1 && pages <= most, `${print} on ${format}: ${pages} pages`);
      await page.emulateMedia({ media: "print" });
      const is_wide = await page.locator("article.wide").count();
      await page.setViewportSize({ width: Math.floor(is_wide ? width * 1.4 : width), height: 900 });
      const beside = await page.evaluate(() => {
        const edge = document.documentElement.clientWidth;
        return [...document.querySelectorAll("main *")]
          .filter((e) => e.getBoundingClientRect().right > edge + 1 && !e.closest(".hidden, svg"))
          .map((e) => `${e.tagName} ${e.textContent.slice(0, 40)}`);
      });
      assert.deepEqual(beside, [], `${print} on ${format}`);
      const shown = await page.locator(".tabs, .no-print, .top").evaluateAll((all) => all.filter((e) => e.offsetParent !== null).length);
      assert.equal(shown, 0, `${print}: what is only for the screen is on paper`);
      await page.emulateMedia({ media: null });
      await page.setViewportSize(SIZES.desk);
      const foot = await page.request.get(`${place}/print/${print}/page.css`);
      assert.match(await foot.text(), /counter\(page\).*counter\(pages\)/);
    }
    const file = await page.request.get(`${place}/print/${print}/file.pdf?paper=letter`);
    assert.equal(file.status(), 200);
    assert.equal((await file.body()).subarray(0, 5).toString(), "%PDF-");
  }
  assert.deepEqual(who.trouble, []);
  await who.close();
});

test("on a phone no heading of a table is broken within a word", async () => {
  for (const theme of ["day", "night"]) {
    const who = await person(at, SIZES.phone);
    await who.post("/device", { theme, back: "/" });
    const place = (await examples(who)).Heather;
    let headings = 0;
    for (const print of Object.keys(PRINTS)) {
      await who.page.goto(`${place}/print/${print}`);
      const [seen, broken] = await who.page.evaluate(() => {
        const heads = [...document.querySelectorAll(".paper th")];
        const words = heads.flatMap((head) => {
          const texts = document.createTreeWalker(head, NodeFilter.SHOW_TEXT);
          const found = [];
          while (texts.nextNode()) {
            for (const { 0: word, index } of texts.currentNode.data.matchAll(/[^\s\u00a0-]+/g)) {
              const place = document.createRange();
              place.setStart(texts.currentNode, index);
              place.setEnd(texts.currentNode, index + word.length);
              found.push([word, new Set([...place.getClientRects()].map((r) => Math.round(r.top))).size]);
            }
          }
          return found;
        });
        return [heads.length, words.filter(([, lines]) => lines > 1).map(([word]) => word)];
      });
      headings += seen;
      assert.deepEqual(broken, [], `${print} ${theme}`);
      assert.equal(await who.page.evaluate(() => document.documentElement.scrollWidth > innerWidth), false, `${print}: the page itself does not slide`);
    }
    assert.ok(headings > 20, `${headings} headings were looked at`);
    await who.close();
  }
});
