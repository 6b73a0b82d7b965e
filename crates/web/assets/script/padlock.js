// Extras that a browser allows over https alone: a page that opens while the program is away, and a
// screen that stays lit during a round.

import { away, awayFor, awayNow, newPlan } from "./away.js";
import { litterNow, showClock, startFromKept } from "./clock.js";
import { line, notReached, readOutbox } from "./outbox.js";
import { keptPlan } from "./shelf.js";

const FRAMES = "whelpward-frames"; // the name stands in worker.js too
const LIT_MS = 10 * 60e3; // a phone that was laid aside goes dark as always

const NIGHT = [21, 7]; // as in theme.rs

const isPadlocked = () => location.protocol === "https:" && "serviceWorker" in navigator && "caches" in window;

/** Lays the empty frame of this litter's pages on the phone, with its style and script, unless it lies there as it is now. */
export async function keepFrame(main) {
  if (!isPadlocked() || !main.dataset.here.startsWith("/litter/")) return;
  const away = `${main.dataset.here}away`;
  const place = `${away}?${main.dataset.frameMark}`;
  try {
    await navigator.serviceWorker.register("/worker.js");
    const frames = await caches.open(FRAMES);
    const lies = await frames.match(place);
    // Laid there again without asking for it: the last one is that of the litter seen last.
    if (lies) return await frames.put(place, lies);
    const answer = await fetch(place, { cache: "no-store" });
    if (!answer.ok || answer.redirected) return;
    const page = new DOMParser().parseFromString(await answer.clone().text(), "text/html");
    const parts = page.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src]");
    const assets = [...parts].map((e) => new URL(e.getAttribute("href") ?? e.getAttribute("src"), location.href).href);
    for (const asset of assets) if (!(await frames.match(asset))) await frames.add(asset);
    for (const kept of await frames.keys()) {
      if (new URL(kept.url).pathname.startsWith("/assets/") && !assets.includes(kept.url)) await frames.delete(kept);
    }
    await frames.delete(away, { ignoreSearch: true });
    await frames.put(place, answer);
  } catch {
    // A full phone, or one that keeps nothing: the pages are there while the program is.
  }
}

/** Whoever is at the door is not let in by a page that was kept. */
export async function forgetFrames() {
  if (isPadlocked()) await caches.delete(FRAMES);
}

/** The frame was opened without the program: it shows the plan that this phone kept, never an old page. */
export async function openFrame(main, frame) {
  main.dataset.kept = "";
  notReached();
  const kept = await keptPlan(main.dataset.litter).catch(() => null);
  if (!kept?.clock) {
    frame.textContent = frame.dataset.none;
    return;
  }
  startFromKept(kept.clock);
  newPlan(kept.plan);
  line.reachedAt = kept.plan.server_now_ms + kept.clock.off;
  if (frame.dataset.theme === "auto") byHour(litterNow(), main.dataset.zone);
  await readOutbox().catch(() => {});
  if (!awayFor(location.href)) awayNow();
}

/** The frame is kept dark, so that it never opens white at night; by day it is made as the pages are. */
function byHour(at, zone) {
  const hour = Number(showClock(at, zone).slice(0, 2));
  if (hour >= NIGHT[0] || hour < NIGHT[1]) return;
  document.documentElement.classList.replace("night", "auto");
  document.querySelector("meta[name=color-scheme]").content = "light dark";
}

/** The screen stays lit on a page where something is entered, while somebody is there. */
export function litScreen() {
  if (!navigator.wakeLock || !document.querySelector("main [data-entry], main [data-frame], main[data-kept]")) return;
  let lock;
  let touchedAt = Date.now();
  const light = async () => {
    if (document.hidden || lock) return;
    // The promise at once: a second touch asks for no second lock.
    lock = navigator.wakeLock.request("screen").catch(() => undefined);
    const held = await lock;
    if (held) held.addEventListener("release", () => { lock = undefined; });
    else lock = undefined;
  };
  for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, () => { touchedAt = Date.now(); light(); });
  document.addEventListener("visibilitychange", light);
  setInterval(async () => { if (Date.now() - touchedAt > LIT_MS) (await lock)?.release(); }, 30e3);
  light();
}
