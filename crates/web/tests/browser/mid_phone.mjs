// How the pages feel on a mid phone: a processor four times slower, 1.6 Mb/s and 150 ms of delay.
// Prints the largest paint, the longest answer to a key, and how far things moved; asserts nothing,
// because a time depends on the machine. `scripts/page_speed` runs it.
import { browser, endBrowser, examples, house, person } from "./house.mjs";

const SLOWER = 4;
const LINE = { offline: false, latency: 150, downloadThroughput: 1.6e6 / 8, uploadThroughput: 0.75e6 / 8 };
const RUNS = 5;

const middle = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];

const at = await house();
await browser();
const setting = await person(at);
const place = (await examples(setting)).Heather;
await setting.close();

console.log(`page                  largest paint, ms (middle and worst of ${RUNS})   moved   answer to a key, ms (worst)`);
for (const path of ["now", "weigh", "feed", "litter", "timetable", "vet"]) {
  const [paints, moved, keys] = [[], [], []];
  for (let run = 0; run < RUNS; run += 1) {
    const who = await person(at);
    const session = await who.context.newCDPSession(who.page);
    await session.send("Network.enable");
    await session.send("Network.emulateNetworkConditions", LINE);
    await session.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
    await who.page.addInitScript(() => {
      window.seen = { paint: 0, moved: 0, key: 0 };
      new PerformanceObserver((l) => { window.seen.paint = l.getEntries().at(-1).startTime; }).observe({ type: "largest-contentful-paint", buffered: true });
      new PerformanceObserver((l) => { for (const e of l.getEntries()) if (!e.hadRecentInput) window.seen.moved += e.value; }).observe({ type: "layout-shift", buffered: true });
      new PerformanceObserver((l) => { for (const e of l.getEntries()) window.seen.key = Math.max(window.seen.key, e.duration); }).observe({ type: "event", durationThreshold: 16, buffered: true });
    });
    await who.page.goto(`${place}/${path}`);
    await who.page.waitForLoadState("load");
    if (path === "weigh") await who.keys("135");
    await who.page.waitForTimeout(500);
    const seen = await who.page.evaluate(() => window.seen);
    paints.push(seen.paint);
    moved.push(seen.moved);
    keys.push(seen.key);
    await who.close();
  }
  const key = path === "weigh" ? Math.max(...keys).toFixed(0) : "";
  console.log(`${path.padEnd(21)} ${middle(paints).toFixed(0).padStart(6)} ${Math.max(...paints).toFixed(0).padStart(6)} ${Math.max(...moved).toFixed(3).padStart(35)}   ${key}`);
}
await endBrowser();
await at.end();
