// Extras that a browser allows over https alone: a page that opens while the program is away, and a
// screen that stays lit during a round.

import { away, awayFor, awayNow, newPlan } from "./away.js";
import { startFromKept } from "./clock.js";
import { line, notReached } from "./outbox.js";
import { keptPlan } from "./shelf.js";

const FRAMES = "whelpward-frames"; // the name stands in worker.js too
const LIT_MS = 10 * 60e3; // a phone that was laid aside goes dark as always

const isPadlocked = () => location.protocol === "https:" && "serviceWorker" in navigator && "caches" in window;

/** Lays the empty frame of this litter's pages on the phone, with its style and script. */
export async function keepFrame(main) {
  if (!isPadlocked() || !main.dataset.here.startsWith("/litter/")) return;
  try {
    await navigator.serviceWorker.register("/worker.js");
    const frames = await caches.open(FRAMES);
    const assets = [...document.querySelectorAll("link[rel=stylesheet], link[rel=icon], script[src]")].map((e) => e.href || e.src);
    const answer = await fetch(`${main.dataset.here}away`, { cache: "no-store" });
    if (!answer.ok || answer.redirected) return;
    for (const asset of assets) if (!(await frames.match(asset))) await frames.add(asset);
    for (const kept of await frames.keys()) {
      if (new URL(kept.url).pathname.startsWith("/assets/") && !assets.includes(kept.url)) await frames.delete(kept);
    }
    await frames.put(answer.url, answer);
  } catch {
    // A full phone, or one that keeps nothing: the pages are there while the program is.
  }
}

/** Whoever is at the door is not let in by a page that was kept. */
export async function forgetFrames() {
  if (location.pathname === "/sign-in" && isPadlocked()) await caches.delete(FRAMES);
}

/** The frame was opened without the program: it shows the plan that this phone kept, never an old page. */
export async function openFrame(main, frame) {
  const kept = await keptPlan(main.dataset.litter).catch(() => null);
  if (!kept?.clock) {
    frame.textContent = frame.dataset.none;
    return;
  }
  startFromKept(kept.clock);
  newPlan(kept.plan);
  line.reachedAt = kept.plan.server_now_ms + kept.clock.off;
  notReached();
  if (!awayFor(location.href)) awayNow();
}

/** The screen stays lit on a page where something is entered, while somebody is there. */
export function litScreen() {
  if (!navigator.wakeLock || !document.querySelector("main [data-entry]")) return;
  let lock;
  let touchedAt = Date.now();
  const light = async () => {
    if (document.hidden || lock) return;
    lock = await navigator.wakeLock.request("screen").catch(() => undefined);
    lock?.addEventListener("release", () => { lock = undefined; });
  };
  for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, () => { touchedAt = Date.now(); light(); });
  document.addEventListener("visibilitychange", light);
  setInterval(() => { if (Date.now() - touchedAt > LIT_MS) lock?.release(); }, 30e3);
  light();
}
