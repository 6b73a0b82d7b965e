// Answers for the program while it is away, over https alone: with the empty frame of a litter's pages, which
// shows the plan that the phone kept. No page with numbers is kept here.

const FRAMES = "whelpward-frames"; // the name stands in padlock.js too
const ANSWER_WITHIN_MS = 6000;
const PROBE_WITHIN_MS = 3000;

addEventListener("install", () => self.skipWaiting());
addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

/** The frame of the litter that is asked for; on the first page that of the litter seen last. */
async function frameFor(path) {
  // Opening one that is not there would make it.
  if (!(await caches.has(FRAMES))) return undefined;
  const frames = await caches.open(FRAMES);
  const all = (await frames.keys()).filter((kept) => new URL(kept.url).pathname.endsWith("/away"));
  const own = all.find((kept) => path.startsWith(new URL(kept.url).pathname.replace(/away$/, "")));
  const frame = own ?? (path === "/" ? all.at(-1) : undefined);
  return frame && frames.match(frame);
}

/** Whether the program answers at all: then a page that takes long is waited for. */
async function isThere() {
  try {
    return (await fetch("/api/v1/time", { cache: "no-store", signal: AbortSignal.timeout(PROBE_WITHIN_MS) })).ok;
  } catch {
    return false;
  }
}

async function page(request) {
  const answer = fetch(request);
  const late = new Promise((resolve) => { setTimeout(resolve, ANSWER_WITHIN_MS); });
  const first = await Promise.race([answer, late]).catch(() => undefined);
  if (first) return first;
  const frame = await frameFor(new URL(request.url).pathname);
  return frame && !(await isThere()) ? frame : answer;
}

async function asset(request) {
  return (await caches.match(request)) ?? fetch(request);
}

addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (pathname.startsWith("/assets/")) event.respondWith(asset(request));
});
