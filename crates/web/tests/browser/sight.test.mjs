// What an eye that sees no colours, or sees other ones, still tells apart; and charts whose labels
// can be read.

import assert from "node:assert/strict";
import { after, test } from "node:test";
import { blank, endBrowser, everyPage, house, litter, person, SIZES } from "./house.mjs";

const at = await house();
after(async () => {
  await endBrowser();
  await at.end();
});

/** Grey values of pictures, drawn to one size. */
async function greys(shots) {
  return (await blank()).evaluate(async (pngs) => {
    const drawn = [];
    for (const png of pngs) {
      const image = new Image();
      image.src = `data:image/png;base64,${png}`;
      await image.decode();
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [28, 28];
      const pen = canvas.getContext("2d");
      pen.drawImage(image, 0, 0, 28, 28);
      const { data } = pen.getImageData(0, 0, 28, 28);
      const grey = [];
      for (let i = 0; i < data.length; i += 4) grey.push(0.2126 * data[i] + 0.7152 * data[i + 1] + 0.0722 * data[i + 2]);
      drawn.push(grey);
    }
    return drawn;
  }, shots.map((s) => s.toString("base64")));
}

test("eight collars are told apart without colour: by letter and pattern, and in words", async () => {
  const who = await person(at, SIZES.phone);
  const { at: place } = await litter(who, 8);
  await who.post("/device", { theme: "day", back: "/" });
  await who.page.goto(`${place}/now`);
  const session = await who.context.newCDPSession(who.page);
  for (const type of ["protanopia", "deuteranopia", "tritanopia", "achromatopsia"]) {
    await session.send("Emulation.setEmulatedVisionDeficiency", { type });
    const bands = who.page.locator(".cards .band");
    const shots = [];
    for (let i = 0; i < await bands.count(); i += 1) shots.push(await bands.nth(i).screenshot());
    const seen = await greys(shots);
    assert.equal(seen.length, 8);
    let least = 1;
    for (let a = 0; a < 8; a += 1) {
      for (let b = a + 1; b < 8; b += 1) {
        const share = seen[a].filter((g, i) => Math.abs(g - seen[b][i]) > 60).length / seen[a].length;
        least = Math.min(least, share);
        assert.ok(share >= 0.03, `${type}: bands ${a} and ${b} differ in ${(100 * share).toFixed(1)} % only`);
      }
    }
    console.log(`${type}: two collars differ in at least ${(100 * least).toFixed(1)} % of their picture`);
  }
  const cues = await who.page.locator(".cards .cue-words").allInnerTexts();
  assert.equal(new Set(cues).size, 8);
  for (const cue of cues) assert.match(cue, /(red|blue|yellow|green|orange|purple|white|black) collar/);
  await who.close();
});

test("in forced colours a standing is a word with a frame, and a band keeps its letter", async () => {
  const who = await person(at, SIZES.phone);
  const { place } = await everyPage(who);
  await who.page.emulateMedia({ forcedColors: "active", colorScheme: "dark" });
  await who.page.goto(`${place}/now`);
  const badges = await who.page.$$eval(".badge", (all) => all.map((b) => {
    const style = getComputedStyle(b);
    return { kind: b.className, text: b.innerText.trim(), width: parseFloat(style.borderTopWidth), line: style.borderTopStyle, border: style.borderTopColor, ground: style.backgroundColor };
  }));
  assert.ok(badges.length >= 2);
  for (const b of badges) {
    assert.match(b.text, /[a-z]{3}/, "a word, not a sign alone");
    assert.ok(b.width >= 1 && b.line !== "none" && b.border !== b.ground, JSON.stringify(b));
  }
  for (const a of badges) for (const b of badges) if (a.kind !== b.kind) assert.notEqual(a.text, b.text, `${a.kind}, ${b.kind}`);
  for (const shown of (await greys([await who.page.locator(".band").first().screenshot()]))) {
    // The plate in the middle is light, its letter dark.
    const middle = shown.filter((_, i) => { const [x, y] = [i % 28, Math.floor(i / 28)]; return x >= 9 && x < 19 && y >= 9 && y < 19; });
    assert.ok(Math.max(...middle) > 180 && Math.min(...middle) < 110, `${Math.min(...middle)} to ${Math.max(...middle)}`);
  }
  await who.close();
});

/** Charts of a page: labels that touch or are cut off, and the size. */
const charts = () => [...document.querySelectorAll("svg.chart")].map((svg) => {
  const frame = svg.getBoundingClientRect();
  const labels = [...svg.querySelectorAll("text")].map((t) => ({ text: t.textContent, box: t.getBoundingClientRect() })).filter((l) => l.text.trim() !== "");
  const bad = [];
  for (const [i, a] of labels.entries()) {
    if (a.box.left < frame.left - 1 || a.box.right > frame.right + 1 || a.box.top < frame.top - 1 || a.box.bottom > frame.bottom + 1) bad.push(`"${a.text}" is cut off`);
    for (const b of labels.slice(i + 1)) {
      if (a.box.left < b.box.right && b.box.left < a.box.right && a.box.top < b.box.bottom && b.box.top < a.box.bottom) bad.push(`"${a.text}" touches "${b.text}"`);
    }
  }
  const paints = [...svg.querySelectorAll("[stroke], [fill]")].flatMap((e) => [e.getAttribute("stroke"), e.getAttribute("fill")]).filter((p) => p && p !== "none" && p !== "currentColor");
  return { bad, paints, labels: labels.length, bytes: svg.outerHTML.length, isNamed: svg.getAttribute("role") === "img" && svg.querySelector("title").textContent.length > 10, table: Boolean(svg.closest("figure")?.parentElement.querySelector("table") ?? svg.closest("a.card")) };
});

test("labels of charts touch nothing, a chart is light, named, and has its table", async () => {
  const who = await person(at, SIZES.phone);
  const { places } = await everyPage(who);
  const eight = await litter(who, 8, { fedByHand: true });
  const pages = [`${eight.at}/litter`, `${eight.at}/pup/${Object.values(eight.ids)[0]}`];
  for (const place of Object.values(places)) {
    await who.page.goto(`${place}/litter`);
    const pups = await who.page.$$eval("a[href*='/pup/']", (all) => [...new Set(all.map((a) => a.pathname))]);
    pages.push(`${place}/litter`, `${place}/box`, ...pups.slice(0, 3));
  }
  let [seen, most, labels] = [0, 0, 0];
  for (const path of pages) {
    await who.page.goto(path);
    for (const chart of await who.page.evaluate(charts)) {
      assert.deepEqual(chart.bad, [], path);
      assert.deepEqual(chart.paints, [], `${path}: a chart is told by form, in the colour of the text`);
      assert.ok(chart.bytes <= 25_000, `${path}: ${chart.bytes} bytes`);
      assert.ok(chart.isNamed && chart.table, `${path}: ${JSON.stringify(chart)}`);
      seen += 1;
      labels += chart.labels;
      most = Math.max(most, chart.bytes);
    }
  }
  console.log(`charts: ${seen} on ${pages.length} pages, ${labels} labels, the largest ${most} bytes`);
  assert.ok(seen >= 20 && labels >= 30, `${seen} charts, ${labels} labels`);
  await who.close();
});
