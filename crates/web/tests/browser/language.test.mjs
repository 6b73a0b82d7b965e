// The pages in a trial language that is longer and accented: nothing runs out of a phone, and no
// text of a page stands outside the catalogue. And the plain words of the night.

import assert from "node:assert/strict";
import { readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { after, test } from "node:test";
import { endBrowser, everyPage, house, person, SIZES, STARTS } from "./house.mjs";

const root = fileURLToPath(new URL("../../../../", import.meta.url));
const at = await house(STARTS, { env: { WHELPWARD_TRIAL_LANGUAGE: "1" } });
const plain = await house();
after(async () => {
  await endBrowser();
  await at.end();
  await plain.end();
});

function files(folder) {
  return readdirSync(folder).map((n) => join(folder, n)).flatMap((p) => (statSync(p).isDirectory() ? files(p) : [p]));
}

const words = (text) => text.match(/[A-Za-z]+/g) ?? [];
/** Runs of words with nothing but blanks between them. */
const runs = (text) => text.split(/[^A-Za-z\s\u00a0]+/).map(words).filter((r) => r.length > 0);

/** What the core, the actions and the store say (their texts are not the catalogue's), and the examples' data. */
function known() {
  const [single, pairs, data] = [new Set(), new Set(), new Set()];
  // Words before and behind a place where a value is put in: there another text begins or ends.
  const [closes, opens, firsts, lasts] = [new Set(), new Set(), new Set(), new Set()];
  const add = (text) => {
    for (const [, word] of text.matchAll(/([A-Za-z]+)\W*\{/g)) closes.add(word.toLowerCase());
    for (const [, word] of text.matchAll(/\}\W*([A-Za-z]+)/g)) opens.add(word.toLowerCase());
    const all = words(text.replace(/\{[^}]*\}/g, " ")).map((w) => w.toLowerCase());
    if (all.length > 0) firsts.add(all[0]), lasts.add(all.at(-1));
    for (const run of runs(text)) {
      for (const [i, word] of run.entries()) {
        single.add(word.toLowerCase());
        if (i > 0) pairs.add(`${run[i - 1]} ${word}`.toLowerCase());
      }
    }
  };
  for (const part of ["core", "app", "store"]) {
    for (const path of files(join(root, "crates", part, "src")).filter((p) => p.endsWith(".rs"))) {
      // Literals only, joined where a line of text goes on in the next.
      for (const [, literal] of readFileSync(path, "utf8").replace(/\\\n\s*/g, "").matchAll(/"((?:[^"\\]|\\.)*)"/g)) add(literal.replace(/\\u\{[0-9a-f]+\}/g, " "));
    }
  }
  add(readFileSync(join(root, "crates/core/data/foods.csv"), "utf8"));
  for (const path of files(join(root, "examples"))) {
    for (const word of words(readFileSync(path, "utf8"))) data.add(word.toLowerCase());
  }
  // Days and months come from the clock, units from the one table of quantities, the rest is what is installed.
  for (const word of "Mon Tue Wed Thu Fri Sat Sun Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec g mL kcal h min s d C F kg oz lb Fr mg CET CEST whelpward browser R B Y G O P W K N I".split(" ")) data.add(word.toLowerCase());
  const isSaid = (before, word) => before === "" || pairs.has(`${before} ${word}`) || (closes.has(before) && firsts.has(word)) || (opens.has(word) && lasts.has(before));
  return { single, isSaid, data };
}

/** Texts of a page: nodes, and what a screen reader says instead. */
const texts = () => {
  const found = [];
  const walk = document.createTreeWalker(document.documentElement, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode;
    // What is typed into a terminal or an address line is the same in every language.
    if (!node.parentElement.closest("script, style, code")) found.push(node.data);
  }
  for (const e of document.querySelectorAll("[aria-label], [alt], [placeholder], [title], [data-save], [data-text], [data-clear]")) {
    for (const name of ["aria-label", "alt", "placeholder", "title", "data-save", "data-text", "data-clear", "data-remove", "data-point", "data-half"]) if (e.hasAttribute(name)) found.push(e.getAttribute(name));
  }
  return found.map((t) => t.trim()).filter((t) => /[A-Za-z]{2}/.test(t));
};

test("in a longer language nothing runs out of a phone, and no text stands outside the catalogue", async () => {
  const { single, isSaid, data } = known();
  const who = await person(at, SIZES.phone);
  const { every } = await everyPage(who);
  let [translated, allowed] = [0, 0];
  for (const path of every) {
    await who.page.goto(path);
    for (const direction of ["rtl", "ltr"]) {
      const over = await who.page.evaluate((dir) => {
        const root = document.documentElement;
        root.dir = dir;
        const out = [...document.querySelectorAll("main *, nav *")].filter((e) => !e.closest(".scroll, svg, .hidden, details:not([open])"));
        const far = out.filter((e) => { const b = e.getBoundingClientRect(); return b.width > 1 && (b.left < -1 || b.right > root.clientWidth + 1); });
        if (root.scrollWidth > root.clientWidth) far.push(root);
        return far.map((e) => `${e.tagName} ${e.className} "${e.textContent.slice(0, 30)}" ${JSON.stringify(e.getBoundingClientRect())}`);
      }, direction);
      assert.deepEqual(over, [], `${path}, ${direction}: runs out of the page`);
    }
    for (const text of await who.page.evaluate(texts)) {
      if (/[áéíóúýñšłÁÉÍÓÚÝÑŠ]/.test(text)) {
        translated += 1;
        continue;
      }
      allowed += 1;
      for (const run of runs(text)) {
        // Names and other data break a run; the rest is said by the core, word beside word.
        let before = "";
        for (const word of run.map((w) => w.toLowerCase())) {
          if (data.has(word)) {
            before = "";
            continue;
          }
          assert.ok(single.has(word) && isSaid(before, word), `${path}: "${text}" is not from the catalogue ("${before} ${word}")`);
          before = word;
        }
      }
    }
  }
  console.log(`trial language: ${every.length} pages, ${translated} texts of the catalogue, ${allowed} of the core and of data`);
  assert.ok(translated > 500, `${translated}`);
  // The check can fail: a text that nobody wrote down is seen.
  assert.ok(!isSaid("press", "here"));
  await who.close();
});

test("sentences of the night screens are short: fifteen words in the mean", async () => {
  const who = await person(plain, SIZES.phone);
  const { place, pup } = await everyPage(who);
  await who.post("/device", { theme: "night", back: "/" });
  for (const page of ["now", "weigh", "feed", "check", `check?pup=${pup}`, "measure?kind=box_temperature_c", "box", "milk", "help", "birth"]) {
    await who.page.goto(`${place}/${page}`);
    const text = await who.page.locator("main").innerText();
    const sentences = text.split(/\n+|(?<=[.!?])\s+/).map((s) => s.split(/\s+/).filter((w) => /[a-z]/i.test(w)).length).filter((n) => n >= 3);
    const mean = sentences.reduce((a, b) => a + b, 0) / Math.max(1, sentences.length);
    console.log(`${page.split("?")[0]}: ${sentences.length} sentences, ${mean.toFixed(1)} words in the mean, longest ${Math.max(0, ...sentences)}`);
    assert.ok(mean <= 15, `${page}: ${mean}`);
  }
  await who.close();
});
